"""Section `api`: cascades a second over HTTP, from several clients, by one process and by two.

A service is started on loopback with a shop folder of its own; every question is a new one.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import httpx2

from .catalogues import Question, Size
from .measured import AT_LEAST, Row, percentile
from .stand import Stand

_CLIENTS, _AT_LEAST, _LARGE, _GET_READY = 8, 100.0, 10_000, 120.0
_COMMAND = "from knockon.query.command import main; main()"


def measure(stand: Stand) -> Iterator[Row]:
    """Each size with one and with two processes that answer."""
    seconds = 20.0 if stand.full else 5.0
    for size in stand.sizes:
        asked = stand.asked(size, 1000 if stand.full else 300)
        for workers in (1, 2):
            stand.say(f"serving {size.parts} parts with {workers} processes that answer")
            try:
                yield from _one(stand, size, asked, workers, seconds)
            except (OSError, httpx2.HTTPError) as error:
                stand.could_not(f"api over {size.parts} parts with {workers} processes", error)


def _one(
    stand: Stand, size: Size, asked: list[Question], workers: int, seconds: float
) -> Iterator[Row]:
    with _served(stand, size, workers) as (address, key):
        times, failed, took = _ask_all(address, key, asked, seconds)
    known = size.parts, size.generations
    series = f"{workers} processes" if workers > 1 else "1 process"
    if not times:
        stand.could_not(f"api over {size.parts} parts with {workers} processes", "no answer")
        return
    limit = _AT_LEAST if workers == 2 and size.parts == _LARGE else None
    rate, note = len(times) / took, f"{len(times)} answers, {failed} failed, {_CLIENTS} clients"
    yield Row("api", "cascades a second", *known, rate, "1/s", series, limit, AT_LEAST, note=note)
    yield Row("api", "answer, median", *known, median(times) * 1000, "ms", series)
    yield Row("api", "answer, p95", *known, percentile(times, 0.95) * 1000, "ms", series)


@contextmanager
def _served(stand: Stand, size: Size, workers: int) -> Iterator[tuple[str, str]]:
    """A service of its own: where it listens, and a key that may ask without limit."""
    from ..api.keys import KEYS_FILE, KeyRing, Scope

    with TemporaryDirectory() as folder, socket.socket() as free:
        _, key = KeyRing(Path(folder) / KEYS_FILE).new("bench", Scope.ASK, rate=10_000)
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        words = [sys.executable, "-c", _COMMAND, "serve", "--data", str(stand.data(size))]
        words += ["--shop", folder, "--port", str(port), "--workers", str(workers)]
        environment = {**os.environ, "KNOCKON_CACHE": str(stand.cache)}
        with (Path(folder) / "log").open("wb") as log:
            server = subprocess.Popen(words, stdout=log, stderr=log, env=environment)
        address = f"http://127.0.0.1:{port}"
        try:
            _wait_for(server, address, stand.patience)
            yield address, key
        finally:
            server.terminate()
            try:
                server.wait(20)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


def _wait_for(server: subprocess.Popen[bytes], address: str, patience: float) -> None:
    ends = time.monotonic() + max(patience, _GET_READY)
    while time.monotonic() < ends:
        if server.poll() is not None:
            raise ConnectionError(f"the service ended with {server.returncode}")
        try:
            if httpx2.get(f"{address}/v1/health", trust_env=False).is_success:
                return
        except httpx2.HTTPError:
            time.sleep(0.1)
    raise TimeoutError("the service did not get ready")


def _ask_all(
    address: str, key: str, asked: list[Question], seconds: float
) -> tuple[list[float], int, float]:
    """Seconds each answer took, how many failed, and how long it went on. First a tenth unmeasured."""
    warm_up = len(asked) // 10
    waiting, lock = iter(asked), threading.Lock()
    times: list[float] = []
    failed = [0]
    headers = {"Authorization": f"Bearer {key}"}

    def client(until: float, most: int, kept: list[float]) -> None:
        with httpx2.Client(base_url=address, headers=headers, timeout=60, trust_env=False) as to:
            while time.monotonic() < until:
                with lock:
                    question = next(waiting, None) if len(kept) < most else None
                if question is None:
                    return
                began = time.perf_counter()
                said = {"question": question.sentence, "plans": "0"}
                answer = to.get("/v1/ask", params=said)
                with lock:
                    if answer.status_code == 200:
                        kept.append(time.perf_counter() - began)
                    else:
                        failed[0] += 1

    def together(until: float, most: int, kept: list[float]) -> None:
        threads = [
            threading.Thread(target=client, args=(until, most, kept)) for _ in range(_CLIENTS)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    together(time.monotonic() + 60, warm_up, [])
    failed[0] = 0
    began = time.monotonic()
    together(began + seconds, len(asked), times)
    return times, failed[0], time.monotonic() - began
