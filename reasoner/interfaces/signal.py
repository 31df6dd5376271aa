"""Signals: what a sender makes and a gauge or control unit uses.

That every sink has one source, and what becomes of an unused port, is the build's affair; here
one source meets one sink.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from .kind import (
    EndValues,
    Finding,
    Kind,
    Outcome,
    Relation,
    Tolerances,
    bound,
    opposite,
    same,
)
from .pairs import both_state, plain, receiving, two

NAME = "Signal"
SIDES = ("signalSource", "signalSink")


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the sink understands the source. The tolerance on pulses is a share.

    >>> sender = EndValues("signalSource", {"signalQuantity": "vehicle speed",
    ...                                     "signalForm": "pulse", "pulsesPerTurn": 8})
    >>> gauge = EndValues("signalSink", {"signalQuantity": "vehicle speed",
    ...                                  "signalForm": "pulse", "pulsesPerTurn": 4})
    >>> rule([sender, gauge], {"pulsesPerTurn": Decimal("0.02")})[-1].note
    'the reading would be 100 % high'
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def reading_error(source_pulses: Decimal, sink_pulses: Decimal) -> Decimal:
    """By what share a gauge that expects `sink_pulses` a turn misreads `source_pulses`.

    >>> reading_error(Decimal(8), Decimal(10))
    Decimal('-0.2')
    """
    return source_pulses / sink_pulses - 1


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, SIDES)
    yield same("signalQuantity", first, second)
    yield same("signalForm", first, second)
    if both_state("pulsesPerTurn", first, second):
        yield _pulses(first, second, bound(tolerances, NAME, "pulsesPerTurn"))


def _pulses(first: EndValues, second: EndValues, share: Decimal) -> Finding:
    a, b = first.number("pulsesPerTurn"), second.number("pulsesPerTurn")
    if not a or not b:
        return Finding(
            "pulsesPerTurn", Outcome.UNPROVEN, Relation.WITHIN, a, b, share, needs="pulsesPerTurn"
        )
    facing = receiving(first, second, "signalSink")
    error = Decimal(0) if facing is None else reading_error(b if facing else a, a if facing else b)
    # The larger of the two ways of taking the share, so that the order of the ends is nothing.
    margin = share - abs(a - b) / min(a, b)
    note = ""
    if error:
        direction = "high" if error > 0 else "low"
        note = f"the reading would be {plain(abs(error) * 100, 1)} % {direction}"
    outcome = Outcome.MATES if margin >= 0 else Outcome.CLASHES
    return Finding("pulsesPerTurn", outcome, Relation.WITHIN, a, b, share, margin, note=note)


KIND = Kind(
    NAME,
    rule,
    remedies=("converter", "sender of the other form", "gauge"),
    equal=("signalQuantity", "signalForm"),
)
