"""Ratios: paths that turn together, such as front and rear axle of a four-wheel drive.

Members with sign +1 are multiplied along one path, those with -1 along the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from math import prod

from .kind import EndValues, Finding, Kind, Outcome, Relation, Tolerances, bound
from .pairs import plain

NAME = "Ratio"


def stated_ratio(end: EndValues) -> Decimal | None:
    """The ratio an end states, or driven teeth over driving teeth, or None.

    >>> stated_ratio(EndValues(values={"drivenTeeth": 41, "drivingTeeth": 10}))
    Decimal('4.1')
    """
    ratio = end.number("ratio")
    driven, driving = end.number("drivenTeeth"), end.number("drivingTeeth")
    if driven is not None and driving:
        # Counted teeth are exact; a ratio on a tag is rounded.
        return driven / driving
    return ratio


def slip(first: Decimal, second: Decimal) -> Decimal:
    """The share by which the path with the smaller ratio must overrun the other.

    >>> round(slip(Decimal("4.10"), Decimal("4.30")), 4)
    Decimal('0.0488')
    """
    return max(first, second) / min(first, second) - 1


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the paths agree. The tolerance is a share; a lone path agrees with itself.

    >>> front = EndValues("", {"ratio": Decimal("4.10")}, 1)
    >>> rear = EndValues("", {"ratio": Decimal("3.73")}, -1)
    >>> found = rule([front, rear], {"ratio": Decimal("0.01")})[0]
    >>> found.outcome.value, found.note
    ('clashes', 'slip or wind-up of 9.92 %: 10 turns of one against 10.99 of the other')
    """
    allowed = bound(tolerances, NAME, "ratio")
    ratios = [stated_ratio(end) for end in ends]
    known = [
        (end.sign, ratio) for end, ratio in zip(ends, ratios, strict=True) if ratio is not None
    ]
    first, second = (
        [ratio for sign, ratio in known if sign == which] if which in _signs(ends) else None
        for which in (1, -1)
    )
    if len(known) < len(ends):
        return (
            Finding("ratio", Outcome.UNPROVEN, Relation.WITHIN, None, None, allowed, needs="ratio"),
        )
    if first is None or second is None:
        note = "only one path turns: there is nothing to agree with"
        return (Finding("ratio", Outcome.MATES, Relation.WITHIN, note=note),)
    a, b = prod(first, start=Decimal(1)), prod(second, start=Decimal(1))
    share = slip(a, b)
    margin = allowed - share
    note = ""
    if share:
        note = (
            f"slip or wind-up of {plain(share * 100, 2)} %: 10 turns of one against "
            f"{plain(10 * (1 + share), 2)} of the other"
        )
    outcome = Outcome.MATES if margin >= 0 else Outcome.CLASHES
    return (Finding("ratio", outcome, Relation.WITHIN, a, b, allowed, margin, note=note),)


def _signs(ends: Sequence[EndValues]) -> set[int]:
    return {end.sign for end in ends}


KIND = Kind(NAME, rule, remedies=("crown wheel and pinion", "axle", "transfer box"))
