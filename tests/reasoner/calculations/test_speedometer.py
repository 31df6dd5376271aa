import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.speedometer import (
    SpeedDrive,
    driven_gear,
    speedometer_error,
    tyre_change_error,
    un_r39_limits,
)

circumferences = st.floats(1200, 3500)
ratios = st.floats(2.5, 6)
drives = st.builds(SpeedDrive, st.integers(1, 60).map(float), ratios, circumferences)


@given(drives)
def test_nothing_changed_means_no_error(drive: SpeedDrive) -> None:
    assert speedometer_error(drive, drive).percent == pytest.approx(0, abs=1e-9)


@given(drives, drives, st.floats(0, 250))
def test_reading_and_true_speed_undo_each_other(
    was: SpeedDrive, now: SpeedDrive, speed: float
) -> None:
    error = speedometer_error(was, now)
    assert error.true_kmh(error.shown_kmh(speed)) == pytest.approx(speed)


@given(drives, drives)
def test_the_converter_puts_the_reading_right(was: SpeedDrive, now: SpeedDrive) -> None:
    converted = now.counts_per_km * speedometer_error(was, now).converter_ratio
    assert speedometer_error(was, converted).percent == pytest.approx(0, abs=1e-9)


@given(circumferences, circumferences, ratios)
def test_a_tyre_change_is_the_same_whether_counted_or_compared(
    before: float, after: float, ratio: float
) -> None:
    counted = speedometer_error(SpeedDrive(4, ratio, before), SpeedDrive(4, ratio, after))
    assert counted.factor == pytest.approx(tyre_change_error(before, after).factor)


def test_taller_tyres_make_the_speedometer_read_low() -> None:
    assert tyre_change_error(1927, 2014).percent < 0


def test_a_lower_final_drive_makes_a_gearbox_sensor_read_high() -> None:
    error = speedometer_error(SpeedDrive(8, 3.545, 1927), SpeedDrive(8, 3.9, 1927))
    assert error.percent == pytest.approx(10.01, abs=0.01)


def test_a_final_drive_leaves_a_wheel_sensor_alone() -> None:
    sensor = SpeedDrive(48, 1, 1927)
    assert speedometer_error(sensor, sensor).factor == 1


def test_half_the_pulses_show_half_the_speed() -> None:
    error = speedometer_error(SpeedDrive(8, 3.9, 1927), SpeedDrive(4, 3.9, 1927))
    assert error.shown_kmh(100) == pytest.approx(50)


@given(st.integers(4, 12), ratios, circumferences, st.floats(500, 900))
def test_the_nearest_driven_gear_errs_by_half_a_tooth_at_most(
    driving: int, ratio: float, circumference: float, cable: float
) -> None:
    gear = driven_gear(driving, ratio, circumference, cable)
    assert abs(gear.exact_teeth - gear.teeth) <= 0.5
    assert gear.error.factor == pytest.approx(gear.exact_teeth / gear.teeth)


def test_a_driven_gear_without_a_tooth_is_refused() -> None:
    with pytest.raises(ValueError, match="cable_turns_per_km is 90000 rev/km"):
        driven_gear(1, 3.9, 1927, 90000)


def test_a_speedometer_may_never_read_low() -> None:
    limits = un_r39_limits(50)
    assert not limits.allows(49.9)
    assert limits.allows(50)
    assert limits.allows(59)
    assert not limits.allows(59.1)


@pytest.mark.parametrize("field", ["counts_per_turn", "turns_per_wheel_turn", "circumference_mm"])
def test_a_drive_without_a_value_is_refused_by_name(field: str) -> None:
    values = {"counts_per_turn": 8.0, "turns_per_wheel_turn": 3.9, "circumference_mm": 1927.0}
    with pytest.raises(ValueError, match=f"{field} is 0.0"):
        SpeedDrive(**{**values, field: 0.0})
