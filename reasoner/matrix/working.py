"""What a process does that works out chunks: it opens the catalogue once, and answers in bytes.

The catalogue itself is never sent: every process opens the same compiled file, and sees that it is
of the same version.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from ..load import load_catalogue
from .chunks import Chunk, code_stamp
from .errors import MatrixStopped
from .parquet import packed
from .rows import Reckoner


@dataclass(frozen=True, slots=True)
class Place:
    """Where the catalogue is, which it is, and by which knockon it is asked."""

    data: Path | None
    catalogue: str
    code: str


_ONE_AT_A_TIME = threading.Lock()
_OPENED: dict[Place, Reckoner] = {}


def work_out(place: Place, chunk: Chunk) -> bytes:
    """The Parquet file of a chunk.

    Raises:
        MatrixStopped: this process has another catalogue or another knockon.
        CatalogueFileError, CatalogueRefused: it cannot open the catalogue.
    """
    with _ONE_AT_A_TIME:  # a pool may have threads; a catalogue is asked by one
        return packed(opened(place).rows(chunk), place.catalogue)


def opened(place: Place) -> Reckoner:
    """What answers over the catalogue, opened when first asked for."""
    if place not in _OPENED:
        if code_stamp() != place.code:
            raise MatrixStopped("A worker has another version of knockon; install the same there.")
        catalogue = load_catalogue(place.data)
        if catalogue.version != place.catalogue:
            raise MatrixStopped(
                "The catalogue is not what it was when this run began "
                f"(version {catalogue.version[:12]} instead of {place.catalogue[:12]}): "
                "begin a matrix of the new one in another folder."
            )
        _OPENED.clear()
        _OPENED[place] = Reckoner(catalogue)
    return _OPENED[place]
