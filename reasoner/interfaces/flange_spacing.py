"""Flange spacings: a propshaft's flange on a gearbox or axle flange.

The flange is often a part of its own, splined to the pinion, so exchanging it alone may do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .kind import EndValues, Finding, Kind, Tolerances, bound, opposite, same, within
from .pairs import EXTERNAL_INTERNAL, goes_into, two

NAME = "FlangeSpacing"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether two flanges bolt face to face and run true.

    >>> from decimal import Decimal
    >>> shaft = EndValues("external", {"pattern": "square", "bolts": 4, "spacing": 68,
    ...                                "boltSize": 10, "register": 60})
    >>> pinion = EndValues("internal", {"pattern": "rectangle", "bolts": 4, "spacing": 75,
    ...                                 "secondSpacing": 60, "boltSize": 10, "register": 60})
    >>> bounds = {"spacing": Decimal("0.2"), "boltSize": Decimal("0.1"),
    ...           "registerSlack": Decimal("0.1")}
    >>> [f.quantity for f in rule([shaft, pinion], bounds) if f.outcome.value == "clashes"]
    ['pattern', 'spacing']
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, EXTERNAL_INTERNAL)
    yield same("pattern", first, second)
    yield same("bolts", first, second)
    spacing = bound(tolerances, NAME, "spacing")
    yield within("spacing", first, second, spacing)
    if first.word("pattern") == second.word("pattern") == "rectangle":
        yield within("secondSpacing", first, second, spacing)
    yield within("boltSize", first, second, bound(tolerances, NAME, "boltSize"))
    slack = bound(tolerances, NAME, "registerSlack")
    yield goes_into("register", first, second, slack=slack)


KIND = Kind(
    NAME,
    rule,
    remedies=("flange alone", "adapter flange", "made to measure"),
    equal=("pattern", "bolts"),
    near="spacing",
)
