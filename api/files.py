"""Files of the shop that are written whole or not at all, one writer at a time."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that only its owner may read; readers see the old or the new one, never half."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".new-", delete=False) as handle:
        try:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
            os.replace(handle.name, path)
        except BaseException:
            with suppress(OSError):
                os.unlink(handle.name)
            raise
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """Make the new name last through a loss of power, where the system can."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


@contextmanager
def one_writer(folder: Path) -> Iterator[None]:
    """Hold off every other writer of the folder, in this process and in others."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    with (folder / ".lock").open("ab") as handle:
        if sys.platform != "win32":
            import fcntl

            # Held until the file is closed, so a writer that is killed lets go of it.
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
