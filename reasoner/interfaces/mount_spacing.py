"""Mount spacings: a final drive in its carrier, a gearbox on its crossmember, an eye in a clevis.

The part that goes between the ears is the external end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from .kind import EndValues, Finding, Kind, Outcome, Tolerances, bound, opposite, within
from .pairs import EXTERNAL_INTERNAL, both_state, goes_into, plain, two

NAME = "MountSpacing"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the bolts go through both parts. A slot lets a bolt stand half its length off.

    >>> case = EndValues("external", {"centreDistance": 300, "boltDiameter": 12})
    >>> carrier = EndValues("internal", {"centreDistance": 304, "boltDiameter": 12,
    ...                                  "slotLength": 8})
    >>> bounds = {"centreDistance": Decimal("0.5"), "boltDiameter": Decimal("0.2"),
    ...           "eyeSlack": Decimal(1)}
    >>> found = rule([case, carrier], bounds)[1]
    >>> found.outcome.value, found.margin
    ('mates', Decimal('0.5'))
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, EXTERNAL_INTERNAL)
    grace = bound(tolerances, NAME, "centreDistance")
    travel = sum((end.number("slotLength") or Decimal(0) for end in (first, second)), Decimal(0))
    yield _centres("centreDistance", first, second, grace, travel / 2)
    if both_state("secondDistance", first, second):
        yield within("secondDistance", first, second, grace)
    if both_state("eyeWidth", first, second):
        slack = bound(tolerances, NAME, "eyeSlack")
        yield goes_into("eyeWidth", first, second, slack=slack)
    yield within("boltDiameter", first, second, bound(tolerances, NAME, "boltDiameter"))


def _centres(
    quantity: str, first: EndValues, second: EndValues, grace: Decimal, travel: Decimal
) -> Finding:
    finding = within(quantity, first, second, grace + travel)
    if not travel or finding.outcome is Outcome.UNPROVEN:
        return finding
    note = f"slots let the bolts stand {plain(travel)} mm off"
    return Finding(
        quantity,
        finding.outcome,
        finding.relation,
        finding.first,
        finding.second,
        finding.tolerance,
        finding.margin,
        note=note,
    )


KIND = Kind(
    NAME,
    rule,
    remedies=("bracket", "crossmember", "bush", "slot the holes"),
    near="centreDistance",
    slack="slotLength",
)
