import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.slip import AxlePath, Faster, centre_slip

paths = st.builds(AxlePath, st.floats(2.5, 6), st.floats(1500, 3000), st.floats(0.5, 2))


@given(paths, paths)
def test_slip_is_the_same_seen_from_either_axle(front: AxlePath, rear: AxlePath) -> None:
    one, other = centre_slip(front, rear, 1), centre_slip(rear, front, 1)
    assert one.percent == other.percent
    assert one.turns_per_km == other.turns_per_km
    assert one.within_tolerance == other.within_tolerance


@given(paths)
def test_equal_paths_do_not_slip(path: AxlePath) -> None:
    slip = centre_slip(path, path, 0)
    assert slip.percent == 0
    assert slip.faster is Faster.NEITHER
    assert slip.within_tolerance


@given(paths, paths, st.floats(0, 20), st.floats(0, 20))
def test_a_wider_tolerance_never_turns_a_yes_into_a_no(
    front: AxlePath, rear: AxlePath, one: float, two: float
) -> None:
    tight, wide = sorted((one, two))
    if centre_slip(front, rear, tight).within_tolerance:
        assert centre_slip(front, rear, wide).within_tolerance


def test_unequal_tyres_slip_like_unequal_ratios() -> None:
    slip = centre_slip(AxlePath(3.9, 1900), AxlePath(3.9, 2000), 1)
    assert slip.percent == pytest.approx(100 * (2000 / 1900 - 1))
    assert slip.faster is Faster.FRONT


def test_taller_tyres_can_make_up_for_a_lower_final_drive() -> None:
    assert centre_slip(AxlePath(3.9, 2000), AxlePath(4.29, 2200), 0.01).within_tolerance


def test_a_transfer_box_with_unequal_outputs_can_make_up_for_final_drives() -> None:
    slip = centre_slip(AxlePath(3.545, 2000, transfer=1.1), AxlePath(3.9, 2000), 0.05)
    assert slip.within_tolerance


def test_wind_up_grows_with_the_turns_that_cannot_slip() -> None:
    slip = centre_slip(AxlePath(3.9, 2000), AxlePath(3.545, 2000), 1)
    assert slip.wind_up_deg_per_m == pytest.approx(63.9)
    assert slip.faster is Faster.FRONT
    assert centre_slip(AxlePath(3.5, 2000), AxlePath(3.9, 2000), 1).faster is Faster.REAR


def test_a_negative_tolerance_is_refused() -> None:
    with pytest.raises(ValueError, match="tolerance_percent is -1 %"):
        centre_slip(AxlePath(3.9, 2000), AxlePath(3.9, 2000), -1)
