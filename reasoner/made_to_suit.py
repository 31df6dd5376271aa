"""Values of an end that are made to suit what it meets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from .catalogue import End, OpenValue
from .interfaces.kind import EndValues, Finding, Outcome, Relation, Value


def make_to_suit(
    kind: str, ends: Sequence[End], values: list[EndValues]
) -> tuple[list[EndValues], tuple[tuple[str, str, Value], ...], tuple[Finding, ...]]:
    """Fill values that are made to suit from what they meet; refuse what cannot be made."""
    made: list[tuple[str, str, Value]] = []
    refused: list[Finding] = []
    for at, end in enumerate(ends):
        for open_value in end.open:
            wanted = (
                _closing_length(values, at)
                if kind == "Length" and open_value.quantity == "length"
                else next(
                    (
                        v.values[open_value.quantity]
                        for i, v in enumerate(values)
                        if i != at and open_value.quantity in v.values
                    ),
                    None,
                )
            )
            if wanted is None:
                continue
            if not _can_make(open_value, wanted):
                refused.append(_cannot_make(open_value, wanted))
            made.append((end.iri, open_value.quantity, wanted))
            filled = {**values[at].values, open_value.quantity: wanted}
            values[at] = replace(values[at], values=filled)
    return values, tuple(made), tuple(refused)


def _closing_length(values: Sequence[EndValues], at: int) -> Decimal | None:
    total = Decimal(0)
    for i, other in enumerate(values):
        if i != at:
            length = other.number("length")
            if length is None:
                return None
            total += other.sign * length
    return -total * values[at].sign


def _can_make(open_value: OpenValue, wanted: Value) -> bool:
    if open_value.one_of:
        return any(str(wanted) == str(choice) for choice in open_value.one_of)
    if not isinstance(wanted, (int, Decimal)):
        return open_value.least is None and open_value.most is None
    above = open_value.least is None or wanted >= open_value.least
    return above and (open_value.most is None or wanted <= open_value.most)


def _cannot_make(open_value: OpenValue, wanted: Value) -> Finding:
    number = Decimal(wanted) if isinstance(wanted, (int, Decimal)) else None
    bound, relation = open_value.most, Relation.AT_MOST
    if number is not None and open_value.least is not None and number < open_value.least:
        bound, relation = open_value.least, Relation.AT_LEAST
    return Finding(
        open_value.quantity,
        Outcome.CLASHES,
        relation,
        number if number is not None else str(wanted),
        bound,
        note="cannot be made to this",
    )
