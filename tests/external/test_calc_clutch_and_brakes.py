"""Clutches and brakes against worked examples and integrated friction."""

from math import pi

import pytest
from knockon.reasoner.calculations.brakes import (
    DiscBrake,
    DrumBrake,
    brake_split,
    front_load_share,
    pad_radius_mm,
)
from knockon.reasoner.calculations.clutch import (
    Facing,
    clamp_at_peak_pressure_n,
    clutch_capacity,
    mean_pressure_mpa,
    worn_peak_pressure_mpa,
)
from scipy.integrate import quad


def test_pressures_of_a_worn_plate_are_those_of_the_textbook() -> None:
    # Khurmi and Gupta, Theory of Machines, example on a plate clutch: 4 kN, radii 50 and 100 mm
    # → 0.2546 N/mm² highest, 0.17 N/mm² mean (from memory)
    facing = Facing(200, 100)
    assert worn_peak_pressure_mpa(facing, 4000) == pytest.approx(0.2546, abs=5e-5)
    assert mean_pressure_mpa(facing, 4000) == pytest.approx(0.17, abs=5e-4)


def test_power_of_a_single_plate_is_that_of_the_textbook() -> None:
    # Khurmi and Gupta, Theory of Machines: 300 and 200 mm, 0.1 N/mm² at most, friction 0.3, both
    # sides, 2500 rev/min → 3142 N and 61.69 kW (from memory)
    facing = Facing(300, 200)
    load = clamp_at_peak_pressure_n(facing, 0.1)
    assert load == pytest.approx(3142, abs=0.5)
    torque = clutch_capacity(facing, load, 0.3).worn_nm
    assert torque * 2 * pi * 2500 / 60 / 1000 == pytest.approx(61.69, abs=0.01)


@pytest.mark.parametrize(
    ("outer", "inner", "peak", "friction", "faces"),
    [
        # mechengdesign.co.uk, clutch calculation: 200 and 140 mm, 1 MN/m², 0.5, two surfaces
        (200, 140, 1.0, 0.5, 2),
        # adapala-academy.com 5170: 250 and 100 mm, 0.65 MPa, 0.2, one surface
        (250, 100, 0.65, 0.2, 1),
    ],
)
def test_a_worn_clutch_holds_the_integral_of_its_friction(
    outer: float, inner: float, peak: float, friction: float, faces: int
) -> None:
    # The pages set the problem; scipy.integrate.quad sums rings of pressure p·r = constant
    constant = peak * inner / 2
    load, _ = quad(lambda r: constant / r * 2 * pi * r, inner / 2, outer / 2)
    moment, _ = quad(lambda r: constant / r * 2 * pi * r * r, inner / 2, outer / 2)
    facing = Facing(outer, inner)
    assert clamp_at_peak_pressure_n(facing, peak) == pytest.approx(load)
    capacity = clutch_capacity(facing, load, friction, faces)
    assert capacity.worn_nm == pytest.approx(faces * friction * moment / 1000)


@pytest.mark.parametrize(("outer", "inner"), [(240, 160), (300, 200), (200, 20)])
def test_a_new_clutch_holds_the_integral_of_its_friction(outer: float, inner: float) -> None:
    # scipy.integrate.quad over rings of even pressure
    facing = Facing(outer, inner)
    pressure = mean_pressure_mpa(facing, 5000)
    moment, _ = quad(lambda r: pressure * 2 * pi * r * r, inner / 2, outer / 2)
    assert clutch_capacity(facing, 5000, 0.3).new_nm == pytest.approx(2 * 0.3 * moment / 1000)


def test_a_solid_disc_pivots_at_two_thirds_and_one_half() -> None:
    # Flat pivot: friction acts at 2/3 R by uniform pressure and at R/2 by uniform wear (any text
    # on theory of machines; from memory)
    nearly_solid = Facing(200, 1e-6)
    assert nearly_solid.new_radius_mm == pytest.approx(100 * 2 / 3)
    assert nearly_solid.worn_radius_mm == pytest.approx(100 / 2)


def test_disc_brake_torque_is_that_of_the_handbook_formula() -> None:
    # engineeringtoolbox.com/disk-brakes-d_1808.html: T = 2 μ F r, F the force on each pad
    brake = DiscBrake((60,), 100, friction=0.4)
    force = 4e6 * pi / 4 * 0.060**2
    assert brake.torque_nm(4) == pytest.approx(2 * 0.4 * force * 0.100)


def test_worn_pads_rub_at_the_plain_mean_radius() -> None:
    # scipy.integrate.quad over a pad sector with p·r constant, as for a worn clutch
    load, _ = quad(lambda r: 1 / r * r, 92, 140)
    moment, _ = quad(lambda r: 1 / r * r * r, 92, 140)
    assert pad_radius_mm(140, 92) == pytest.approx(moment / load)


def test_a_front_axle_under_braking_carries_what_is_published() -> None:
    # machinecalcs.com, weight transfer: 1500 kg, 55 % front, 520 mm, 2700 mm, 0.9 g → 260 kg
    share = front_load_share(0.55, 0.9, height_mm=520, wheelbase_mm=2700)
    assert (share - 0.55) * 1500 == pytest.approx(260)


def test_most_cars_brake_mostly_in_front() -> None:
    # common practice: a front disc and rear drum of a light car share the work by about 70 to 30
    split = brake_split(DiscBrake((54,), 110), DrumBrake(20.64, 127), 5)
    assert 0.6 < split.front_share < 0.8
