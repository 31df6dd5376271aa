"""Files that are there whole or not at all, whenever the machine stops."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path


def put(path: Path, data: bytes) -> None:
    """Write or replace a file in one step, and wait until it is on the disk."""
    made = _beside(path, data)
    os.replace(made, path)
    sync_folder(path.parent)


def write_new(path: Path, data: bytes) -> bool:
    """The same for a file that must be new; False, and nothing done, if there is one already."""
    made = _beside(path, data)
    try:
        os.link(made, path)
    except FileExistsError:
        return False
    finally:
        made.unlink()
    sync_folder(path.parent)
    return True


def _beside(path: Path, data: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(
        dir=path.parent, prefix=f".{path.name[:40]}.", delete=False
    ) as handle:
        handle.write(data)
        handle.flush()
        os.fsync(handle.fileno())
    made = Path(handle.name)
    made.chmod(0o666 & ~_umask())
    return made


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def sync_folder(folder: Path) -> None:
    """Wait until a folder's own list of files is on the disk, where the system can say so."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
