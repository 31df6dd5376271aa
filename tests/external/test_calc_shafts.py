"""Propshafts and joints against handbooks, a discretised beam and integrated motion."""

from math import atan, cos, degrees, pi, radians, sqrt

import numpy as np
import pytest
from knockon.reasoner.calculations.hooke_joint import (
    angle_for_nonuniformity,
    driven_turn_deg,
    equivalent_angle_deg,
    largest_angle_deg,
    peak_acceleration,
    speed_ratio,
    speed_swing,
    two_joint_swing,
)
from knockon.reasoner.calculations.propshaft import (
    EndCondition,
    Material,
    Tube,
    critical_speed_rpm,
    dunkerley_rpm,
    maximum_safe_speed_rpm,
    point_mass_critical_speed_rpm,
)
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.linalg import eigh

INCH = 25.4
PSI_GPA = 6.894757293168e-6
POUND_PER_CUBIC_INCH = 27679.9047


@pytest.mark.parametrize(
    ("end", "square"),
    [
        # Thomson, Theory of Vibration with Applications, appendix D.1
        (EndCondition.CLAMPED, 22.3733),
        # Same appendix, D.4 (from memory)
        (EndCondition.CLAMPED_PINNED, 15.4182),
        # Any text on beams: the first mode of a pinned beam is half a sine, (βL)² = π²
        (EndCondition.PINNED, 9.8696),
    ],
)
def test_end_conditions_are_those_of_the_textbook(end: EndCondition, square: float) -> None:
    assert end.value == pytest.approx(square, abs=5e-5)


@pytest.mark.parametrize(
    ("end", "coefficient"),
    # Civil Engineering Formulas, figure 2.26, page 75: ω = C √(EI/wL⁴) in foot and pound
    [
        (EndCondition.PINNED, 56.0),
        (EndCondition.CLAMPED, 127.0),
        (EndCondition.CLAMPED_PINNED, 87.2),
    ],
)
def test_end_conditions_are_those_of_the_handbook(end: EndCondition, coefficient: float) -> None:
    assert end.value * sqrt(32.174) == pytest.approx(coefficient, rel=0.004)


def test_a_published_steel_shaft_whirls_where_it_should() -> None:
    # calcady.com, driveshaft critical speed: 45 in, 3.5 in by 0.083 in, 30 Mpsi, 0.283 lb/in³
    # → 11,390 rev/min (its steps are rounded)
    steel = Material(30e6 * PSI_GPA, 0.283 * POUND_PER_CUBIC_INCH)
    tube = Tube(3.5 * INCH, 0.083 * INCH, steel)
    assert critical_speed_rpm(tube, 45 * INCH) == pytest.approx(11390, rel=0.003)


def test_a_published_tube_has_the_section_and_speed_it_should() -> None:
    # machinecalcs.com, driveshaft critical speed, default result: 70.2 mm inner, 46.29 cm⁴,
    # 5.416 kg/m, 8557 rev/min, 6418 at 0.75. (The page shows results; 76.2 × 3 mm, 1200 mm and
    # 200 GPa are the inputs they follow from.)
    tube = Tube(76.2, 3.0, Material(200, 7850))
    assert tube.inner_mm == pytest.approx(70.2)
    assert tube.second_moment_mm4 / 1e4 == pytest.approx(46.29, abs=0.005)
    assert tube.kg_per_m == pytest.approx(5.416, abs=0.0005)
    assert critical_speed_rpm(tube, 1200) == pytest.approx(8557, abs=1)
    assert maximum_safe_speed_rpm(tube, 1200, derating=0.75) == pytest.approx(6418, abs=1)


def test_aluminium_for_steel_changes_what_the_textbook_says() -> None:
    # Problem at tutorsglobe.com 51462760: 5800 against 5795 rev/min for the same tube. (Only
    # their ratio is used: the two answers themselves follow another formula.)
    def speed(youngs_msi: float, slug_per_cubic_inch: float) -> float:
        density = slug_per_cubic_inch * 14.59390294 / (0.0254**3)
        material = Material(youngs_msi * 1e6 * PSI_GPA, density)
        return critical_speed_rpm(Tube(3 * INCH, INCH / 8, material), 48 * INCH)

    assert speed(10, 0.00305) / speed(29, 0.00883) == pytest.approx(5795 / 5800, abs=1e-4)


@pytest.mark.parametrize(
    ("outer", "wall", "length"), [(63.5, 1.65, 900), (76.2, 2.11, 1400), (101.6, 3.0, 1900)]
)
def test_the_workshop_formula_for_steel_is_met(outer: float, wall: float, length: float) -> None:
    # common practice: n = 1.21 × 10⁸ √(D² + d²) ÷ L², in mm and rev/min
    inner = outer - 2 * wall
    rule = 1.21e8 * sqrt(outer**2 + inner**2) / length**2
    assert critical_speed_rpm(Tube(outer, wall), length) == pytest.approx(rule, rel=0.01)


def _first_mode_rpm(
    tube: Tube, length_mm: float, end: EndCondition, mass_kg: float = 0.0, elements: int = 40
) -> float:
    """First critical speed of the tube cut into beam elements, with a mass at its middle.

    Cubic Hermite elements with consistent masses: Przemieniecki, Theory of Matrix Structural
    Analysis (from memory).
    """
    h = length_mm / 1000 / elements
    stiff = tube.stiffness_nm2 / h**3 * np.array(
        [[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
         [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]]
    )  # fmt: skip
    inert = tube.kg_per_m * h / 420 * np.array(
        [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h],
         [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]]
    )  # fmt: skip
    size = 2 * (elements + 1)
    k: NDArray[np.float64] = np.zeros((size, size))
    m: NDArray[np.float64] = np.zeros((size, size))
    for element in range(elements):
        part = slice(2 * element, 2 * element + 4)
        k[part, part] += stiff
        m[part, part] += inert
    m[elements, elements] += mass_kg  # an even number of elements: this is the middle's deflection
    held = {0, size - 2}
    if end is not EndCondition.PINNED:
        held.add(1)
    if end is EndCondition.CLAMPED:
        held.add(size - 1)
    free = [i for i in range(size) if i not in held]
    squares = eigh(k[np.ix_(free, free)], m[np.ix_(free, free)], eigvals_only=True)
    return float(sqrt(squares[0]) * 30 / pi)


@pytest.mark.parametrize("end", list(EndCondition))
@pytest.mark.parametrize(("outer", "wall", "length"), [(63.5, 1.65, 900), (76.2, 2.11, 1400)])
def test_a_tube_cut_into_beam_elements_whirls_at_the_same_speed(
    outer: float, wall: float, length: float, end: EndCondition
) -> None:
    # scipy.linalg.eigh on the discretised beam
    tube = Tube(outer, wall)
    discrete = _first_mode_rpm(tube, length, end)
    assert critical_speed_rpm(tube, length, end) == pytest.approx(discrete, rel=1e-5)


@pytest.mark.parametrize("mass_kg", [0.5, 2.0, 6.0])
def test_dunkerley_stays_below_the_discretised_shaft_with_a_sliding_joint(mass_kg: float) -> None:
    # scipy.linalg.eigh; Dunkerley's rule is a lower bound (Thomson, chapter on approximate
    # numerical methods, from memory)
    tube = Tube(76.2, 2.11)
    alone = critical_speed_rpm(tube, 1400)
    sliding = point_mass_critical_speed_rpm(tube, 1400, mass_kg, 700)
    true = _first_mode_rpm(tube, 1400, EndCondition.PINNED, mass_kg)
    estimate = dunkerley_rpm([alone, sliding])
    assert estimate < true
    assert estimate == pytest.approx(true, rel=0.01)


def test_the_allowed_angle_for_a_fluctuation_is_that_published() -> None:
    # askfilo.com 3431373033373734: 1200 rev/min, fluctuation 100 rev/min → about 16.2° (the
    # page rounds cos β to 0.9592, which is 16.4°), 1251 and 1151 rev/min
    angle = angle_for_nonuniformity(100 / 1200)
    swing = speed_swing(angle)
    assert cos(radians(angle)) == pytest.approx(0.9592, abs=5e-5)
    assert angle == pytest.approx(16.2, abs=0.3)
    assert 1200 * swing.most == pytest.approx(1251, abs=0.5)
    assert 1200 * swing.least == pytest.approx(1151, abs=0.5)


def test_the_least_speed_of_an_intermediate_shaft_is_that_published() -> None:
    # qna.carrieradda.com 26514: 20°, 500 rev/min → 469.85 rev/min
    assert 500 * speed_swing(20).least == pytest.approx(469.85, abs=0.005)


def test_both_shafts_turn_equally_fast_where_the_examination_says() -> None:
    # Engineering services examination 2013 (lessoinsdecolette.com): tan θ = ±√cos α
    for angle in (5.0, 15.0, 30.0):
        theta = degrees(atan(sqrt(cos(radians(angle)))))
        assert speed_ratio(angle, theta) == pytest.approx(1, abs=1e-12)
        assert speed_ratio(angle, -theta) == pytest.approx(1, abs=1e-12)


def test_the_greatest_acceleration_is_that_of_the_textbook() -> None:
    # A Hooke's joint at 20° and 1500 rev/min: 3090 rad/s² by the approximate position of the
    # peak (an Indian theory-of-machines textbook's example, from memory)
    assert peak_acceleration(20, 1500) == pytest.approx(3090, rel=0.004)


@pytest.mark.parametrize("angle", [3.0, 12.0, 30.0])
def test_the_position_is_the_integral_of_the_speed(angle: float) -> None:
    # scipy.integrate.quad over the speed ratio
    for turn in (20.0, 77.0, 141.0, 300.0):
        swept, _ = quad(lambda t: speed_ratio(angle, t), 0, turn, limit=200)
        assert driven_turn_deg(angle, turn) == pytest.approx(swept, abs=1e-6)


@pytest.mark.parametrize(("angle", "speed"), [(6.0, 3000.0), (20.0, 1500.0), (40.0, 800.0)])
def test_the_peak_acceleration_is_the_steepest_change_of_speed(angle: float, speed: float) -> None:
    omega = speed * pi / 30
    step = 0.01
    turns = np.arange(0, 180, step)
    speeds = np.array([omega * speed_ratio(angle, t) for t in turns])
    steepest = float(np.max(np.gradient(speeds, radians(step) / omega)))
    assert peak_acceleration(angle, speed) == pytest.approx(steepest, rel=1e-4)


@pytest.mark.parametrize("twist", [0.0, 25.0, 90.0, 140.0])
@pytest.mark.parametrize(("first", "second"), [(8.0, 8.0), (5.0, 12.0), (30.0, 20.0)])
def test_two_joints_in_a_row_swing_as_their_motions_put_together(
    first: float, second: float, twist: float
) -> None:
    # The yokes in line stand a quarter turn apart on the shaft between, seen from each joint's
    # own plane; the motion is put together from the single joints and differenced.
    ratios = []
    for turn in np.arange(0, 180, 0.05):
        middle = driven_turn_deg(first, float(turn))
        at_second = middle + 90 + twist
        ratios.append(speed_ratio(first, float(turn)) * speed_ratio(second, at_second))
    swing = two_joint_swing(first, second, twist)
    assert swing.most == pytest.approx(max(ratios), abs=2e-5)
    assert swing.least == pytest.approx(min(ratios), abs=2e-5)


@pytest.mark.parametrize(
    ("first", "second"),
    # engineersedge.com/vehicle_driveline_design.htm, "Between joint angles for two-joint system",
    # row of 1500 rev/min: allowed angle of the second joint for each of the first
    [(1, 7.4), (2, 7.6), (3, 7.9), (4, 8.3), (5, 8.9), (6, 9.5), (7, 10.1), (8, 10.8), (9, 11.6)],
)
def test_two_joint_angles_leave_what_the_driveline_table_allows(
    first: float, second: float
) -> None:
    # With the first joint straight the table allows 7.3° at the second
    assert equivalent_angle_deg(second, first) == pytest.approx(7.3, abs=0.15)


@pytest.mark.parametrize(("speed", "angle"), [(1500, 7.3), (1600, 6.9), (1700, 6.5)])
def test_the_driveline_table_allows_400_radians_per_second_squared(
    speed: float, angle: float
) -> None:
    # Same table, column of 0°
    assert largest_angle_deg(speed, acceleration_limit=400) == pytest.approx(angle, abs=0.1)


@pytest.mark.parametrize(
    ("speed", "angle"),
    # common practice: the table of largest joint angles that driveline shops print
    [(5000, 3.2), (4500, 3.7), (4000, 4.2), (3500, 5.0)],
)
def test_the_default_limit_is_near_the_shop_table(speed: float, angle: float) -> None:
    assert largest_angle_deg(speed) == pytest.approx(angle, rel=0.1)
