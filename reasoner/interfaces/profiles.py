"""Stepped radial profiles, one around the other, and the least clearance between them.

A profile is a set of steps: from and to (mm along the axis from the mounting face) and a radius
(mm): of the inside for an outer part, of the outside for an inner one. Where an outer part has no
step there is nothing to touch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from .kind import Record


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """One step of a profile, mm."""

    start: Decimal
    stop: Decimal
    radius: Decimal


@dataclass(frozen=True, slots=True, order=True)
class Clearance:
    """The radial gap (negative: they foul) over the stretch of the axis where it occurs, mm."""

    gap: Decimal
    start: Decimal
    stop: Decimal
    outer_radius: Decimal
    inner_radius: Decimal


def profile(records: Iterable[Record]) -> tuple[Step, ...]:
    """Steps from records with `from`, `to` and `radius`, in order along the axis.

    Raises:
        ValueError: a field is missing, not a number, or a step does not run forwards.
    """
    steps = []
    for record in records:
        try:
            start, stop, radius = (_number(record[key]) for key in ("from", "to", "radius"))
        except KeyError as missing:
            raise ValueError(f"a step of a profile lacks {missing}: {dict(record)}") from None
        if not start < stop:
            raise ValueError(f"a step runs from {start} to {stop}; it must run forwards")
        steps.append(Step(start, stop, radius))
    return tuple(sorted(steps))


def _number(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        raise ValueError(f"a step of a profile needs numbers, not {value!r}")
    return Decimal(value)


def clearances(
    outer: Sequence[Step], inner: Sequence[Step], axial: Decimal = Decimal(0)
) -> tuple[Clearance, ...]:
    """Every stretch where both stand, tightest first; inner steps reach `axial` mm further.

    >>> hat = profile([{"from": 0, "to": 42, "radius": Decimal("95.5")}])
    >>> shoes = profile([{"from": 5, "to": 30, "radius": 95}, {"from": 30, "to": 50, "radius": 70}])
    >>> [(c.gap, c.start, c.stop) for c in clearances(hat, shoes)]
    [(Decimal('0.5'), Decimal('5'), Decimal('30')), (Decimal('25.5'), Decimal('30'), Decimal('42'))]
    """
    found = []
    for around in outer:
        for within in inner:
            start = max(around.start, within.start - axial)
            stop = min(around.stop, within.stop + axial)
            if start < stop:
                gap = around.radius - within.radius
                found.append(Clearance(gap, start, stop, around.radius, within.radius))
    return tuple(sorted(found))


def least_clearance(
    outer: Sequence[Step], inner: Sequence[Step], axial: Decimal = Decimal(0)
) -> Clearance | None:
    """The tightest place, or None where the two never stand at the same place of the axis."""
    return next(iter(clearances(outer, inner, axial)), None)


def sizes_that_clear(
    inner: Sequence[Step],
    outers: Mapping[Decimal, Sequence[Step]],
    clearance: Decimal,
    axial: Decimal = Decimal(0),
) -> tuple[Decimal, ...]:
    """Which of several sizes of outer part clear the inner one: wheels by size over a calliper.

    The first one is the smallest wheel that the brake takes.

    >>> calliper = profile([{"from": -20, "to": 60, "radius": 182}])
    >>> wheels = {Decimal(size): profile([{"from": -60, "to": 90, "radius": size * Decimal("12.7")
    ...           - 16}]) for size in (14, 15, 16, 17)}
    >>> [str(size) for size in sizes_that_clear(calliper, wheels, Decimal(3))]
    ['16', '17']
    """
    fits = []
    for size in sorted(outers):
        tightest = least_clearance(outers[size], inner, axial)
        if tightest is None or tightest.gap >= clearance:
            fits.append(size)
    return tuple(fits)


def largest_inner_radius(
    outer: Sequence[Step], start: Decimal, stop: Decimal, clearance: Decimal
) -> Decimal | None:
    """The largest radius that fits inside between two places: what a wheel still takes.

    None where the outer part leaves that stretch open.

    >>> barrel = profile([{"from": -60, "to": 0, "radius": 175}, {"from": 0, "to": 90,
    ...                    "radius": 180}])
    >>> largest_inner_radius(barrel, Decimal(-20), Decimal(60), Decimal(3))
    Decimal('172')
    """
    radii = [step.radius for step in outer if step.start < stop and step.stop > start]
    return min(radii) - clearance if radii else None
