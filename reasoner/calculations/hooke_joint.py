"""Universal (Hooke's) joints: how unevenly they turn, and how two of them cancel.

A joint bent by β passes each turn on unevenly, twice per turn: the driven shaft swings between
cos β and 1/cos β of the driving speed. Two joints at equal angles with the yokes of the shaft
between them in line cancel. All angles are in degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, pi, radians, sin, sqrt, tan

from .limits import above_zero, between, finite, zero_or_more

MOST_ANGLE_DEG = 80.0
"""Beyond this the formulas still hold but no cross joint bends so far."""


@dataclass(frozen=True, slots=True)
class SpeedSwing:
    """Driven speed over driving speed, at its least and its most within a turn."""

    least: float
    most: float

    @property
    def nonuniformity(self) -> float:
        """Most less least: the coefficient of fluctuation (no unit)."""
        return self.most - self.least


def speed_ratio(angle_deg: float, turn_deg: float) -> float:
    """Driven over driving speed at one moment.

    `turn_deg` is how far the driving yoke stands from the plane of the two shafts.

    Raises:
        ValueError: the angle is not from 0 to 80 degrees.

    >>> round(speed_ratio(20, 0), 4), round(speed_ratio(20, 90), 4)
    (1.0642, 0.9397)
    """
    bend = _bend("angle_deg", angle_deg)
    turn = radians(finite("turn_deg", turn_deg, "deg"))
    return cos(bend) / (1 - (sin(bend) * cos(turn)) ** 2)


def driven_turn_deg(angle_deg: float, turn_deg: float) -> float:
    """Where the driven shaft has turned to when the driving one stands at `turn_deg`.

    Both count from the driving yoke in the plane of the shafts, and agree every quarter turn.

    Raises:
        ValueError: the angle is not from 0 to 80 degrees.

    >>> round(driven_turn_deg(30, 45), 2)
    49.11
    """
    bend = _bend("angle_deg", angle_deg)
    finite("turn_deg", turn_deg, "deg")
    whole = 360.0 * round(turn_deg / 360)
    turn = radians(turn_deg - whole)
    return degrees(atan2(sin(turn), cos(turn) * cos(bend))) + whole


def speed_swing(angle_deg: float) -> SpeedSwing:
    """How far the driven speed swings at a joint angle.

    Raises:
        ValueError: the angle is not from 0 to 80 degrees.

    >>> round(speed_swing(10).nonuniformity, 4)
    0.0306
    """
    least = cos(_bend("angle_deg", angle_deg))
    return SpeedSwing(least, 1 / least)


def angle_for_nonuniformity(nonuniformity: float) -> float:
    """The largest joint angle, in degrees, whose speed swings by no more than this coefficient.

    Raises:
        ValueError: the coefficient is negative or asks for more than 80 degrees.

    >>> round(angle_for_nonuniformity(speed_swing(12).nonuniformity), 6)
    12.0
    """
    zero_or_more("nonuniformity", nonuniformity)
    most = speed_swing(MOST_ANGLE_DEG).nonuniformity
    between("nonuniformity", nonuniformity, 0, most)
    # 1/c − c = u, solved for sin² so that small angles keep their digits.
    half = nonuniformity / 2
    cosine = sqrt(1 + half * half) - half
    return degrees(asin(sqrt(nonuniformity * cosine)))


def peak_acceleration(angle_deg: float, speed_rpm: float) -> float:
    """The greatest angular acceleration of the driven shaft, in rad/s².

    Raises:
        ValueError: the angle is not from 0 to 80 degrees, or the speed is negative.

    >>> round(peak_acceleration(6, 3000))
    1084
    """
    bend = _bend("angle_deg", angle_deg)
    omega = zero_or_more("speed_rpm", speed_rpm, "rev/min") * pi / 30
    sine2 = sin(bend) ** 2
    if sine2 == 0:
        return 0.0
    k = sine2 / (2 - sine2)
    # Where it peaks: k·x² + x − 2k = 0 for x = cos 2θ, in the form that keeps digits at small k.
    x = 4 * k / (1 + sqrt(1 + 8 * k * k))
    shape = sqrt(1 - x * x) / (1 - sine2 * (1 + x) / 2) ** 2
    return omega**2 * cos(bend) * sine2 * shape


def largest_angle_deg(
    speed_rpm: float, acceleration_limit: float = 1000.0, mechanical_limit_deg: float = 25.0
) -> float:
    """The largest joint angle, in degrees, for a speed.

    `acceleration_limit` is the peak acceleration of the driven shaft to stay below, in rad/s²
    (from memory: driveline design guides take about 1000 for the inertia of a light vehicle's
    shaft, and 400 to 500 for what is left at the axle). `mechanical_limit_deg` is where the
    joint itself binds: read it off the part.

    Raises:
        ValueError: a speed or limit is not above 0, or the mechanical limit above 80 degrees.

    >>> round(largest_angle_deg(3000), 1), largest_angle_deg(300)
    (5.8, 25.0)
    """
    above_zero("speed_rpm", speed_rpm, "rev/min")
    above_zero("acceleration_limit", acceleration_limit, "rad/s²")
    above_zero("mechanical_limit_deg", mechanical_limit_deg, "deg")
    low, high = 0.0, between("mechanical_limit_deg", mechanical_limit_deg, 0, MOST_ANGLE_DEG, "deg")
    if peak_acceleration(high, speed_rpm) <= acceleration_limit:
        return high
    # The acceleration grows with the angle throughout, so halving always closes in on it.
    while high - low > 1e-9:
        middle = (low + high) / 2
        if peak_acceleration(middle, speed_rpm) <= acceleration_limit:
            low = middle
        else:
            high = middle
    return low


def compound_angle_deg(side_deg: float, plan_deg: float) -> float:
    """The true joint angle from those seen from the side and from above, in degrees.

    Both are slopes of one shaft against the other's axis.

    Raises:
        ValueError: an angle is not within ±80 degrees.

    >>> round(compound_angle_deg(4, 3), 2)
    4.99
    """
    between("side_deg", side_deg, -MOST_ANGLE_DEG, MOST_ANGLE_DEG, "deg")
    between("plan_deg", plan_deg, -MOST_ANGLE_DEG, MOST_ANGLE_DEG, "deg")
    return degrees(atan2(hypot(tan(radians(side_deg)), tan(radians(plan_deg))), 1.0))


def two_joint_swing(
    first_deg: float, second_deg: float, out_of_phase_deg: float = 0.0
) -> SpeedSwing:
    """How far the speed swings beyond two joints in a row.

    `out_of_phase_deg` is the twist between the yokes of the shaft between them, less the angle
    between the planes of the two bends: 0 where both joints bend in one plane (the driveline a Z
    or a W) and the yokes line up, 90 where they stand across.

    Raises:
        ValueError: an angle is not from 0 to 80 degrees.

    >>> round(two_joint_swing(8, 8).nonuniformity, 6)
    0.0
    >>> round(two_joint_swing(8, 8, out_of_phase_deg=90).nonuniformity, 4)
    0.0391
    """
    least, most = _stretches(first_deg, second_deg, out_of_phase_deg)
    return SpeedSwing((most - least) / (most + least), (most + least) / (most - least))


def equivalent_angle_deg(
    first_deg: float, second_deg: float, out_of_phase_deg: float = 0.0
) -> float:
    """The angle of the one joint that would be as uneven as these two in a row, in degrees.

    For small angles: the root of the difference of the squares where the yokes line up, of their
    sum where they stand across.

    Raises:
        ValueError: an angle is not from 0 to 80 degrees.

    >>> round(equivalent_angle_deg(5, 4), 2), round(equivalent_angle_deg(5, 4, 90), 2)
    (3.0, 6.4)
    """
    least, most = _stretches(first_deg, second_deg, out_of_phase_deg)
    return degrees(2 * atan2(sqrt(least), sqrt(most)))


def _stretches(first_deg: float, second_deg: float, out_of_phase_deg: float) -> tuple[float, float]:
    """Difference and sum of the singular values of two joints and the twist between them.

    Each joint stretches the direction of the yoke along one axis, by 1/cos β and by cos β; the
    twist turns it in between. The swing is the ratio of the two singular values of the product.
    """
    first = 1 / cos(_bend("first_deg", first_deg))
    second = cos(_bend("second_deg", second_deg))
    twist = radians(finite("out_of_phase_deg", out_of_phase_deg, "deg"))
    both = first * second
    return (
        hypot(cos(twist) * (1 - both), sin(twist) * (first - second)),
        hypot(cos(twist) * (1 + both), sin(twist) * (first + second)),
    )


def _bend(name: str, angle_deg: float) -> float:
    return radians(between(name, angle_deg, 0, MOST_ANGLE_DEG, "deg"))
