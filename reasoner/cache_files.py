"""Files in the user's own cache folder: there whole or not at all, and only so many.

Whatever is kept there can be made again: a cache that cannot be written costs time, never an
answer.
"""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from hashlib import sha256
from pathlib import Path
from weakref import finalize


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """A file to be written under another name, which takes the place of `path` when all went well.

    Raises:
        OSError: there is no writing here.
    """
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as handle:
        part = Path(handle.name)
    try:
        yield part
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def opened_for(reader: object, path: Path) -> sqlite3.Connection:
    """Tables in a file that nobody writes to any more, for many threads of this process; closed
    when their reader is no more.

    Raises:
        OSError, sqlite3.Error: there is no such file, or it is none.
    """
    where = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
    tables = sqlite3.connect(where, uri=True, check_same_thread=False)
    finalize(reader, tables.close).atexit = False
    # Read through the pages that all processes share.
    tables.execute(f"PRAGMA mmap_size = {path.stat().st_size}")
    return tables


def is_own(path: Path) -> bool:
    """Whether a file is the user's, as far as the system knows owners.

    Only such a file may be trusted: who can write it can run code as the user already.

    Raises:
        OSError: there is no such file.
    """
    owner = path.stat().st_uid
    return not hasattr(os, "getuid") or owner == os.getuid()


def forget_the_oldest(folder: Path, pattern: str, most: int, most_bytes: int | None = None) -> None:
    """Leave the `most` files used last; of these as many as are within `most_bytes`, or two.

    Every edit of the data leaves files behind; a few are worth going back to.
    """
    looks = {path: path.stat() for path in folder.glob(pattern)}
    together = 0
    newest_first = sorted(looks, key=lambda path: looks[path].st_mtime_ns, reverse=True)
    for at, path in enumerate(newest_first):
        together += looks[path].st_size
        too_large = most_bytes is not None and at >= 2 and together > most_bytes
        if at >= most or too_large:
            path.unlink(missing_ok=True)


def stamp_of(files: Iterable[Path], word: str = "") -> str:
    """Changes when one of the files does, or the word: so an upgrade never reads old values."""
    digest = sha256(word.encode())
    for path in files:
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


@cache
def reasoner_stamp(word: str) -> str:
    """Changes when the code does that makes a catalogue of facts, and with the word."""
    here = Path(__file__).parent
    return stamp_of((*sorted(here.glob("*.py")), *sorted((here / "interfaces").glob("*.py"))), word)
