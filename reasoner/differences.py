"""What differs between cars, station by station and end by end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from .build import Build, stock_build
from .catalogue import Catalogue, Claim, Part


class Change(StrEnum):
    """How a station differs. PARTLY: cars of both groups share a part, and some have another."""

    SAME = "same part"
    PARTLY = "partly the same"
    DIFFERENT = "different part"
    ONLY_FIRST = "only on the first"
    ONLY_SECOND = "only on the second"


@dataclass(frozen=True, slots=True)
class ValueDifference:
    """One quantity of which two ends state different values; () where one is silent.

    `within` is True where numbers differ by no more than the house tolerance.
    """

    quantity: str
    first: tuple[Claim, ...]
    second: tuple[Claim, ...]
    within: bool = False


@dataclass(frozen=True, slots=True)
class EndDifference:
    """The ends of one role that differ; None where only the other part has one (or one more)."""

    role: str
    first: str | None
    second: str | None
    values: tuple[ValueDifference, ...] = ()
    side_differs: bool = False


@dataclass(frozen=True, slots=True)
class PartDifference:
    """Two parts for one station. No `ends`: another number, but every end is the same."""

    first: str
    second: str
    ends: tuple[EndDifference, ...]

    @property
    def fits_alike(self) -> bool:
        """Whether no end differs by more than the house tolerance."""
        return all(
            end.first is not None
            and end.second is not None
            and not end.side_differs
            and all(value.within for value in end.values)
            for end in self.ends
        )


@dataclass(frozen=True, slots=True)
class StationDifference:
    """One station of two groups of cars.

    `first` and `second` map each part found there to the builds (by name) that have it; `parts`
    compares every part of only one side with every part of only the other.
    """

    station: str
    change: Change
    first: Mapping[str, tuple[str, ...]]
    second: Mapping[str, tuple[str, ...]]
    parts: tuple[PartDifference, ...] = ()


def builds_of(catalogue: Catalogue, iri: str, body: str = "") -> tuple[Build, ...]:
    """The stock builds of a car, generation or line, of one body where it is named.

    Raises:
        KeyError: nothing has that IRI, or no such car has that body.
    """
    found = tuple(
        stock_build(catalogue, car)
        for car in catalogue.cars_of(iri)
        if not body or car.body.casefold() == body.casefold()
    )
    if not found:
        raise KeyError(iri)
    return found


def find_differences(
    catalogue: Catalogue, first: Sequence[Build], second: Sequence[Build]
) -> tuple[StationDifference, ...]:
    """Every station of two cars (one build each) or two groups of cars, the same ones included.

    In the order of the stations. A station that is missing on a car and one that stands empty
    there count alike.
    """
    found = []
    for station in sorted({s for build in (*first, *second) for s in build.fits}):
        one, other = _parts_at(first, station), _parts_at(second, station)
        if one or other:
            found.append(_station(catalogue, station, one, other))
    return tuple(found)


def compare_parts(catalogue: Catalogue, first: str, second: str) -> PartDifference:
    """How the ends of two parts differ, role by role."""
    one, other = catalogue.parts[first], catalogue.parts[second]
    ends = [
        difference
        for role in sorted({*one.ends, *other.ends})
        for difference in _ends(catalogue, one, other, role)
    ]
    return PartDifference(first, second, tuple(ends))


def _parts_at(builds: Sequence[Build], station: str) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for build in builds:
        part = build.fits.get(station)
        if part is not None:
            found.setdefault(part, []).append(build.name)
    return {part: tuple(found[part]) for part in sorted(found)}


def _station(
    catalogue: Catalogue,
    station: str,
    one: Mapping[str, tuple[str, ...]],
    other: Mapping[str, tuple[str, ...]],
) -> StationDifference:
    if not other:
        change = Change.ONLY_FIRST
    elif not one:
        change = Change.ONLY_SECOND
    elif set(one) == set(other):
        change = Change.SAME
    else:
        change = Change.PARTLY if set(one) & set(other) else Change.DIFFERENT
    parts = tuple(
        compare_parts(catalogue, a, b)
        for a in one
        for b in other
        if a != b and not (change is Change.SAME or (a in other and b in one))
    )
    return StationDifference(station, change, one, other, parts)


def _ends(catalogue: Catalogue, one: Part, other: Part, role: str) -> list[EndDifference]:
    """Alternative ends of a role are paired in order once those that are the same are put aside."""
    mine, theirs = one.ends.get(role, ()), other.ends.get(role, ())
    left = [end for end in mine if end not in theirs]
    right = [end for end in theirs if end not in mine]
    found = []
    for at in range(max(len(left), len(right))):
        a = left[at] if at < len(left) else None
        b = right[at] if at < len(right) else None
        if a is None or b is None:
            found.append(EndDifference(role, a, b))
            continue
        values = _values(catalogue, a, b)
        side = catalogue.ends[a].side != catalogue.ends[b].side
        if values or side:
            found.append(EndDifference(role, a, b, values, side))
    return found


def _values(catalogue: Catalogue, first: str, second: str) -> tuple[ValueDifference, ...]:
    one, other = catalogue.ends[first], catalogue.ends[second]
    tolerances = catalogue.tolerances.get(one.kind, {})
    found = []
    for quantity in sorted({*one.claims, *other.claims}):
        a, b = one.claims.get(quantity, ()), other.claims.get(quantity, ())
        if {_comparable(c) for c in a} != {_comparable(c) for c in b}:
            within = _within(a, b, tolerances.get(quantity))
            found.append(ValueDifference(quantity, a, b, within))
    return tuple(found)


def _comparable(claim: Claim) -> object:
    if isinstance(claim.value, tuple):
        return tuple(tuple(sorted(record.items())) for record in claim.value)
    return claim.value


def _within(first: Sequence[Claim], second: Sequence[Claim], tolerance: Decimal | None) -> bool:
    values = [claim.value for claim in (*first, *second)]
    numbers = [
        Decimal(v) for v in values if isinstance(v, (int, Decimal)) and not isinstance(v, bool)
    ]
    if tolerance is None or not first or not second or len(numbers) < len(values):
        return False
    return max(numbers) - min(numbers) <= tolerance
