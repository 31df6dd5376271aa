"""How much the service bears: cascades a second, how long the slowest take, and its memory.

    python -m tests.benchmarks.load_api [--seconds 30] [--clients 8] [--workers N] [--data FOLDER]
        [--size PARTS/GENERATIONS] [--warm-up SECONDS]

Starts a server of its own on loopback over the demo (or a folder), asks from several clients, and
stops it. Three rounds: every question new (worked out), the same few questions (remembered), and
revalidation of what a client has already (304). A synthetic catalogue, written by
`tests.benchmarks.catalogues`, is asked its own questions if `--size` says how large it is. Memory is
that of all processes together, what they share counted once. Not part of the test suite: it
measures.
"""

from __future__ import annotations

import argparse
import itertools
import os
import random
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

import httpx2
from knockon.api.keys import KEYS_FILE, KeyRing, Scope
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.load import load_catalogue

from .catalogues import Size
from .catalogues import questions as sample

_MOST_SECONDS = 600


@dataclass
class Round:
    """What one round came to. Times in seconds, memory in MB."""

    name: str
    times: list[float] = field(default_factory=list)
    failures: int = 0
    processor: float = 0.0
    memory: list[float] = field(default_factory=list)

    def line(self, seconds: float) -> str:
        """One line of figures."""
        if not self.times:
            return f"{self.name}: nothing answered, {self.failures} failures"
        ordered = sorted(self.times)
        p99 = ordered[min(len(ordered) - 1, int(len(ordered) * 0.99))]
        median = statistics.median(ordered)
        return (
            f"{self.name:12} {len(ordered) / seconds:8.1f}/s   median {median * 1000:7.1f} ms   "
            f"p99 {p99 * 1000:7.1f} ms   processor {self.processor / len(ordered) * 1000:6.1f} ms each"
            f"   failures {self.failures}   "
            f"memory {self.memory[0]:.0f} → {self.memory[-1]:.0f} MB (most {max(self.memory):.0f})"
        )


def questions(catalogue: Catalogue) -> Iterator[str]:
    """Fits of every part to every car that has a station for it, each a question of its own."""
    cars, parts = list(catalogue.cars.values()), list(catalogue.parts.values())
    asked = [
        f'what else must change if I fit "{part.number}" at "{catalogue.name(places[0])}" '
        f'to "{car.label}"'
        for part, car in itertools.product(parts, cars)
        if (places := [station for station in part.stations if station in car.fits])
    ]
    random.Random(1).shuffle(asked)  # so that every second asks a bit of everything
    return _without_end(asked)


def synthetic(size: str) -> Iterator[str]:
    """The sample questions of a synthetic catalogue of so many parts/generations."""
    parts, _, generations = size.partition("/")
    found = sample(Size(int(parts), int(generations)), 2_000)
    return _without_end([question.sentence.rstrip("?") for question in found])


def _without_end(asked: list[str]) -> Iterator[str]:
    """Each question as it is, and then again with a remark behind it: no answer is remembered."""
    for turn in itertools.count():
        for question in asked:
            yield f"{question}? # {turn}" if turn else f"{question}?"


def memory_of(process: int) -> float:
    """Memory of a process and all that it started, in MB; what they share counts once."""
    total = 0.0
    for each in (process, *_below(process)):
        with suppress(OSError):
            found = re.search(
                r"^Pss:\s+(\d+)", Path(f"/proc/{each}/smaps_rollup").read_text(), re.M
            )
            total += int(found[1]) / 1024 if found else 0.0
    return total


def _below(process: int) -> Iterator[int]:
    """The processes that a process has started, and those that they have."""
    with suppress(OSError):
        for task in Path(f"/proc/{process}/task").iterdir():
            for child in (task / "children").read_text().split():
                yield int(child)
                yield from _below(int(child))


def seconds_of(process: int) -> float:
    """Processor time of a process and all that it started, in seconds."""
    total = 0
    for each in (process, *_below(process)):
        with suppress(OSError):
            fields = Path(f"/proc/{each}/stat").read_text().rpartition(")")[2].split()
            total += int(fields[11]) + int(fields[12])
    return total / os.sysconf("SC_CLK_TCK")


def run(
    name: str,
    seconds: float,
    clients: int,
    process: int,
    ask: Callable[[httpx2.Client, int], bool],
    make: Callable[[], httpx2.Client],
) -> Round:
    """Ask from several clients for so long."""
    found, ends = Round(name, memory=[memory_of(process)]), time.monotonic() + seconds
    spent = seconds_of(process)
    lock = threading.Lock()

    def one(number: int) -> None:
        with make() as client:
            for turn in itertools.count():
                if time.monotonic() > ends:
                    return
                began = time.perf_counter()
                fine = ask(client, number * 1_000_000 + turn)
                took = time.perf_counter() - began
                with lock:
                    if fine:
                        found.times.append(took)
                    else:
                        found.failures += 1

    threads = [threading.Thread(target=one, args=(number,)) for number in range(clients)]
    for thread in threads:
        thread.start()
    while any(thread.is_alive() for thread in threads):
        time.sleep(min(1.0, seconds / 10))
        found.memory.append(memory_of(process))
    found.processor = seconds_of(process) - spent
    return found


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seconds", type=float, default=20.0, help="for each round")
    options.add_argument("--clients", type=int, default=8)
    options.add_argument("--plans", type=int, default=0, help="plans worked out with each cascade")
    options.add_argument(
        "--warm-up", type=float, default=0.0, help="seconds before it: first questions about cars"
    )
    options.add_argument("--workers", type=int, help="processes that answer; as `knockon serve`")
    options.add_argument("--data", type=Path)
    options.add_argument("--size", help="PARTS/GENERATIONS of a synthetic catalogue in --data")
    given = options.parse_args()
    seconds = min(given.seconds, _MOST_SECONDS)
    lock = threading.Lock()
    asked = synthetic(given.size) if given.size else questions(load_catalogue(given.data))
    few = [next(asked) for _ in range(20)]

    def ask(client: httpx2.Client, question: str, tag: str = "") -> httpx2.Response:
        headers = {"If-None-Match": tag} if tag else {}
        said = {"question": question, "plans": str(given.plans)}
        return client.get("/v1/ask", params=said, headers=headers)

    def new(client: httpx2.Client, _: int) -> bool:
        with lock:
            question = next(asked)
        return ask(client, question).status_code == 200

    def known(client: httpx2.Client, turn: int) -> bool:
        return ask(client, few[turn % len(few)]).status_code == 200

    with tempfile.TemporaryDirectory() as folder, socket.socket() as free:
        _, key = KeyRing(Path(folder) / KEYS_FILE).new("load", Scope.ASK, rate=10_000)
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        program = Path(sys.executable).with_name("knockon")
        words = [str(program), "serve", "--port", str(port), "--shop", folder]
        if given.data:
            words += ["--data", str(given.data)]
        if given.workers is not None:
            words += ["--workers", str(given.workers)]
        with (Path(folder) / "log").open("wb") as log:
            server = subprocess.Popen(words, stdout=log, stderr=log, env={**os.environ})

        def make() -> httpx2.Client:
            headers = {"Authorization": f"Bearer {key}"}
            return httpx2.Client(
                base_url=f"http://127.0.0.1:{port}", headers=headers, timeout=60, trust_env=False
            )

        try:
            _wait(make)
            with make() as client:
                tags = {question: ask(client, question).headers["etag"] for question in few}

            def again(client: httpx2.Client, turn: int) -> bool:
                question = few[turn % len(few)]
                return ask(client, question, tags[question]).status_code == 304

            if given.warm_up:
                run("warm-up", given.warm_up, given.clients, server.pid, new, make)
            for name, each in (("worked out", new), ("remembered", known), ("unchanged", again)):
                print(run(name, seconds, given.clients, server.pid, each, make).line(seconds))
        finally:
            server.terminate()
            server.wait(10)


def _wait(make: Callable[[], httpx2.Client]) -> None:
    ends = time.monotonic() + _MOST_SECONDS
    with make() as client:
        while time.monotonic() < ends:
            try:
                if client.get("/v1/health").is_success:
                    return
            except httpx2.HTTPError:
                time.sleep(0.1)
    raise SystemExit("the server did not start")


if __name__ == "__main__":
    main()
