"""Do one thing in a process of its own, and say what it took: time, processor time, memory.

`apart` names a function of this package ("loading:load"); it is called with one dictionary and
returns another, both as JSON.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, cast


class DidNotFinish(Exception):
    """What was asked took too long or failed; the message says which."""


@dataclass(frozen=True, slots=True)
class Took:
    """What a process gave back and took: seconds on the clock and of the processor, peak memory."""

    value: dict[str, Any]
    wall: float
    cpu: float
    peak_mb: float


def apart(function: str, asked: Mapping[str, Any], cache: Path, patience: float = 3600) -> Took:
    """Call a function of this package in a new process.

    Raises:
        DidNotFinish: it failed, or took longer than `patience` seconds.
    """
    words = [sys.executable, "-m", f"{__package__}.apart", function]
    said, took = run(words, cache, patience, json.dumps(asked), fine=(0,))
    found: dict[str, Any] = json.loads(said.splitlines()[-1])
    return Took(found, took.wall, took.cpu, took.peak_mb)


def run(
    words: Sequence[str],
    cache: Path,
    patience: float = 3600,
    given: str = "",
    fine: tuple[int, ...] = (0, 1),
) -> tuple[str, Took]:
    """Run a command to its end: what it printed, and what it took.

    `fine` are the exit codes of an answer; 1 is that of a question whose answer is no.

    Raises:
        DidNotFinish: it failed, or took longer than `patience` seconds.
    """
    environment = {**os.environ, "KNOCKON_CACHE": str(cache)}
    with TemporaryFile() as out, TemporaryFile() as err, TemporaryFile() as in_:
        in_.write(given.encode())
        in_.seek(0)
        began = time.perf_counter()
        process = subprocess.Popen(words, stdin=in_, stdout=out, stderr=err, env=environment)
        status, usage = _wait(process, began + patience)
        wall = time.perf_counter() - began
        out.seek(0)
        err.seek(0)
        text, trouble = out.read().decode(), err.read().decode().strip()
    if status is None:
        raise DidNotFinish(f"not finished after {patience:.0f} s")
    if status not in fine:
        told = trouble.splitlines() or [f"ended with {status}"]
        raise DidNotFinish(told[-1 if told[0].startswith("Traceback") else 0])
    peak = usage.ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    return text, Took({}, wall, usage.ru_utime + usage.ru_stime, peak)


def _wait(process: subprocess.Popen[bytes], until: float) -> tuple[int | None, Any]:
    """The exit code (None if it had to be stopped) and what the process used."""
    stopped = False
    while True:
        found, status, usage = os.wait4(process.pid, os.WNOHANG)
        if found:
            process.returncode = os.waitstatus_to_exitcode(status)
            return None if stopped else process.returncode, usage
        if time.perf_counter() > until and not stopped:
            process.kill()
            stopped = True
        time.sleep(0.005)


def main() -> None:
    """The process that does the work."""
    module, _, name = sys.argv[1].partition(":")
    function = getattr(import_module(f"{__package__}.{module}"), name)
    called = cast("Callable[[dict[str, Any]], dict[str, Any]]", function)
    print(json.dumps(called(json.load(sys.stdin))))


if __name__ == "__main__":
    main()
