import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.propshaft import (
    ALUMINIUM,
    EndCondition,
    Material,
    Tube,
    critical_speed_rpm,
    dunkerley_rpm,
    maximum_length_mm,
    maximum_safe_speed_rpm,
    point_mass_critical_speed_rpm,
    shaft_speed_verdict,
)

tubes = st.builds(Tube, st.floats(40, 120), st.floats(1.2, 6))
lengths = st.floats(300, 2200)
deratings = st.floats(0.3, 1)
ends = st.sampled_from(EndCondition)


@given(tubes, lengths, deratings, ends)
def test_the_longest_tube_for_a_speed_runs_at_just_that_speed(
    tube: Tube, length: float, derating: float, end: EndCondition
) -> None:
    speed = maximum_safe_speed_rpm(tube, length, derating, end)
    assert maximum_length_mm(tube, speed, derating, end) == pytest.approx(length)


@given(tubes, lengths)
def test_twice_the_length_whirls_at_a_quarter_of_the_speed(tube: Tube, length: float) -> None:
    whole = critical_speed_rpm(tube, length)
    assert critical_speed_rpm(tube, 2 * length) == pytest.approx(whole / 4)


@given(st.floats(40, 120), st.floats(1.2, 6), lengths)
def test_a_fatter_tube_of_the_same_wall_whirls_later(
    outer: float, wall: float, length: float
) -> None:
    thin, fat = Tube(outer, wall), Tube(outer * 1.1, wall)
    assert critical_speed_rpm(fat, length) > critical_speed_rpm(thin, length)


@given(tubes, lengths)
def test_ends_held_stiffer_raise_the_critical_speed(tube: Tube, length: float) -> None:
    pinned, mixed, clamped = (critical_speed_rpm(tube, length, end) for end in EndCondition)
    assert pinned < mixed < clamped


@given(st.lists(st.floats(500, 20000), min_size=1, max_size=5))
def test_every_mass_lowers_the_critical_speed(speeds: list[float]) -> None:
    together = dunkerley_rpm(speeds)
    assert together <= min(speeds) * (1 + 1e-12)
    assert dunkerley_rpm([*speeds, 9000]) < together


def test_a_mass_tells_most_in_the_middle() -> None:
    tube = Tube(76.2, 2.11)
    middle = point_mass_critical_speed_rpm(tube, 1400, 2, 700)
    assert middle < point_mass_critical_speed_rpm(tube, 1400, 2, 300)
    mirrored = point_mass_critical_speed_rpm(tube, 1400, 2, 1100)
    assert mirrored == pytest.approx(point_mass_critical_speed_rpm(tube, 1400, 2, 300))


def test_aluminium_is_no_faster_than_steel_of_the_same_tube() -> None:
    steel = critical_speed_rpm(Tube(76.2, 2.11), 1400)
    assert critical_speed_rpm(Tube(76.2, 2.11, ALUMINIUM), 1400) == pytest.approx(steel, rel=0.02)


def test_a_verdict_gives_its_margin() -> None:
    verdict = shaft_speed_verdict(Tube(76.2, 2.11), 1400, 4000)
    assert verdict.runs
    assert verdict.margin_percent == pytest.approx(100 * (verdict.limit_rpm / 4000 - 1))
    assert shaft_speed_verdict(Tube(76.2, 2.11), 1400, 0).margin_percent == float("inf")


def test_a_wall_thicker_than_the_radius_is_refused() -> None:
    with pytest.raises(ValueError, match=r"wall_mm is 40 mm: .* from 0 mm to 38.1 mm"):
        Tube(76.2, 40)


def test_a_derating_above_one_is_refused() -> None:
    with pytest.raises(ValueError, match=r"derating is 1.1: it must be above 0 and at most 1"):
        maximum_safe_speed_rpm(Tube(76.2, 2.11), 1400, 1.1)


def test_a_mass_beyond_the_end_is_refused() -> None:
    with pytest.raises(ValueError, match="at_mm is 1400 mm: it must be less than length_mm"):
        point_mass_critical_speed_rpm(Tube(76.2, 2.11), 1400, 2, 1400)


def test_no_masses_and_no_material_are_refused() -> None:
    with pytest.raises(ValueError, match="speeds_rpm is empty"):
        dunkerley_rpm([])
    with pytest.raises(ValueError, match="density_kg_m3 is 0"):
        Material(206, 0)
