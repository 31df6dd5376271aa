"""A real server in a process of its own, over a catalogue that was made before.

`python -m tests.api.serving FOLDER PORT WORKERS` serves from `catalogue.pickle` and `shop` in FOLDER.
"""

from __future__ import annotations

import os
import pickle
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import httpx2
from knockon.api.server import PatientProtocol, configured
from knockon.api.settings import Allowance, Settings
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

ROOT = Path(__file__).parent.parent.parent


class Server:
    """One process that serves; started again it serves from what the one before left."""

    def __init__(self, folder: Path, catalogue: Catalogue) -> None:
        self.folder, self.shop = folder, folder / "shop"
        self.shop.mkdir()
        (folder / "catalogue.pickle").write_bytes(pickle.dumps(catalogue))
        self._process: subprocess.Popen[bytes] | None = None
        self.port = 0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def processes(self) -> list[int]:
        """Its process and all that it has started."""
        assert self._process is not None
        return [self._process.pid, *_started_by(self._process.pid)]

    def start(self, workers: str = "0") -> None:
        """Start, and wait until it answers."""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        words = [sys.executable, "-m", "tests.api.serving"]
        words += [str(self.folder), str(self.port), workers]
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(words, cwd=ROOT, stdout=log, stderr=log)
        transport = httpx2.HTTPTransport(retries=0)
        with httpx2.Client(base_url=self.address, transport=transport, timeout=5) as client:
            while self._process.poll() is None:
                try:
                    if client.get("/v1/health").is_success:
                        return
                except httpx2.HTTPError:
                    pass
        raise AssertionError((self.folder / "log").read_text())

    def kill(self) -> None:
        """End it at once, whatever it is doing."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()

    def log(self) -> str:
        return (self.folder / "log").read_text()


def alive(process: int) -> bool:
    """Whether there is such a process."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


def _started_by(process: int) -> Iterator[int]:
    with suppress(OSError):  # there is no such list where there is no /proc
        for task in Path(f"/proc/{process}/task").iterdir():
            for child in (task / "children").read_text().split():
                yield int(child)
                yield from _started_by(int(child))


def main(folder: Path, port: int, workers: int) -> None:
    # Made by the test itself a moment ago.
    catalogue = pickle.loads((folder / "catalogue.pickle").read_bytes())
    PatientProtocol.patience = 1.0
    settings = Settings(
        shop=folder / "shop",
        body_seconds=1.0,
        allowance=Allowance(rate=1e6, burst=1_000_000),
        workers=workers,
    )
    import uvicorn

    uvicorn.Server(configured(Desk(catalogue), settings, "127.0.0.1", port)).run()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
