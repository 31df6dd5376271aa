"""Make, lock and open the database inside a store's folder."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pyoxigraph as ox

from ..addresses import is_endpoint, shown
from ..errors import CatalogueFileError
from ..files import STORE, is_store
from .durable import sync_folder
from .shelf import EmbeddedShelf, Shelf

PATIENCE = 10.0
"""For how many seconds one who wants a store waits for others."""

_PAUSE = 0.005
_LOCK = "lock"


class StoreError(CatalogueFileError):
    """A store that cannot be opened, or is asked for what it does not have."""

    def __init__(self, folder: Path, what: str) -> None:
        super().__init__(shown(folder), None, what)


class StoreBusy(StoreError):
    """Another process is writing to the store."""


class StoreFormat(StoreError):
    """The store was laid out by an older or a newer knockon."""


class NoSuch(StoreError):
    """A store is asked for a change or a version that it does not have."""


def build_store(folder: Path, kept: Iterable[ox.Quad]) -> None:
    """A new store from all that it keeps. Raises as `create`."""
    if is_endpoint(folder):
        from .endpoint_filling import fill

        fill(folder, kept)
        return
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(
            folder, "there is something here already; name a folder that is new or empty"
        )
    folder.parent.mkdir(parents=True, exist_ok=True)
    made = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    try:
        store = ox.Store(str(made / STORE))
        store.bulk_extend(kept)
        store.flush()
        del store
        (made / _LOCK).touch()
        made.chmod(0o755)
        os.replace(made, folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    sync_folder(folder.parent)


@contextmanager
def opened(folder: Path, to_write: bool, patience: float = PATIENCE) -> Iterator[Shelf]:
    """What a store keeps, alone with it to write, or among readers only.

    An endpoint locks nobody out: see `Shelf.change` and `Shelf.settled`.

    The database itself lets a reader in while another process writes, and then shows it half an
    edit. So a lock of our own keeps readers and a writer apart; a process that is killed lets go
    of it. Nobody may keep the database after the block.

    Raises:
        StoreBusy: others still have it after `patience` seconds.
        StoreError: it is no store, or cannot be opened.
    """
    if is_endpoint(folder):
        from .endpoint_shelf import endpoint_shelf

        with endpoint_shelf(folder) as remote:
            yield remote
        return
    if not is_store(folder):
        raise StoreError(folder, "this is not a store; make one with: knockon store init FOLDER")
    until = time.monotonic() + patience
    with _lock_of(folder) as lock:
        while not (_taken(lock, to_write) and (store := _open(folder, to_write))):
            if time.monotonic() >= until:
                doing = "using" if to_write else "writing to"
                raise StoreBusy(folder, f"another process is {doing} it; try again when it is done")
            time.sleep(_PAUSE)
        shelf = EmbeddedShelf(store)
        del store
        try:
            yield shelf
        finally:
            shelf.close()  # before the lock is let go


def _lock_of(folder: Path) -> IO[bytes]:
    path = folder / _LOCK
    try:
        return path.open("ab")
    except OSError:  # a reader may be on a disk that it cannot write to
        return path.open("rb")


def _taken(lock: IO[bytes], alone: bool) -> bool:
    if sys.platform == "win32":  # what is read is held against its version all the same
        return True
    import fcntl

    try:
        fcntl.flock(lock, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _open(folder: Path, to_write: bool) -> ox.Store | None:
    path = str(folder / STORE)
    try:
        return ox.Store(path) if to_write else ox.Store.read_only(path)
    except (OSError, RuntimeError) as error:
        if "lock" in str(error).lower():
            return None
        raise StoreError(folder, f"cannot be opened: {error}") from None
