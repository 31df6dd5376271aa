"""What holds of the geometry behind the rules: it can be turned round, and it keeps order."""

from __future__ import annotations

from decimal import Decimal
from math import cos, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.interfaces.chords import (
    COMMON_CIRCLES,
    chord,
    circle_from_chord,
    measuring_aid,
    possible_circles,
)
from knockon.reasoner.interfaces.involute import (
    Root,
    SplineSize,
    System,
    between_pins,
    geometry,
    inv,
    inverse_inv,
    module_of_pitch,
    over_pins,
    space_from_pins,
    thickness_from_pins,
    usual_pin,
)
from knockon.reasoner.interfaces.iso286 import FitCodeError, fit, limits, standard_tolerance
from knockon.reasoner.interfaces.profiles import least_clearance, profile, sizes_that_clear
from knockon.reasoner.interfaces.spacers import spacer_effect
from knockon.reasoner.interfaces.spline_sizes import by_major_diameter, by_pins
from knockon.reasoner.interfaces.spline_strength import engagement_for, tooth_bearing_stress
from knockon.reasoner.interfaces.straight_sided import identify_straight, straight_spline
from knockon.reasoner.interfaces.threads import (
    COARSE,
    proof_load,
    stress_area,
    thread,
    torque_estimate,
)

from .house import steps

TEETH = st.integers(8, 60)
MODULES = st.sampled_from([0.5, 1.0, 1.25, 2.0, 25.4 / 24, 25.4 / 16])
ANGLES = st.sampled_from([30.0, 37.5, 45.0])
SIZES = st.builds(SplineSize, TEETH, MODULES, ANGLES, st.just(Root.FILLET), st.sampled_from(System))


@given(st.floats(50, 400), st.integers(3, 10), st.data())
def test_a_chord_gives_its_circle_back(circle: float, bolts: int, data: st.DataObject) -> None:
    apart = data.draw(st.integers(1, bolts // 2))
    assert circle_from_chord(chord(circle, bolts, apart), bolts, apart) == pytest.approx(circle)


@given(st.integers(3, 10), st.floats(50, 400))
def test_the_measuring_aid_turns_what_it_tells_you_to_measure_into_the_circle(
    bolts: int, circle: float
) -> None:
    aid = measuring_aid(bolts)
    assert chord(circle, bolts, aid.apart) * aid.times == pytest.approx(circle)
    assert aid.straight_across is (bolts % 2 == 0)


@given(st.sampled_from(COMMON_CIRCLES), st.integers(3, 10), st.floats(-0.2, 0.2))
def test_a_reading_within_its_error_never_rules_out_the_true_circle(
    circle: Decimal, bolts: int, off: float
) -> None:
    reading = chord(float(circle), bolts) + off
    assert circle in {c.circle for c in possible_circles(bolts, reading, 0.2001)}


@given(st.floats(0.5, 80))
def test_the_involute_function_turns_round(angle: float) -> None:
    assert inverse_inv(inv(angle)) == pytest.approx(angle, abs=1e-7)


@given(SIZES, st.floats(0.97, 1.0))
def test_a_pin_measurement_gives_the_tooth_thickness_back(size: SplineSize, thin: float) -> None:
    tooth = geometry(size).tooth_thickness * thin
    pin = usual_pin(size, internal=False)
    assert thickness_from_pins(size, pin, over_pins(size, pin, tooth)) == pytest.approx(tooth)


@given(SIZES, st.floats(1.0, 1.03))
def test_a_measurement_between_pins_gives_the_space_back(size: SplineSize, wide: float) -> None:
    space = geometry(size).space_width * wide
    pin = usual_pin(size, internal=True)
    assert space_from_pins(size, pin, between_pins(size, pin, space)) == pytest.approx(space)


@given(SIZES, st.floats(0.001, 0.05))
def test_a_thinner_tooth_measures_less_over_pins(size: SplineSize, less: float) -> None:
    pin = usual_pin(size, internal=False)
    tooth = geometry(size).tooth_thickness
    assert over_pins(size, pin, tooth * (1 - less)) < over_pins(size, pin, tooth)


@given(SIZES)
def test_a_shaft_of_any_size_goes_into_the_hub_of_that_size(size: SplineSize) -> None:
    found = geometry(size)
    assert found.base < found.pitch < found.external_major < found.internal_major
    assert found.external_minor < found.external_form
    assert found.external_form <= found.internal_minor < found.pitch
    assert found.external_major <= found.internal_form <= found.internal_major + 1e-9 or (
        size.system is System.PITCH
    )


@given(st.sampled_from([1.0, 1.25, 2.0]), TEETH, ANGLES)
def test_a_standard_shaft_is_among_those_its_own_measurements_suggest(
    module: float, teeth: int, angle: float
) -> None:
    size = SplineSize(teeth, module, angle)
    assert size in {
        c.size for c in by_major_diameter(teeth, geometry(size).external_major - 0.05, 0.1)
    }
    pin = 1.92 * module
    assert size in {c.size for c in by_pins(teeth, pin, over_pins(size, pin) - 0.03, 0.1)}
    hub_pin = 1.728 * module
    measured = between_pins(size, hub_pin) + 0.03
    assert size in {c.size for c in by_pins(teeth, hub_pin, measured, 0.1, internal=True)}


@given(st.sampled_from([4, 6, 10, 16]), st.floats(15, 80))
def test_a_straight_spline_is_recognised_by_its_two_diameters(teeth: int, major: float) -> None:
    made = straight_spline(teeth, "B", major)
    assert identify_straight(teeth, major, made.minor, 0.01)[0].fit == "B"


@given(st.floats(2.5, 128))
def test_module_and_diametral_pitch_turn_into_one_another(pitch: float) -> None:
    assert 25.4 / module_of_pitch(pitch) == pytest.approx(pitch)


@given(st.floats(10, 2000), st.floats(20, 60), st.floats(20, 200))
def test_the_engagement_for_a_stress_gives_that_stress(
    torque: float, diameter: float, allowed: float
) -> None:
    length = engagement_for(torque, diameter, 30, 1.0, allowed, 0.75)
    stress = tooth_bearing_stress(torque, diameter, 30, 1.0, length, 0.75)
    assert stress == pytest.approx(allowed)


HOLES = st.sampled_from(["F7", "G7", "H6", "H7", "H8", "JS7", "K7", "M7", "N7", "P7"])
SHAFTS = st.sampled_from(["f7", "g6", "h6", "js6", "j6", "k6", "m6", "n6", "p6", "r6"])
NOMINAL = st.decimals("1", "500", places=1)


@given(NOMINAL, HOLES | SHAFTS)
def test_a_code_spans_exactly_its_grade(nominal: Decimal, code: str) -> None:
    found = limits(nominal, code)
    assert found.upper - found.lower == standard_tolerance(nominal, int(code[-1]))


@given(NOMINAL, HOLES, SHAFTS)
def test_a_fit_spans_both_tolerances(nominal: Decimal, hole: str, shaft: str) -> None:
    found = fit(nominal, hole, shaft)
    both = [standard_tolerance(nominal, int(code[-1])) for code in (hole, shaft)]
    assert found.most_clearance + found.most_interference == sum(both)
    assert found.least_clearance <= found.most_clearance


@pytest.mark.parametrize("code", ["Z7", "H", "q6", "H12", "J5", "j8", "K9", ""])
def test_a_code_that_is_not_known_is_refused_with_a_reason(code: str) -> None:
    with pytest.raises(FitCodeError):
        limits(Decimal(40), code)


def test_a_size_beyond_the_tables_is_refused() -> None:
    with pytest.raises(FitCodeError, match="up to 500"):
        limits(Decimal(501), "H7")


@given(st.sampled_from(sorted(COARSE)))
def test_a_coarse_thread_needs_no_pitch_in_its_name_and_its_name_reads_back(size: Decimal) -> None:
    plain = thread(f"M{size}")
    assert plain == thread(f"M{size}x{COARSE[size]}") == thread(str(plain))
    assert 0 < stress_area(plain) < pi / 4 * float(size) ** 2


@pytest.mark.parametrize("name", ["", "12x1.5", "M", "M12 fine", "7/16", "M11", "UNF 3/8"])
def test_what_is_no_thread_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match=r"thread|coarse"):
        thread(name)


def test_an_inch_thread_has_no_metric_property_class() -> None:
    with pytest.raises(ValueError, match="inch thread"):
        proof_load(thread("1/2-20"), "8.8")
    with pytest.raises(ValueError, match="no property class"):
        proof_load(thread("M12"), "11.9")


def test_a_torque_from_a_nut_factor_is_a_range_and_says_it_is_an_estimate() -> None:
    found = torque_estimate(thread("M12x1.5"), 40000, (0.12, 0.30))
    assert found.high == pytest.approx(2.5 * found.low)
    assert found.label.startswith("estimate only")


@given(st.decimals(-50, 80, places=1), st.decimals(0, 60, places=1))
def test_a_spacer_moves_the_wheel_out_by_its_thickness_on_each_side(
    offset: Decimal, thickness: Decimal
) -> None:
    found = spacer_effect(offset, thickness)
    assert offset - found.offset == thickness == found.track_change / 2


@given(
    st.lists(
        st.tuples(st.integers(-50, 50), st.integers(1, 40), st.integers(50, 200)),
        min_size=1,
        max_size=4,
    )
)
def test_a_part_always_clears_itself_shrunk(rows: list[tuple[int, int, int]]) -> None:
    outer = profile(steps(*((a, a + w, r) for a, w, r in rows)))
    radius = min(s.radius for s in outer)
    inner = profile(steps(*((a, a + w, float(radius) - 5) for a, w, _ in rows)))
    found = least_clearance(outer, inner)
    assert found is not None
    assert found.gap == 5


def test_a_larger_wheel_that_is_the_same_but_wider_clears_what_the_smaller_one_does() -> None:
    calliper = profile(steps((-20, 60, 182)))
    wheels = {Decimal(s): profile(steps((-60, 90, s * 12.7 - 16))) for s in (14, 15, 16, 17, 18)}
    assert sizes_that_clear(calliper, wheels, Decimal(3)) == (16, 17, 18)
    assert sizes_that_clear(calliper, wheels, Decimal(7)) == (17, 18)


def test_odd_counts_stand_short_of_straight_across_by_the_half_step() -> None:
    for bolts in (3, 5, 7, 9):
        longest = chord(100.0, bolts, bolts // 2)
        assert longest == pytest.approx(100 * cos(pi / 2 / bolts))
