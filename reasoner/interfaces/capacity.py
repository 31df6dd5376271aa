"""Capacities: torque, load and speed that one part puts on another.

Ends of side "demand" state what is asked, or only a factor on the way (a gear ratio, the share of
one of two half-shafts); ends of side "capability" state what they bear. Torque and load are
multiplied by every factor of the demand side, speed is divided by it. Of several statements of
one demand the largest counts, of several capabilities each must do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from math import prod

from .kind import EndValues, Finding, Kind, Outcome, Relation, Tolerances, at_least
from .pairs import plain

NAME = "Capacity"
QUANTITIES = ("torque", "load", "speed")
_UNITS = {"torque": "N·m", "load": "kg", "speed": "rev/min"}


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:  # noqa: ARG001
    """Whether everything that bears bears at least what is asked of it.

    >>> engine = EndValues("demand", {"torque": 200})
    >>> gearbox = EndValues("demand", {"factor": Decimal("3.8")})
    >>> shaft = EndValues("capability", {"torque": 700})
    >>> found = rule([engine, gearbox, shaft], {})[0]
    >>> found.outcome.value, found.margin, found.note
    ('clashes', Decimal('-60.0'), '700 N·m borne, 760 asked')
    """
    return tuple(_findings(ends))


def _findings(ends: Sequence[EndValues]) -> Iterator[Finding]:
    sideless = [end for end in ends if end.side not in {"demand", "capability"}]
    if sideless:
        yield Finding("side", Outcome.UNPROVEN, Relation.OPPOSITE, needs="side")
        return
    demands = [end for end in ends if end.side == "demand"]
    bearers = [end for end in ends if end.side == "capability"]
    if not demands or not bearers:
        note = "nothing is asked" if not demands else "nothing bears here"
        yield Finding("side", Outcome.MATES, Relation.OPPOSITE, note=note)
        return
    unknown = [end for end in demands if not (set(end.values) & {*QUANTITIES, "factor"})]
    asked = [q for q in QUANTITIES if any(q in end.values for end in demands)]
    if unknown or not asked:
        borne = [q for q in QUANTITIES if any(q in end.values for end in bearers)]
        wanted = "factor" if asked else next(iter(borne), QUANTITIES[0])
        yield Finding(wanted, Outcome.UNPROVEN, Relation.AT_LEAST, needs=wanted)
        return
    factor = prod((end.number("factor") or Decimal(1) for end in demands), start=Decimal(1))
    for quantity in asked:
        need = max(n for end in demands if (n := end.number(quantity)) is not None)
        need = need / factor if quantity == "speed" else need * factor
        for bearer in bearers:
            yield _bears(quantity, bearer.number(quantity), need)


def _bears(quantity: str, have: Decimal | None, need: Decimal) -> Finding:
    finding = at_least(quantity, have, need)
    if have is None:
        return finding
    note = f"{plain(have)} {_UNITS[quantity]} borne, {plain(need, 1)} asked"
    return replace(finding, note=note)


KIND = Kind(NAME, rule, remedies=("stronger part", "limit the torque"))
