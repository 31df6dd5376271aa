"""Envelopes: one part around another, such as a wheel over a calliper or a hat over shoes."""

from __future__ import annotations

from collections.abc import Sequence

from .kind import EndValues, Finding, Kind, Outcome, Relation, Tolerances, bound, opposite
from .pairs import plain, two
from .profiles import least_clearance, profile

NAME = "Envelope"
SIDES = ("outer", "inner")


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether the outer part clears the inner one all along the axis by the stated margin.

    >>> from decimal import Decimal
    >>> wheel = EndValues("outer", {"step": ({"from": -60, "to": 90, "radius": 174},)})
    >>> calliper = EndValues("inner", {"step": ({"from": -20, "to": 60, "radius": 182},)})
    >>> bounds = {"clearance": Decimal(3), "axialClearance": Decimal(0)}
    >>> rule([wheel, calliper], bounds)[-1].note
    'fouls by 8 mm from -20 to 60 mm along the axis: radius 174 mm over 182 mm'
    """
    first, second = two(ends, NAME)
    margin_wanted = bound(tolerances, NAME, "clearance")
    axial = bound(tolerances, NAME, "axialClearance")
    sides = opposite(first, second, SIDES)
    if sides.outcome is not Outcome.MATES:
        return (sides,)
    outer, inner = (first, second) if first.side == "outer" else (second, first)
    around, within = outer.records("step"), inner.records("step")
    if not around or not within:
        gap = Finding(
            "step", Outcome.UNPROVEN, Relation.CLEARS, tolerance=margin_wanted, needs="step"
        )
        return (sides, gap)
    try:
        tightest = least_clearance(profile(around), profile(within), axial)
    except ValueError as error:
        unread = Finding(
            "step",
            Outcome.UNPROVEN,
            Relation.CLEARS,
            tolerance=margin_wanted,
            needs="step",
            note=str(error),
        )
        return (sides, unread)
    if tightest is None:
        note = "they never stand at the same place along the axis"
        clear = Finding("step", Outcome.MATES, Relation.CLEARS, tolerance=margin_wanted, note=note)
        return (sides, clear)
    margin = tightest.gap - margin_wanted
    where = f"from {plain(tightest.start)} to {plain(tightest.stop)} mm along the axis"
    radii = f"radius {plain(tightest.outer_radius)} mm over {plain(tightest.inner_radius)} mm"
    clears = "fouls" if tightest.gap < 0 else "clears"
    note = f"{clears} by {plain(abs(tightest.gap))} mm {where}: {radii}"
    mine, other = tightest.outer_radius, tightest.inner_radius
    if first is inner:
        mine, other = other, mine
    return (
        sides,
        Finding(
            "step",
            Outcome.MATES if margin >= 0 else Outcome.CLASHES,
            Relation.CLEARS,
            mine,
            other,
            margin_wanted,
            margin,
            note=note,
        ),
    )


KIND = Kind(NAME, rule, remedies=("larger wheel", "wheel spacer", "smaller brake", "relieve"))
