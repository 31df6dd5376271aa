"""Bores and seats: bearings, pilots and bushes on shafts and in housings, by ISO 286 codes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from .iso286 import FitCodeError, FitRange, fit
from .kind import (
    EndValues,
    Finding,
    Kind,
    Outcome,
    Relation,
    Tolerances,
    bound,
    opposite,
    within,
)
from .pairs import EXTERNAL_INTERNAL, plain, receiving, two

NAME = "BoreSeat"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the loosest and tightest cases of the two codes stay within what is allowed.

    >>> shaft = EndValues("external", {"diameter": 40, "fitCode": "k6"})
    >>> housing = EndValues("internal", {"diameter": 40, "fitCode": "H7"})
    >>> bounds = {"diameter": Decimal(0), "seatClearance": Decimal("0.15"),
    ...           "seatInterference": Decimal("0.1")}
    >>> rule([shaft, housing], bounds)[-1].note
    'transition fit: from 0.023 clearance to 0.018 interference'
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, EXTERNAL_INTERNAL)
    size = within("diameter", first, second, bound(tolerances, NAME, "diameter"))
    yield size
    yield _fit_code(first, second, size.outcome, tolerances)


def _fit_code(
    first: EndValues, second: EndValues, size: Outcome, tolerances: Tolerances
) -> Finding:
    loosest = bound(tolerances, NAME, "seatClearance")
    tightest = bound(tolerances, NAME, "seatInterference")
    a, b = first.word("fitCode"), second.word("fitCode")
    silent = Finding("fitCode", Outcome.UNPROVEN, Relation.WITHIN, a, b, needs="fitCode")
    diameters = first.number("diameter"), second.number("diameter")
    first_receives = receiving(first, second)
    if a is None or b is None or first_receives is None or None in diameters:
        return silent
    if size is Outcome.CLASHES:
        # Codes of different nominal sizes say nothing; the sizes have decided already.
        return Finding("fitCode", Outcome.UNPROVEN, Relation.WITHIN, a, b, needs="diameter")
    hole, shaft = (0, 1) if first_receives else (1, 0)
    codes = (a, b)
    sizes = (diameters[0] or Decimal(0), diameters[1] or Decimal(0))
    try:
        found = fit(sizes[hole], codes[hole], codes[shaft], shaft_nominal=sizes[shaft])
    except FitCodeError as error:
        return replace(silent, note=str(error))
    margin = min(loosest - found.most_clearance, tightest - found.most_interference)
    outcome = Outcome.MATES if margin >= 0 else Outcome.CLASHES
    return Finding(
        "fitCode", outcome, Relation.WITHIN, a, b, None, margin, note=_words(found, loosest)
    )


def _words(found: FitRange, loosest: Decimal) -> str:
    if found.most_interference <= 0:
        low, high = plain(found.least_clearance), plain(found.most_clearance)
        text = f"clearance fit: {low} to {high} clearance"
    elif found.most_clearance <= 0:
        low, high = plain(-found.most_clearance), plain(found.most_interference)
        text = f"interference fit: {low} to {high} interference"
    else:
        text = (
            f"transition fit: from {plain(found.most_clearance)} clearance"
            f" to {plain(found.most_interference)} interference"
        )
    return text if found.most_clearance <= loosest else f"{text}, too loose to seat"


KIND = Kind(
    NAME,
    rule,
    remedies=("bush", "sleeve", "bearing of another size", "machine the seat"),
    near="diameter",
)
