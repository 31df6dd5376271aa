"""Tell quickly that no file of a catalogue has changed, without reading hundreds of megabytes.

Kept in the cache folder: for a folder of text the list of its files as they were when they were
last read (name, size, times of the last change of content and of anything, number of the inode,
device), and the version that their text gave. An equal list is taken for equal text. That trusts
the file system to move a file's change time whenever it is written; what was changed in the last
moments before it was read is not trusted, since clocks of file systems tick coarsely.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from typing import Final

from .cache_files import is_own, written_whole
from .files import SUFFIXES

_TOO_FRESH: Final = 2.0
"""Seconds: a file changed so lately may change again within one tick of its clock."""


def listing(folders: Iterable[Path]) -> str | None:
    """What the files below folders look like from outside; None if that cannot be relied on."""
    digest, newest = sha256(), 0
    try:
        for folder in folders:
            for path in sorted(p for p in folder.rglob("*") if p.suffix in SUFFIXES):
                looks = path.stat()
                newest = max(newest, looks.st_mtime_ns, looks.st_ctime_ns)
                said = (
                    str(path), looks.st_size, looks.st_mtime_ns, looks.st_ctime_ns,
                    looks.st_ino, looks.st_dev, looks.st_mode,
                )  # fmt: skip
                digest.update(repr(said).encode())
    except OSError:
        return None
    return None if newest / 1e9 > time.time() - _TOO_FRESH else digest.hexdigest()


def seen_version(listed: str, folder: Path, cache: Path) -> str | None:
    """The version that files of this listing gave when they were read, if they were."""
    kept = _kept(folder, cache)
    try:
        if not is_own(kept):
            return None
        looked, _, version = kept.read_text("ascii").partition(" ")
    except (OSError, UnicodeDecodeError):
        return None
    return version if looked == listed and len(version) == _DIGITS else None


def remember_seen(listed: str, version: str, folder: Path, cache: Path) -> None:
    """Keep what files of this listing gave; only the latest of a folder. Never fails."""
    kept = _kept(folder, cache)
    try:
        with written_whole(kept) as part:
            part.write_text(f"{listed} {version}", "ascii")
    except OSError:
        pass  # the files are read again next time


_DIGITS: Final = len(sha256().hexdigest())


def _kept(folder: Path, cache: Path) -> Path:
    return cache / f"{sha256(str(folder.resolve()).encode()).hexdigest()[:32]}.seen"
