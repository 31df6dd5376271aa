"""Lengths: a chain of positions, and of what fills the space between them.

What makes space (the positions of faces) has sign +1, what fills it has sign -1. The chain closes
when what is left over, taken with its sign, lies within the plunge: too little space must be
taken up by plunging in, too much by plunging out.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from .kind import EndValues, Finding, Kind, Outcome, Relation, Span, Tolerances, bound
from .pairs import plain

NAME = "Length"


def left_over(ends: Sequence[EndValues]) -> Decimal | None:
    """Space less filling, in mm; None while any length is unknown. Positive: too short a shaft."""
    lengths = [end.number("length") for end in ends]
    if None in lengths:
        return None
    return sum(
        (end.sign * length for end, length in zip(ends, lengths, strict=True) if length),
        Decimal(0),
    )


def closing_length(ends: Sequence[EndValues], member: int) -> Decimal | None:
    """The length that closes the chain in mid-plunge, for the member at that index.

    This is what a shaft made to measure is made to. None while another length is unknown.

    >>> space = EndValues("", {"length": 1250}, 1)
    >>> flange = EndValues("", {"length": 42}, -1)
    >>> closing_length([space, flange, EndValues("", {}, -1)], 2)
    Decimal('1208')
    """
    others = left_over([end for index, end in enumerate(ends) if index != member])
    return None if others is None else -ends[member].sign * others


def span(end: EndValues) -> Span | None:
    """The space an end makes (or, below 0, fills), plunged out and plunged in.

    >>> span(EndValues("", {"length": 1290, "plungeIn": 25, "plungeOut": 20}, -1))
    (Decimal('-1310'), Decimal('-1265'))
    """
    length = end.number("length")
    if length is None:
        return None
    inwards, outwards = (end.number(q) or Decimal(0) for q in ("plungeIn", "plungeOut"))
    return end.sign * length - outwards, end.sign * length + inwards


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the chain closes within plunge.

    >>> space = EndValues("", {"length": 1250}, 1)
    >>> shaft = EndValues("", {"length": 1290, "plungeIn": 25, "plungeOut": 20}, -1)
    >>> rule([space, shaft], {"length": Decimal(1)})[0].note
    'too long by 40 mm, and the plunge inwards takes 25: 14 mm beyond what is allowed'
    """
    grace = bound(tolerances, NAME, "length")
    space = _total(ends, 1)
    filling = _total(ends, -1)
    if space is None or filling is None:
        return (
            Finding(
                "length",
                Outcome.UNPROVEN,
                Relation.CLOSES,
                space,
                filling,
                grace,
                needs="length",
            ),
        )
    inwards = sum((end.number("plungeIn") or Decimal(0) for end in ends), Decimal(0))
    outwards = sum((end.number("plungeOut") or Decimal(0) for end in ends), Decimal(0))
    gap = space - filling
    margin = min(gap + inwards, outwards - gap) + grace
    outcome = Outcome.MATES if margin >= 0 else Outcome.CLASHES
    note = _words(gap, inwards, outwards, margin)
    return (Finding("length", outcome, Relation.CLOSES, space, filling, grace, margin, note=note),)


def _total(ends: Sequence[EndValues], sign: int) -> Decimal | None:
    lengths = [end.number("length") for end in ends if end.sign == sign]
    known = [length for length in lengths if length is not None]
    return sum(known, Decimal(0)) if len(known) == len(lengths) else None


def _words(gap: Decimal, inwards: Decimal, outwards: Decimal, margin: Decimal) -> str:
    if gap == 0:
        return "closes in mid-plunge"
    short, way, take = ("short", "outwards", outwards) if gap > 0 else ("long", "inwards", inwards)
    text = f"too {short} by {plain(abs(gap))} mm, and the plunge {way} takes {plain(take)}"
    if margin >= 0:
        return f"{plain(abs(gap))} mm {short}, taken up by plunge {way}"
    return f"{text}: {plain(-margin)} mm beyond what is allowed"


KIND = Kind(
    NAME,
    rule,
    remedies=("made to measure", "shorten or lengthen the shaft", "spacer"),
    span=span,
)
