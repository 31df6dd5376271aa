import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.clutch import (
    Facing,
    clamp_at_peak_pressure_n,
    clamp_needed_n,
    clutch_capacity,
    mean_pressure_mpa,
    worn_peak_pressure_mpa,
)

facings = st.builds(
    lambda outer, share: Facing(outer, outer * share), st.floats(120, 400), st.floats(0.3, 0.95)
)
loads = st.floats(500, 20000)
frictions = st.floats(0.1, 0.6)


@given(facings, loads, frictions)
def test_a_worn_clutch_never_holds_more_than_a_new_one(
    facing: Facing, load: float, friction: float
) -> None:
    capacity = clutch_capacity(facing, load, friction)
    assert capacity.worn_nm <= capacity.new_nm


@given(facings, loads, frictions, st.integers(1, 6))
def test_clamp_load_and_torque_undo_each_other(
    facing: Facing, load: float, friction: float, faces: int
) -> None:
    torque = clutch_capacity(facing, load, friction, faces).worn_nm
    assert clamp_needed_n(facing, torque, friction, faces) == pytest.approx(load)


@given(facings, loads)
def test_clamp_load_and_peak_pressure_undo_each_other(facing: Facing, load: float) -> None:
    peak = worn_peak_pressure_mpa(facing, load)
    assert clamp_at_peak_pressure_n(facing, peak) == pytest.approx(load)
    assert peak > mean_pressure_mpa(facing, load)


@given(facings, loads, frictions)
def test_two_plates_hold_twice_as_much(facing: Facing, load: float, friction: float) -> None:
    one, two = (clutch_capacity(facing, load, friction, faces) for faces in (2, 4))
    assert two.worn_nm == pytest.approx(2 * one.worn_nm)


def test_a_clutch_that_just_holds_has_no_reserve_for_a_factor() -> None:
    capacity = clutch_capacity(Facing(240, 160), 5500, 0.3)
    assert capacity.holds(capacity.worn_nm, 1)
    assert not capacity.holds(capacity.worn_nm, 1.1)


def test_a_facing_inside_out_is_refused() -> None:
    with pytest.raises(ValueError, match="inner_mm is 240 mm: it must be less than outer_mm"):
        Facing(160, 240)


def test_a_clutch_without_faces_or_friction_is_refused() -> None:
    with pytest.raises(ValueError, match="faces is 0"):
        clutch_capacity(Facing(240, 160), 5500, 0.3, faces=0)
    with pytest.raises(ValueError, match="friction is 3"):
        clutch_capacity(Facing(240, 160), 5500, 3)
    with pytest.raises(ValueError, match=r"service_factor is 0.5"):
        clutch_capacity(Facing(240, 160), 5500, 0.3).holds(100, 0.5)
