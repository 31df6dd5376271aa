"""Which part of a kind needs least change across several cars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from functools import partial

from .build import Build
from .fewest import fewest
from .mating import Mating
from .problem import Wishes
from .supply import Supply


class KitAim(StrEnum):
    """What is to be least: changes over all cars together, or on the worst of them."""

    TOTAL = "total"
    WORST = "worst car"


@dataclass(frozen=True, slots=True)
class Cell:
    """One part on one car, at the station where it needs least.

    `least` is a smallest set of other stations that change (None: not workable), `strictly` the
    same where only proven joints count.
    """

    part: str
    build: str
    car: str
    station: str
    least: frozenset[str] | None
    strictly: frozenset[str] | None

    @property
    def count(self) -> int | None:
        """How many other stations change."""
        return None if self.least is None else len(self.least)

    @property
    def strict_count(self) -> int | None:
        """How many other stations change where only proven joints count."""
        return None if self.strictly is None else len(self.strictly)


@dataclass(frozen=True, slots=True)
class Rank:
    """One part over all cars: its row of the matrix in the order of the builds, and the sums.

    `unworkable` counts the cars on which it cannot be made to fit; `total` and `worst` are over
    the others. The strict figures are the same where only proven joints count.
    """

    part: str
    row: tuple[Cell, ...]
    price: Decimal | None

    @property
    def unworkable(self) -> int:
        """On how many cars no plan is workable."""
        return sum(cell.count is None for cell in self.row)

    @property
    def total(self) -> int:
        """Stations that change on all workable cars together."""
        return sum(cell.count or 0 for cell in self.row)

    @property
    def worst(self) -> int:
        """Stations that change on the worst workable car."""
        return max((cell.count or 0 for cell in self.row), default=0)

    @property
    def strictly_unworkable(self) -> int:
        """On how many cars no plan is proven."""
        return sum(cell.strict_count is None for cell in self.row)

    @property
    def strict_total(self) -> int:
        """As `total`, where only proven joints count."""
        return sum(cell.strict_count or 0 for cell in self.row)

    @property
    def strict_worst(self) -> int:
        """As `worst`, where only proven joints count."""
        return max((cell.strict_count or 0 for cell in self.row), default=0)


@dataclass(frozen=True, slots=True)
class KitChoice:
    """Every part asked about, the one to choose first. `builds` are the columns of the matrix."""

    builds: tuple[str, ...]
    aim: KitAim
    strict: bool
    ranking: tuple[Rank, ...]

    @property
    def best(self) -> Rank | None:
        """The part to choose; None where none is workable on every car."""
        first = next(iter(self.ranking), None)
        if first is None:
            return None
        left_out = first.strictly_unworkable if self.strict else first.unworkable
        return None if left_out else first


def choose_kit(
    mating: Mating,
    parts: Sequence[str],
    builds: Sequence[Build],
    *,
    station: str = "",
    aim: KitAim = KitAim.TOTAL,
    strict: bool = False,
    wishes: Wishes | None = None,
    supply: Supply | None = None,
) -> KitChoice:
    """Rank `parts` by how little must change to fit them on all of `builds`.

    A part that is workable on more cars comes first, then the one with the least total (or worst
    car), ties by price (unknown last) and part number. `station` settles where a part goes that
    sits at several; otherwise it goes where it needs least. `strict` ranks by the strict reading.
    `supply` is where the parts that change with it may come from.

    Raises:
        KeyError: no such part.
    """
    asked = wishes or Wishes()

    def at(part: str, build: Build, place: str) -> Cell:
        if build.fits[place] == part:
            none = frozenset[str]()
            return Cell(part, build.name, build.car, place, none, none)
        fits = {**asked.fits, place: part}
        least = fewest(mating, build, replace(asked, fits=fits), supply)
        return Cell(part, build.name, build.car, place, *least)

    def cell(part: str, build: Build) -> Cell:
        places = [station] if station else mating.catalogue.parts[part].stations
        cells = [at(part, build, place) for place in places if place in build.fits]
        nowhere = Cell(part, build.name, build.car, "", None, None)
        return min(cells, key=partial(_least_first, strict=strict), default=nowhere)

    ranks = [
        Rank(
            part,
            tuple(cell(part, build) for build in builds),
            mating.catalogue.parts[part].price,
        )
        for part in dict.fromkeys(parts)
    ]

    def order(rank: Rank) -> tuple[int, int, bool, Decimal, str, str]:
        if strict:
            left_out, total, worst = rank.strictly_unworkable, rank.strict_total, rank.strict_worst
        else:
            left_out, total, worst = rank.unworkable, rank.total, rank.worst
        return (
            left_out,
            total if aim is KitAim.TOTAL else worst,
            rank.price is None,
            rank.price or Decimal(0),
            mating.catalogue.parts[rank.part].number,
            rank.part,
        )

    ranking = tuple(sorted(ranks, key=order))
    return KitChoice(tuple(build.name for build in builds), aim, strict, ranking)


def kit_parts(mating: Mating, *, station: str = "", family: str = "") -> tuple[str, ...]:
    """The parts that sit at `station` or are of `family`, without superseded ones."""
    catalogue = mating.catalogue
    among = catalogue.parts_at(station) if station else catalogue.parts
    parts = (catalogue.parts[iri] for iri in among)
    return tuple(
        part.iri
        for part in parts
        if (not family or family in part.families) and not part.superseded_by
    )


def _least_first(cell: Cell, *, strict: bool) -> tuple[bool, int, bool, int, str]:
    one, other = cell.count, cell.strict_count
    if strict:
        one, other = other, one
    return one is None, one or 0, other is None, other or 0, cell.station
