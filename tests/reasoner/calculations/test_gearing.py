from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.gearing import (
    engine_speed_rpm,
    final_drive_to_suit,
    overall_ratio,
    propshaft_speed_rpm,
    ratio_of_teeth,
    road_speed_kmh,
)

ratios = st.floats(0.5, 7)
circumferences = st.floats(1200, 3500)


@given(st.floats(0.1, 250), circumferences, ratios, ratios, ratios)
def test_engine_speed_and_road_speed_undo_each_other(
    speed: float, circumference: float, gear: float, final: float, transfer: float
) -> None:
    engine = engine_speed_rpm(speed, circumference, gear, final, transfer)
    assert road_speed_kmh(engine, circumference, gear, final, transfer) == pytest.approx(speed)


@given(st.floats(1, 250), circumferences, ratios, ratios)
def test_a_lower_gear_turns_the_engine_faster(
    speed: float, circumference: float, gear: float, final: float
) -> None:
    high = engine_speed_rpm(speed, circumference, gear, final)
    assert engine_speed_rpm(speed, circumference, gear * 1.3, final) > high


@given(st.floats(1, 250), circumferences, ratios)
def test_in_direct_gear_the_propshaft_turns_with_the_engine(
    speed: float, circumference: float, final: float
) -> None:
    engine = engine_speed_rpm(speed, circumference, 1, final)
    assert propshaft_speed_rpm(speed, circumference, final) == pytest.approx(engine)


@given(ratios, circumferences, circumferences)
def test_the_suited_final_drive_keeps_engine_speed(
    final: float, before: float, after: float
) -> None:
    suited = final_drive_to_suit(final, before, after)
    was = engine_speed_rpm(100, before, 1, final)
    assert engine_speed_rpm(100, after, 1, suited) == pytest.approx(was)


def test_a_path_is_the_product_of_its_ratios() -> None:
    assert overall_ratio(ratio_of_teeth(41, 10), 2.5, 4) == pytest.approx(41)


@pytest.mark.parametrize("ratio", [0.0, -3.9, nan, inf])
def test_a_ratio_that_is_none_is_refused_by_name(ratio: float) -> None:
    with pytest.raises(ValueError, match=f"final_drive is {ratio}"):
        engine_speed_rpm(100, 1927, 1, ratio)


def test_a_path_without_ratios_is_refused() -> None:
    with pytest.raises(ValueError, match="ratios is empty"):
        overall_ratio()


def test_a_negative_road_speed_is_refused() -> None:
    with pytest.raises(ValueError, match=r"speed_kmh is -5 km/h: .* 0 km/h or more"):
        engine_speed_rpm(-5, 1927, 1, 3.9)
