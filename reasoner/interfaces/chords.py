"""Bolt circles from chords: what to measure, what it means, and which circles it could be.

The chord between two studs of n on a circle D, k places apart, is D sin(π k / n).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import pi, sin

COUNTS = range(3, 11)

# Circles the trade meets on wheels, mm (common practice).
COMMON_CIRCLES = tuple(
    map(
        Decimal,
        (
            *("98", "100", "105", "108", "110", "112", "114.3", "115", "118", "120", "120.65"),
            *("127", "130", "135", "139.7", "150", "160", "165.1", "170", "180", "200", "205"),
            *("222.25", "225", "245", "275", "285.75", "335"),
        ),
    )
)


@dataclass(frozen=True, slots=True)
class MeasuringAid:
    """How to measure a circle of so many bolts.

    `apart`: how many places the two studs to measure stand apart. `straight_across`: whether the
    centre distance is the circle itself. `times`: what to multiply the centre distance by.
    """

    bolts: int
    apart: int
    straight_across: bool
    times: float
    advice: str


def _check(bolts: int, apart: int = 1) -> None:
    if bolts not in COUNTS:
        raise ValueError(f"{bolts} bolts: this works for {COUNTS[0]} to {COUNTS[-1]}")
    if not 1 <= apart <= bolts // 2:
        raise ValueError(f"of {bolts} bolts two stand 1 to {bolts // 2} apart, not {apart}")


def chord(circle: float, bolts: int, apart: int = 1) -> float:
    """Centre distance, mm, of two of the bolts that stand `apart` places from one another.

    >>> round(chord(114.3, 5), 2), round(chord(114.3, 5, 2), 2)
    (67.18, 108.71)

    Raises:
        ValueError: not 3 to 10 bolts, or no two bolts stand so far apart.
    """
    _check(bolts, apart)
    return circle * sin(pi * apart / bolts)


def circle_from_chord(distance: float, bolts: int, apart: int = 1) -> float:
    """The circle, mm, from a centre distance.

    >>> round(circle_from_chord(67.18, 5), 1)
    114.3
    """
    _check(bolts, apart)
    return distance / sin(pi * apart / bolts)


def measuring_aid(bolts: int) -> MeasuringAid:
    """What to measure: straight across with an even count, a chord with an odd one.

    >>> measuring_aid(6).straight_across, measuring_aid(5).straight_across
    (True, False)
    >>> round(measuring_aid(5).times, 4)
    1.0515
    """
    _check(bolts)
    apart = bolts // 2
    times = 1 / sin(pi * apart / bolts)
    if bolts % 2 == 0:
        advice = "measure from the centre of one stud to the centre of the one opposite"
        return MeasuringAid(bolts, apart, True, 1.0, advice)
    advice = (
        f"no stud stands opposite another: measure between centres of two studs {apart} apart "
        f"and multiply by {times:.4f}"
    )
    return MeasuringAid(bolts, apart, False, times, advice)


def centres_from_edges(outside: float, stud: float) -> float:
    """Centre distance from a calliper over the outsides of two studs of one diameter, mm.

    >>> centres_from_edges(79.2, 12.0)
    67.2
    """
    return outside - stud


@dataclass(frozen=True, slots=True)
class CircleCandidate:
    """A circle that could be the one measured, and how far the reading's circle is from it."""

    circle: Decimal
    off: Decimal


def possible_circles(
    bolts: int,
    distance: float,
    error: float,
    apart: int = 1,
    circles: Sequence[Decimal] = COMMON_CIRCLES,
) -> tuple[CircleCandidate, ...]:
    """Which known circles a centre distance could be, given the error of the reading; best first.

    A chord multiplies its error: half a millimetre between neighbours of five is 0.85 mm of
    circle, enough to leave 114.3 and 115 both open.

    >>> [str(c.circle) for c in possible_circles(5, 67.4, 0.5)]
    ['115', '114.3']
    >>> [str(c.circle) for c in possible_circles(5, 67.2, 0.1)]
    ['114.3']
    """
    times = circle_from_chord(1.0, bolts, apart)
    measured = Decimal(str(round(distance * times, 6)))
    reach = Decimal(str(round(abs(error) * times, 6)))
    near = [CircleCandidate(c, measured - c) for c in circles if abs(measured - c) <= reach]
    return tuple(sorted(near, key=lambda found: (abs(found.off), found.circle)))
