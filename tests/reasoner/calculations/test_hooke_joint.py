from math import cos, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.hooke_joint import (
    angle_for_nonuniformity,
    compound_angle_deg,
    driven_turn_deg,
    equivalent_angle_deg,
    largest_angle_deg,
    peak_acceleration,
    speed_ratio,
    speed_swing,
    two_joint_swing,
)

angles = st.floats(0, 45)
turns = st.floats(-720, 720)


@given(angles, turns)
def test_the_speed_stays_within_its_swing(angle: float, turn: float) -> None:
    swing = speed_swing(angle)
    assert swing.least - 1e-12 <= speed_ratio(angle, turn) <= swing.most + 1e-12


@given(st.floats(0, 80))
def test_angle_and_nonuniformity_undo_each_other(angle: float) -> None:
    back = angle_for_nonuniformity(speed_swing(angle).nonuniformity)
    assert back == pytest.approx(angle, abs=1e-5)


@given(st.floats(1, 44))
def test_a_larger_angle_swings_more(angle: float) -> None:
    assert speed_swing(angle + 1).nonuniformity > speed_swing(angle).nonuniformity
    assert peak_acceleration(angle + 1, 2000) > peak_acceleration(angle, 2000)


@given(angles, st.integers(-8, 8))
def test_both_shafts_agree_every_quarter_turn(angle: float, quarters: int) -> None:
    assert driven_turn_deg(angle, 90.0 * quarters) == pytest.approx(90 * quarters, abs=1e-9)


@given(angles, turns)
def test_a_joint_is_never_more_than_a_few_degrees_off(angle: float, turn: float) -> None:
    assert abs(driven_turn_deg(angle, turn) - turn) < 10


@given(angles)
def test_equal_angles_in_phase_cancel(angle: float) -> None:
    assert two_joint_swing(angle, angle).nonuniformity == pytest.approx(0, abs=1e-12)
    assert equivalent_angle_deg(angle, angle) == pytest.approx(0, abs=1e-5)


@given(angles, angles, st.floats(0, 90))
def test_yokes_further_out_of_phase_never_swing_less(
    first: float, second: float, twist: float
) -> None:
    in_phase = two_joint_swing(first, second).nonuniformity
    out = two_joint_swing(first, second, twist).nonuniformity
    across = two_joint_swing(first, second, 90).nonuniformity
    assert in_phase - 1e-9 <= out <= across + 1e-9


@given(angles)
def test_one_straight_joint_leaves_the_other_as_it_is(angle: float) -> None:
    assert equivalent_angle_deg(angle, 0) == pytest.approx(angle, abs=1e-5)
    assert equivalent_angle_deg(0, angle, 33) == pytest.approx(angle, abs=1e-5)


@given(angles, angles)
def test_cosines_divide_in_phase_and_multiply_across(first: float, second: float) -> None:
    small, large = sorted((cos(radians(first)), cos(radians(second))))
    assert two_joint_swing(first, second).least == pytest.approx(small / large)
    assert two_joint_swing(first, second, 90).least == pytest.approx(small * large)


def test_a_straight_joint_does_not_accelerate() -> None:
    assert peak_acceleration(0, 5000) == 0


@given(st.floats(1000, 6000))
def test_the_largest_angle_just_reaches_the_limit(speed: float) -> None:
    angle = largest_angle_deg(speed)
    assert peak_acceleration(angle, speed) <= 1000
    assert peak_acceleration(angle + 0.01, speed) > 1000


def test_a_slow_joint_is_bounded_by_its_own_reach() -> None:
    assert largest_angle_deg(100, mechanical_limit_deg=30) == 30


@given(st.floats(-40, 40), st.floats(-40, 40))
def test_the_true_angle_is_at_least_either_view(side: float, plan: float) -> None:
    true = compound_angle_deg(side, plan)
    assert true >= max(abs(side), abs(plan)) - 1e-9


@pytest.mark.parametrize("angle", [-1.0, 81.0])
def test_an_angle_no_joint_bends_to_is_refused(angle: float) -> None:
    with pytest.raises(ValueError, match=f"angle_deg is {angle} deg: .* from 0 deg to 80.0 deg"):
        speed_swing(angle)
