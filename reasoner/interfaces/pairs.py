"""Comparisons that several kinds share: two ends of opposite sides, one receiving the other.

Findings keep the order of the ends given, so that a reader finds the first end's value first;
the outcome is the same in either order.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from .kind import EndValues, Finding, Outcome, Relation

EXTERNAL_INTERNAL = ("external", "internal")


def two(ends: Sequence[EndValues], kind: str) -> tuple[EndValues, EndValues]:
    """The two ends of a joint of a binary kind.

    Raises:
        ValueError: more or fewer than two ends meet there.
    """
    if len(ends) != 2:
        raise ValueError(f"{kind}: two ends meet in such a joint, not {len(ends)}")
    return ends[0], ends[1]


def plain(number: Decimal, places: int | None = None) -> str:
    """A number as people write it: no exponent, no trailing zeros; rounded if `places` is given.

    >>> plain(Decimal("114.300")), plain(Decimal("1E+2")), plain(Decimal("2.3456"), 2)
    ('114.3', '100', '2.35')
    """
    if places is not None:
        number = round(number, places)
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def receiving(first: EndValues, second: EndValues, receiver: str = "internal") -> bool | None:
    """Whether the first end receives the second; None where the sides do not say."""
    if (first.side == receiver) == (second.side == receiver) or not (first.side and second.side):
        return None
    return first.side == receiver


def goes_into(
    quantity: str,
    first: EndValues,
    second: EndValues,
    *,
    grace: Decimal = Decimal(0),
    slack: Decimal | None = None,
) -> Finding:
    """The external end's size goes into the internal end's, and not too loosely.

    `grace` is how far the external may exceed the internal (rounding of the claims); `slack` is
    the most by which the internal may exceed the external, or None where any room will do.
    The margin is the distance to the nearer bound.

    >>> hub = EndValues("external", {"pilot": Decimal("57.1")})
    >>> wheel = EndValues("internal", {"pilot": Decimal("66.6")})
    >>> goes_into("pilot", hub, wheel, slack=Decimal("0.3")).outcome.value
    'clashes'
    >>> goes_into("pilot", hub, wheel).margin
    Decimal('9.5')
    """
    a, b = first.number(quantity), second.number(quantity)
    first_receives = receiving(first, second)
    relation = Relation.AT_LEAST if first_receives else Relation.AT_MOST
    if a is None or b is None:
        return Finding(quantity, Outcome.UNPROVEN, relation, a, b, slack, needs=quantity)
    if first_receives is None:
        return Finding(quantity, Outcome.UNPROVEN, relation, a, b, slack, needs="side")
    room = a - b if first_receives else b - a
    margin = room + grace
    note = ""
    if margin < 0:
        note = f"the external size is {plain(-room)} mm too large"
    elif slack is not None:
        margin = min(margin, slack - room)
        if margin < 0:
            note = f"loose by {plain(room)} mm, at most {plain(slack)} mm allowed"
    outcome = Outcome.MATES if margin >= 0 else Outcome.CLASHES
    return Finding(quantity, outcome, relation, a, b, slack, margin, note=note)


def both_state(quantity: str, *ends: EndValues) -> bool:
    """Whether every end states the quantity."""
    return all(end.values.get(quantity) is not None for end in ends)
