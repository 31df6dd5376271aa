import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.half_shaft import (
    Bound,
    crawl_ratio,
    driveline_torque_nm,
    grip_torque_nm,
    half_shaft_demand,
)

shares = st.floats(0.05, 1)


@given(st.floats(50, 800), st.floats(1, 7), st.floats(1, 4), st.floats(2.5, 6))
def test_four_half_shafts_share_the_whole_torque(
    engine: float, gear: float, low: float, final: float
) -> None:
    one = driveline_torque_nm(engine, gear, low, final)
    assert 4 * one == pytest.approx(engine * crawl_ratio(gear, low, final))


@given(shares, shares)
def test_a_larger_share_never_loads_a_shaft_less(one: float, two: float) -> None:
    small, large = sorted((one, two))
    assert driveline_torque_nm(300, 4, 2.5, 4.1, axle_share=small) <= driveline_torque_nm(
        300, 4, 2.5, 4.1, axle_share=large
    )


@given(st.floats(1, 9000), st.floats(1, 9000))
def test_the_smaller_bound_governs(driveline: float, grip: float) -> None:
    demand = half_shaft_demand(driveline, grip)
    assert demand.torque_nm == min(driveline, grip)
    assert (demand.governed_by is Bound.GRIP) == (grip < driveline)


def test_without_a_wheel_load_the_driveline_governs() -> None:
    demand = half_shaft_demand(3075)
    assert demand.torque_nm == 3075
    assert demand.governed_by is Bound.DRIVELINE


def test_a_locked_axle_with_a_wheel_in_the_air_doubles_the_torque() -> None:
    open_axle = driveline_torque_nm(300, 4, 2.5, 4.1)
    locked = driveline_torque_nm(300, 4, 2.5, 4.1, shaft_share=1)
    assert locked == pytest.approx(2 * open_axle)


def test_values_out_of_range_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="shaft_share is 0"):
        driveline_torque_nm(300, 4, 2.5, 4.1, shaft_share=0)
    with pytest.raises(ValueError, match="friction is 5"):
        grip_torque_nm(700, 365, friction=5)
