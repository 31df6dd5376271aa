"""Which part of a sort needs least change over many cars, worked out car by car."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from pydantic import Field

from ..query.answer import Number, PartRef, Thing, Value
from ..query.compose import Composer, number
from ..reasoner.build import Build
from ..reasoner.kit_choice import Cell, Rank, choose_kit
from ..reasoner.mating import Mating
from ..reasoner.problem import Wishes
from ..reasoner.supply import Supply


class MatrixCell(Value):
    """One part on one car. `changes` is null where it is not workable."""

    changes: int | None = Field(description="how many other stations change")
    proven: int | None = Field(description="the same where only proven joints count")
    stations: tuple[Thing, ...] = Field(description="a smallest set of them")


class MatrixRow(Value):
    """One part over all cars, with the sums over those on which it is workable."""

    part: PartRef
    cells: tuple[MatrixCell, ...]
    total: int
    worst: int
    unworkable: int
    price_eur: Number | None


class FitmentMatrix(Value):
    """Parts against cars, the part that needs least first."""

    catalogue: str
    cars: tuple[str, ...]
    rows: tuple[MatrixRow, ...]
    best: PartRef | None = Field(description="null where no part is workable on every car")


def matrix(
    mating: Mating,
    show: Composer,
    parts: tuple[str, ...],
    builds: tuple[Build, ...],
    *,
    station: str,
    wishes: Wishes,
    supply: Supply,
    begin: Callable[[str], None],
) -> FitmentMatrix:
    """The matrix of parts against builds. `begin` is told each car, and may raise to stop."""
    cells: dict[str, list[Cell]] = {part: [] for part in parts}
    for build in builds:
        begin(build.name)
        choice = choose_kit(mating, parts, [build], station=station, wishes=wishes, supply=supply)
        for rank in choice.ranking:
            cells[rank.part].append(rank.row[0])
    ranks = [Rank(p, tuple(row), mating.catalogue.parts[p].price) for p, row in cells.items()]

    def least_first(rank: Rank) -> tuple[int, int, bool, Decimal, str, str]:
        number_ = mating.catalogue.parts[rank.part].number
        price = rank.price or Decimal(0)
        return rank.unworkable, rank.total, rank.price is None, price, number_, rank.part

    ranks.sort(key=least_first)
    best = ranks[0] if ranks and not ranks[0].unworkable else None
    return FitmentMatrix(
        catalogue=mating.catalogue.version,
        cars=tuple(build.name for build in builds),
        rows=tuple(_row(show, rank) for rank in ranks),
        best=show.part(best.part) if best else None,
    )


def _row(show: Composer, rank: Rank) -> MatrixRow:
    return MatrixRow(
        part=show.part(rank.part),
        cells=tuple(
            MatrixCell(
                changes=cell.count,
                proven=cell.strict_count,
                stations=tuple(map(show.thing, sorted(cell.least or ()))),
            )
            for cell in rank.row
        ),
        total=rank.total,
        worst=rank.worst,
        unworkable=rank.unworkable,
        price_eur=number(rank.price),
    )
