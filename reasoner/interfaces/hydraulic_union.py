"""Hydraulic unions: brake and clutch pipes, hoses and cylinders."""

from __future__ import annotations

from collections.abc import Sequence

from .kind import EndValues, Finding, Kind, Tolerances, opposite, same
from .pairs import EXTERNAL_INTERNAL, two
from .threads import same_thread

NAME = "HydraulicUnion"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:  # noqa: ARG001
    """Whether the union screws in and seals: same thread and same seat, nothing near enough.

    >>> pipe = EndValues("external", {"thread": "M10x1", "unionSeat": "bubble flare"})
    >>> port = EndValues("internal", {"thread": "3/8-24 UNF", "unionSeat": "inverted flare"})
    >>> [(f.quantity, f.outcome.value) for f in rule([pipe, port], {})]
    [('side', 'mates'), ('thread', 'clashes'), ('unionSeat', 'clashes')]
    """
    first, second = two(ends, NAME)
    return (
        opposite(first, second, EXTERNAL_INTERNAL),
        same_thread(first, second),
        same("unionSeat", first, second),
    )


KIND = Kind(
    NAME,
    rule,
    remedies=("hose", "union adapter", "pipe made up with the other flare"),
    equal=("unionSeat",),
)
