"""Make, lock and open the database inside a store's folder."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

import pyoxigraph as ox

from ..errors import CatalogueFileError
from ..files import STORE, is_store
from .durable import sync_folder

PATIENCE = 10.0
"""For how many seconds a writer waits for another."""

_PAUSE = 0.05
_TRIES = 20


class StoreError(CatalogueFileError):
    """A store that cannot be opened, or is asked for what it does not have."""

    def __init__(self, folder: Path, what: str) -> None:
        super().__init__(str(folder), None, what)


class StoreBusy(StoreError):
    """Another process is writing to the store."""


class StoreFormat(StoreError):
    """The store was laid out by an older or a newer knockon."""


class NoSuch(StoreError):
    """A store is asked for a change or a version that it does not have."""


def build_store(folder: Path, kept: Iterable[ox.Quad]) -> None:
    """A new store's folder from all that it keeps. Raises as `create`."""
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
        made.chmod(0o755)
        os.replace(made, folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    sync_folder(folder.parent)


def open_to_write(folder: Path, patience: float = PATIENCE) -> ox.Store:
    """The database itself. Raises as `writing`."""
    _must_be_store(folder)
    until = time.monotonic() + patience
    while True:
        try:
            return ox.Store(str(folder / STORE))
        except OSError as error:
            if "lock" not in str(error).lower():
                raise StoreError(folder, f"cannot be opened to write: {error}") from None
            if time.monotonic() >= until:
                raise StoreBusy(
                    folder, "another process is writing to it; try again when it is done"
                ) from None
        time.sleep(_PAUSE)


def open_to_read(folder: Path) -> ox.Store:
    """The database as it stands, not to be written to. Raises as `reading`."""
    _must_be_store(folder)
    # While another process writes, a file may be replaced between being listed and being opened.
    for again in range(_TRIES):
        try:
            return ox.Store.read_only(str(folder / STORE))
        except OSError as error:
            if again == _TRIES - 1:
                raise StoreError(folder, f"cannot be opened: {error}") from None
        time.sleep(_PAUSE)
    raise AssertionError("unreachable")


def _must_be_store(folder: Path) -> None:
    if not is_store(folder):
        raise StoreError(folder, "this is not a store; make one with: knockon store init FOLDER")
