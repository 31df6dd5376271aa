"""Real SPARQL services for tests, each on a free port of loopback, ended when the test is over."""

from __future__ import annotations

import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.request import urlopen


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    return port


@contextmanager
def served(words: Sequence[str | Path], address: str, folder: Path | None = None) -> Iterator[None]:
    """A command that serves, from when it answers at an address.

    Raises:
        OSError: it ended, or did not answer within a minute.
    """
    server = subprocess.Popen(
        words, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    until = time.monotonic() + 60
    try:
        while True:
            try:
                with urlopen(address, timeout=2):
                    break
            except OSError:
                if time.monotonic() > until or server.poll() is not None:
                    raise
                time.sleep(0.05)
        yield
    finally:
        server.terminate()
        server.wait(20)
