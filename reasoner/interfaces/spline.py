"""Splines: teeth on a shaft in teeth of a hub.

Involute splines (ISO 4156, ANSI B92.1) meet when tooth count, module and pressure angle are the
same; straight-sided ones when tooth count and both diameters are. The flanks then carry as far
along the shaft as both parts have teeth, which must be as long as either of them needs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .kind import (
    EndValues,
    Finding,
    Kind,
    Outcome,
    Relation,
    Tolerances,
    at_least,
    bound,
    opposite,
    same,
    within,
)
from .pairs import EXTERNAL_INTERNAL, both_state, goes_into, two

NAME = "Spline"
INVOLUTE, STRAIGHT = "involute", "straight"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether two splines slide together and carry over enough length.

    >>> from decimal import Decimal
    >>> shaft = EndValues("external", {"teeth": 27, "module": 1, "pressureAngle": 30})
    >>> hub = EndValues("internal", {"teeth": 30, "module": 1, "pressureAngle": 30})
    >>> found = rule([shaft, hub], {"module": Decimal("0.005"), "pressureAngle": Decimal("0.1")})
    >>> [(f.quantity, f.outcome.value) for f in found]  # doctest: +NORMALIZE_WHITESPACE
    [('side', 'mates'), ('teeth', 'clashes'), ('splineForm', 'mates'), ('module', 'mates'),
     ('pressureAngle', 'mates')]
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, EXTERNAL_INTERNAL)
    yield same("teeth", first, second)
    # A spline of which nobody says the form is an involute one: so are nearly all of them.
    forms = [end.word("splineForm") or INVOLUTE for end in (first, second)]
    alike = Outcome.MATES if forms[0] == forms[1] else Outcome.CLASHES
    yield Finding("splineForm", alike, Relation.SAME, forms[0], forms[1])
    if STRAIGHT in forms:
        for quantity in ("majorDiameter", "minorDiameter"):
            yield within(quantity, first, second, bound(tolerances, NAME, quantity))
    else:
        for quantity in ("module", "pressureAngle"):
            yield within(quantity, first, second, bound(tolerances, NAME, quantity))
        for quantity in ("majorDiameter", "minorDiameter"):
            if both_state(quantity, first, second):
                grace = bound(tolerances, NAME, quantity)
                yield goes_into(quantity, first, second, grace=grace)
    if both_state("fitClass", first, second):
        yield _fit_class(first, second)
    yield from _engagement(first, second)


def _fit_class(first: EndValues, second: EndValues) -> Finding:
    """Classes of different grade still go together; what they change is the play."""
    a, b = first.word("fitClass") or "", second.word("fitClass") or ""
    letters = {word.lstrip("0123456789") for word in (a, b)} - {"", "H"}
    note = ""
    if letters & {"k", "js", "m", "n"}:
        note = "a tight class: expect to press it on"
    elif _grade(a) != _grade(b):
        note = f"grades {_grade(a)} and {_grade(b)}: the coarser one sets the play"
    return Finding("fitClass", Outcome.MATES, Relation.WITHIN, a, b, note=note)


def _grade(fit_class: str) -> str:
    return fit_class.rstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")


def _engagement(first: EndValues, second: EndValues) -> Iterator[Finding]:
    needed = [n for end in (first, second) if (n := end.number("engagementNeeded")) is not None]
    if not needed:
        return
    offered = [n for end in (first, second) if (n := end.number("engagement")) is not None]
    # The shorter one limits the contact; one that is silent does not.
    yield at_least("engagement", min(offered, default=None), max(needed), needs="engagement")


KIND = Kind(
    NAME,
    rule,
    remedies=("flange or sub-part with the other spline", "made to measure"),
    equal=("teeth",),
)
