"""A real server in a process of its own, over a catalogue that was made before.

`python -m tests.api.serving FOLDER PORT` serves from `catalogue.pickle` and `shop` in FOLDER.
"""

from __future__ import annotations

import pickle
import socket
import subprocess
import sys
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

    def start(self) -> None:
        """Start, and wait until it answers."""
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        words = [sys.executable, "-m", "tests.api.serving", str(self.folder), str(self.port)]
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


def main(folder: Path, port: int) -> None:
    # Made by the test itself a moment ago.
    catalogue = pickle.loads((folder / "catalogue.pickle").read_bytes())
    PatientProtocol.patience = 1.0
    settings = Settings(
        shop=folder / "shop", body_seconds=1.0, allowance=Allowance(rate=1e6, burst=1_000_000)
    )
    import uvicorn

    uvicorn.Server(configured(Desk(catalogue), settings, "127.0.0.1", port)).run()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
