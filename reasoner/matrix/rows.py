"""The cells of a chunk as rows of a table."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from ..build import stock_build
from ..catalogue import Catalogue
from ..kit_choice import Cell
from .cells import CarCells
from .chunks import Chunk
from .remaining import Links


class Verdict(StrEnum):
    """How a part goes on a car."""

    FITS = "fits"
    WITH_CHANGES = "with changes"
    NOT = "not"


Row = tuple[
    str, str, str, str, str, str, Verdict, int | None, Verdict, int | None, tuple[str, ...] | None
]
"""In the order of `COLUMNS`."""

COLUMNS = (
    ("car", "the car's IRI"),
    ("car_name", "what it is called"),
    ("station", "the station's IRI"),
    ("station_name", "what it is called"),
    ("part", "the part's IRI"),
    ("part_number", "its number"),
    ("verdict", "fits: no other station changes; with changes; not: no plan is workable"),
    ("changes", "how many other stations change at least; null where it is not workable"),
    ("proven_verdict", "the verdict where only proven joints count"),
    ("proven_changes", "the changes where only proven joints count"),
    ("stations", "a smallest set of other stations that change; null where it is not workable"),
)
"""The columns with what they say."""


class Reckoner:
    """Works out chunks over one catalogue; remembers the car it was last asked about."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._links = Links(catalogue)
        self._car: CarCells | None = None

    def rows(self, chunk: Chunk) -> Iterator[Row]:
        """The rows of a chunk: stations in their order, parts in the catalogue's."""
        catalogue = self._catalogue
        if self._car is None or self._car.build.car != chunk.car:
            self._car = CarCells(self._links, stock_build(catalogue, catalogue.cars[chunk.car]))
        for station in chunk.stations:
            for cell in self._car.at(station, catalogue.parts_at(station)):
                yield self._row(cell)

    def _row(self, cell: Cell) -> Row:
        name = self._catalogue.name
        return (
            cell.car, cell.build, cell.station, name(cell.station),
            cell.part, self._catalogue.parts[cell.part].number,
            _verdict(cell.count), cell.count, _verdict(cell.strict_count), cell.strict_count,
            None if cell.least is None else tuple(sorted(cell.least)),
        )  # fmt: skip


def _verdict(count: int | None) -> Verdict:
    if count is None:
        return Verdict.NOT
    return Verdict.WITH_CHANGES if count else Verdict.FITS
