import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.track import (
    Corner,
    WheelPlace,
    offset_with_spacer,
    scrub_radius_change,
    track_from_corners,
    track_from_faces,
    wheel_move,
)

offsets = st.integers(-60, 60).map(float)
spacers = st.integers(0, 50).map(float)
places = st.builds(WheelPlace, st.sampled_from([5.5, 6.0, 7.0, 8.0, 10.0]), offsets, spacers)


@given(places, places)
def test_a_change_of_wheel_and_back_moves_nothing(first: WheelPlace, second: WheelPlace) -> None:
    there, back = wheel_move(first, second), wheel_move(second, first)
    assert there.outward_mm == pytest.approx(-back.outward_mm)
    assert there.inward_mm == pytest.approx(-back.inward_mm)
    assert there.track_mm == -back.track_mm


@given(places, places)
def test_what_a_rim_gains_in_width_goes_out_or_in(first: WheelPlace, second: WheelPlace) -> None:
    move = wheel_move(first, second)
    wider = (second.rim_width_in - first.rim_width_in) * 25.4
    assert move.outward_mm + move.inward_mm == pytest.approx(wider)


@given(places, places)
def test_track_grows_as_the_rim_s_middle_moves_out(first: WheelPlace, second: WheelPlace) -> None:
    move = wheel_move(first, second)
    assert move.outward_mm - move.inward_mm == pytest.approx(move.track_mm)


@given(offsets, spacers)
def test_a_spacer_widens_the_track_by_twice_its_thickness(offset: float, spacer: float) -> None:
    wider = track_from_faces(1500, offset, spacer) - track_from_faces(1500, offset)
    assert wider == pytest.approx(2 * spacer)


@given(offsets, spacers)
def test_a_spacer_is_as_good_as_less_offset(offset: float, spacer: float) -> None:
    with_spacer = track_from_faces(1500, offset, spacer)
    assert track_from_faces(1500, offset_with_spacer(offset, spacer)) == with_spacer


def test_longer_arms_widen_the_track_by_twice_their_difference() -> None:
    narrow, wide = Corner(350, 120, 40), Corner(385, 120, 40)
    assert track_from_corners(620, wide) - track_from_corners(620, narrow) == 70


def test_sides_that_differ_are_added_up_each_for_itself() -> None:
    left, right = Corner(350, 120, 40), Corner(350, 120, 40, spacer_mm=5)
    assert track_from_corners(620, left, right) == 1485


def test_a_drooping_arm_draws_the_wheel_in() -> None:
    level, drooping = Corner(350, 120, 40), Corner(350, 120, 40, arm_angle_deg=20)
    assert drooping.reach_mm < level.reach_mm


def test_moving_the_wheel_out_adds_as_much_scrub() -> None:
    assert scrub_radius_change(20, 12) == 20


def test_a_negative_spacer_is_refused() -> None:
    with pytest.raises(ValueError, match="spacer_mm is -5 mm"):
        WheelPlace(7, 40, -5)
