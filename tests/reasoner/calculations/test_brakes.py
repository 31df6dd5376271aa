import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.brakes import (
    DiscBrake,
    DrumBrake,
    ProportioningValve,
    brake_change,
    brake_split,
    front_load_share,
    pad_radius_mm,
    rear_locks_first,
)

discs = st.builds(
    DiscBrake,
    st.lists(st.floats(20, 60), min_size=1, max_size=3).map(tuple),
    st.floats(80, 180),
    st.floats(0.2, 0.6),
)
drums = st.builds(DrumBrake, st.floats(15, 32), st.floats(80, 180), st.floats(1, 5))
pressures = st.floats(0.5, 15)


@given(discs, drums, pressures)
def test_shares_of_both_axles_make_the_whole(
    front: DiscBrake, rear: DrumBrake, pressure: float
) -> None:
    split = brake_split(front, rear, pressure)
    turned = brake_split(rear, front, pressure)
    assert split.front_share + turned.front_share == pytest.approx(1)


@given(discs, drums, pressures, pressures)
def test_without_a_valve_the_split_is_the_same_at_every_pressure(
    front: DiscBrake, rear: DrumBrake, low: float, high: float
) -> None:
    at_low, at_high = (brake_split(front, rear, p).front_share for p in (low, high))
    assert at_low == pytest.approx(at_high)


@given(discs, drums, pressures)
def test_a_valve_never_sends_more_to_the_rear(
    front: DiscBrake, rear: DrumBrake, pressure: float
) -> None:
    valved = brake_split(front, rear, pressure, ProportioningValve(3, 0.4))
    assert valved.front_share >= brake_split(front, rear, pressure).front_share - 1e-12


@given(discs, drums, pressures)
def test_a_larger_rotor_moves_the_split_to_its_axle(
    front: DiscBrake, rear: DrumBrake, pressure: float
) -> None:
    larger = DiscBrake(front.pistons_mm, front.effective_radius_mm * 1.1, front.friction)
    change = brake_change((front, rear), (larger, rear), pressure)
    assert change.front_percent == pytest.approx(10)
    assert change.rear_percent == pytest.approx(0, abs=1e-9)
    assert change.fluid_percent == 0
    assert change.shift_points > 0
    assert not change.moves_rearward


def test_larger_rear_callipers_warn_that_the_rear_does_more() -> None:
    front, rear = DiscBrake((54,), 110), DiscBrake((34,), 110)
    change = brake_change((front, rear), (front, DiscBrake((41,), 110)), 5)
    assert change.moves_rearward
    assert change.fluid_percent > 0


def test_taller_rear_tyres_lessen_the_rear_force() -> None:
    front, rear = DiscBrake((54,), 110), DiscBrake((34,), 110)
    level = brake_split(front, rear, 5)
    staggered = brake_split(front, rear, 5, tyre_radii_mm=(310, 330))
    assert staggered.front_share > level.front_share


@given(st.floats(0.4, 0.65), st.floats(0, 0.5))
def test_harder_braking_loads_the_front_more(static: float, braking: float) -> None:
    soft, hard = (front_load_share(static, g, 600, 2700) for g in (braking, braking + 0.1))
    assert hard > soft


def test_braking_that_lifts_the_rear_is_refused_with_its_limit() -> None:
    with pytest.raises(ValueError, match=r"braking_g is 1.5: it must be at most 1.20"):
        front_load_share(0.6, 1.5, height_mm=900, wheelbase_mm=2700)


def test_the_rear_locks_first_where_the_front_brakes_less_than_it_carries() -> None:
    assert rear_locks_first(0.6, front_load=0.7)
    assert not rear_locks_first(0.7, front_load=0.7)


@pytest.mark.parametrize(
    ("build", "match"),
    [
        (lambda: DiscBrake((), 110), "pistons_mm is empty"),
        (lambda: DiscBrake((54, -1), 110), r"pistons_mm\[1\] is -1 mm"),
        (lambda: DrumBrake(20, 127, brake_factor=0), "brake_factor is 0"),
        (lambda: ProportioningValve(3, 1.2), "slope is 1.2"),
        (lambda: pad_radius_mm(92, 140), "inner_mm is 140 mm"),
    ],
)
def test_brakes_that_cannot_be_are_refused_by_name(build: object, match: str) -> None:
    assert callable(build)
    with pytest.raises(ValueError, match=match):
        build()
