"""Clearances of stepped profiles against a fine-toothed comb, and wheel sizes in inches.

Sources: [COMB] both profiles sampled between all their corners; the rest is common practice or
arithmetic, marked so.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.interfaces.kind import EndValues, Outcome, overall
from knockon.reasoner.interfaces.length import rule as length_rule
from knockon.reasoner.interfaces.profiles import (
    Step,
    largest_inner_radius,
    least_clearance,
    profile,
    sizes_that_clear,
)
from knockon.reasoner.interfaces.ratio import slip, stated_ratio
from knockon.reasoner.interfaces.signal import reading_error

D = Decimal

ROWS = st.lists(
    st.tuples(st.integers(-40, 40), st.integers(1, 30), st.integers(60, 120)),
    min_size=1,
    max_size=4,
)


def _steps(rows: list[tuple[int, int, int]], extra: int = 0) -> tuple[Step, ...]:
    return profile({"from": a, "to": a + w, "radius": r + extra} for a, w, r in rows)


def _comb(outer: tuple[Step, ...], inner: tuple[Step, ...]) -> Decimal | None:
    """Every half millimetre between the corners (which are whole numbers here)."""
    gaps = []
    for i in range(-200, 200):
        x = D(i) / 2 + D("0.25")
        around = [s.radius for s in outer if s.start <= x <= s.stop]
        within = [s.radius for s in inner if s.start <= x <= s.stop]
        if around and within:
            gaps.append(min(around) - max(within))
    return min(gaps, default=None)


@settings(deadline=None)
@given(ROWS, ROWS)
def test_the_least_clearance_is_the_one_a_comb_finds(
    outer: list[tuple[int, int, int]], inner: list[tuple[int, int, int]]
) -> None:
    around, within = _steps(outer, 20), _steps(inner)  # [COMB]
    found = least_clearance(around, within)
    assert (None if found is None else found.gap) == _comb(around, within)


def test_a_brake_that_must_take_16_inch_wheels_does_not_go_under_15() -> None:
    # Common practice: a wheel's barrel is its nominal size less about 32 mm of well and wall.
    calliper = profile([{"from": -20, "to": 60, "radius": 182}])
    wheels = {
        D(size): profile([{"from": -60, "to": 90, "radius": D(size) * D("25.4") / 2 - 16}])
        for size in (14, 15, 16, 17, 18)
    }
    assert sizes_that_clear(calliper, wheels, D(3))[0] == 16
    assert largest_inner_radius(wheels[D(15)], D(-20), D(60), D(3)) == D("171.5")


@pytest.mark.parametrize(("inches", "millimetres"), [(15, 381), (16, 406.4), (17, 431.8)])
def test_a_nominal_wheel_size_in_inches_is_that_in_millimetres(
    inches: int, millimetres: float
) -> None:
    assert inches * 25.4 == pytest.approx(millimetres)


@pytest.mark.parametrize(
    ("driven", "driving", "ratio"),
    # Common practice: crown wheel and pinion counts and the ratios they are sold as
    [
        (41, 10, "4.10"),
        (37, 9, "4.11"),
        (43, 10, "4.30"),
        (41, 11, "3.73"),
        (39, 11, "3.55"),
        (41, 9, "4.56"),
        (39, 8, "4.88"),
    ],
)
def test_crown_wheel_and_pinion_counts_give_the_ratio_on_the_tag(
    driven: int, driving: int, ratio: str
) -> None:
    counted = stated_ratio(EndValues("", {"drivenTeeth": driven, "drivingTeeth": driving}))
    assert counted is not None
    assert round(counted, 2) == D(ratio)


def test_4_10_against_4_30_slips_by_a_twentieth() -> None:
    # Arithmetic: 4.30 / 4.10 = 1.0488.
    assert slip(D("4.10"), D("4.30")) == pytest.approx(D("0.0488"), abs=D("0.0001"))


def test_a_gauge_for_four_pulses_on_a_sender_of_eight_reads_double() -> None:
    # Common practice.
    assert reading_error(D(8), D(4)) == 1


def test_a_shorter_propshaft_follows_a_longer_gearbox() -> None:
    # Common practice: the gearbox is so much longer, the shaft so much shorter.
    def outcome(gearbox: int, shaft: int) -> Outcome:
        ends = [
            EndValues("", {"length": 2000}, 1),
            EndValues("", {"length": gearbox}, -1),
            EndValues("", {"length": shaft, "plungeIn": 25, "plungeOut": 20}, -1),
        ]
        return overall(length_rule(ends, {"length": D(1)}))

    assert outcome(700, 1300) is Outcome.MATES
    assert outcome(780, 1300) is Outcome.CLASHES
    assert outcome(780, 1220) is Outcome.MATES
