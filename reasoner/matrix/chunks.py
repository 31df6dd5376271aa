"""The matrix cut into chunks: one car and a run of its stations each, the same whenever it is cut.

A chunk's name hangs on everything that its content hangs on, so a file of that name is the chunk's.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

from ..build import stock_build
from ..cache_files import reasoner_stamp, stamp_of
from ..catalogue import Catalogue

MOST_CELLS: Final = 1_500
"""So many cells are one chunk: what is lost when a run is broken off."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """Every part at each of some stations of a car: `cells` pairs of station and part."""

    name: str
    car: str
    stations: tuple[str, ...]
    cells: int


@dataclass(frozen=True, slots=True)
class Cut:
    """The whole of it. `code` tells versions of knockon apart that may answer differently."""

    catalogue: str
    code: str
    cars: tuple[str, ...]
    stations: tuple[str, ...]
    chunks: tuple[Chunk, ...]

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return sum(chunk.cells for chunk in self.chunks)

    def as_json(self) -> str:
        """All of it as JSON; the same bytes for the same matrix."""
        return json.dumps(asdict(self), ensure_ascii=False, indent=1) + "\n"


def cut(
    catalogue: Catalogue,
    cars: Sequence[str] = (),
    stations: Collection[str] = (),
    most: int = MOST_CELLS,
) -> Cut:
    """The chunks of a catalogue's matrix: of all cars and stations, or of those named."""
    chosen = tuple(car for car in catalogue.cars if not cars or car in cars)
    places = tuple(station for station in catalogue.stations if station in stations)
    runs = _runs(catalogue, chosen, places, most)
    chunks = tuple(
        Chunk(_name(at, catalogue.version, car, run), car, run, cells)
        for at, (car, run, cells) in enumerate(runs)
    )
    return Cut(catalogue.version, code_stamp(), chosen, places, chunks)


def _runs(
    catalogue: Catalogue, cars: Sequence[str], stations: Sequence[str], most: int
) -> Iterator[tuple[str, tuple[str, ...], int]]:
    counts = {station: len(catalogue.parts_at(station)) for station in catalogue.stations}
    for iri in cars:
        run: list[str] = []
        cells = 0
        for station in stock_build(catalogue, catalogue.cars[iri]).fits:
            if (stations and station not in stations) or not counts[station]:
                continue
            if run and cells + counts[station] > most:
                yield iri, tuple(run), cells
                run, cells = [], 0
            run.append(station)
            cells += counts[station]
        if run:
            yield iri, tuple(run), cells


def _name(at: int, version: str, car: str, stations: Sequence[str]) -> str:
    told = json.dumps([version, code_stamp(), car, *stations])
    return f"{at:06d}-{sha256(told.encode()).hexdigest()[:16]}"


@cache
def code_stamp() -> str:
    """Changes when the code does that the matrix hangs on."""
    return reasoner_stamp(stamp_of(sorted(Path(__file__).parent.glob("*.py")), "matrix 1"))
