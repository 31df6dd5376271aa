"""Track width: from arm, knuckle, wheel and spacer; and where another wheel puts the tyre.

Wheel offset is positive when the mounting face lies outboard of the rim's centre line (the
marking ET), so more offset draws the wheel in. Measures are taken at ride height, toe and camber
left out: a degree of camber moves the contact point by some 5 mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, tan

from .limits import above_zero, between, finite, zero_or_more
from .tyres import MM_PER_INCH

RIM_FLANGES_MM = 25.0
"""A rim is wider outside than its marked width, bead seat to bead seat, by its two flanges:
about an inch together (common practice)."""


@dataclass(frozen=True, slots=True)
class Corner:
    """One side of an independent axle, from inner pivot to wheel, in mm.

    `arm_mm` is the control arm from inner pivot to ball joint, `arm_angle_deg` its angle from
    level. `knuckle_mm` is from ball joint out to the wheel face of the hub. `offset_mm` is the
    wheel's; `spacer_mm` the thickness of a spacer between hub and wheel.

    Raises:
        ValueError: a length is not above 0, or an angle or offset no car has.
    """

    arm_mm: float
    knuckle_mm: float
    offset_mm: float
    spacer_mm: float = 0.0
    arm_angle_deg: float = 0.0

    def __post_init__(self) -> None:
        above_zero("arm_mm", self.arm_mm, "mm")
        finite("knuckle_mm", self.knuckle_mm, "mm")
        between("offset_mm", self.offset_mm, -150, 150, "mm")
        zero_or_more("spacer_mm", self.spacer_mm, "mm")
        between("arm_angle_deg", self.arm_angle_deg, -60, 60, "deg")

    @property
    def reach_mm(self) -> float:
        """From inner pivot to the centre of the tyre, across the car, in mm.

        >>> Corner(arm_mm=350, knuckle_mm=120, offset_mm=40, spacer_mm=10).reach_mm
        440.0
        """
        arm = self.arm_mm * cos(radians(self.arm_angle_deg))
        return arm + self.knuckle_mm - self.offset_mm + self.spacer_mm


def track_from_corners(pivots_mm: float, left: Corner, right: Corner | None = None) -> float:
    """Track in mm of an independent axle: distance of the inner pivots plus both reaches.

    Raises:
        ValueError: the pivots' distance is not above 0 mm.

    >>> track_from_corners(620, Corner(350, 120, 40))
    1480.0
    """
    other = left if right is None else right
    return above_zero("pivots_mm", pivots_mm, "mm") + left.reach_mm + other.reach_mm


def track_from_faces(across_faces_mm: float, offset_mm: float, spacer_mm: float = 0.0) -> float:
    """Track in mm from the width across the wheel faces of the hubs (live or beam axle).

    Raises:
        ValueError: the width is not above 0 mm, a spacer is negative, or an offset no wheel has.

    >>> track_from_faces(1520, offset_mm=25, spacer_mm=5)
    1480
    """
    above_zero("across_faces_mm", across_faces_mm, "mm")
    between("offset_mm", offset_mm, -150, 150, "mm")
    zero_or_more("spacer_mm", spacer_mm, "mm")
    return across_faces_mm - 2 * offset_mm + 2 * spacer_mm


@dataclass(frozen=True, slots=True)
class WheelPlace:
    """A wheel on its hub: marked rim width in inches, offset and spacer in mm.

    Raises:
        ValueError: a value no wheel has.
    """

    rim_width_in: float
    offset_mm: float
    spacer_mm: float = 0.0

    def __post_init__(self) -> None:
        between("rim_width_in", self.rim_width_in, 2, 20, "in")
        between("offset_mm", self.offset_mm, -150, 150, "mm")
        zero_or_more("spacer_mm", self.spacer_mm, "mm")

    @property
    def overall_width_mm(self) -> float:
        """Width of the rim over its flanges, in mm (nominal)."""
        return self.rim_width_in * MM_PER_INCH + RIM_FLANGES_MM

    @property
    def outboard_mm(self) -> float:
        """From the hub's face out to the outer edge of the rim, in mm."""
        return self.overall_width_mm / 2 - self.offset_mm + self.spacer_mm

    @property
    def backspacing_mm(self) -> float:
        """From the hub's face in to the inner edge of the rim, in mm.

        >>> round(WheelPlace(rim_width_in=7, offset_mm=40).backspacing_mm, 1)
        141.4
        """
        return self.overall_width_mm / 2 + self.offset_mm - self.spacer_mm


@dataclass(frozen=True, slots=True)
class WheelMove:
    """What a change of wheel or spacer moves, in mm.

    `outward_mm` is how much further out the rim's outer edge stands (towards the arch),
    `inward_mm` how much further in its inner edge reaches (towards the strut), `track_mm` how
    much the track grows. Negative is the other way.
    """

    outward_mm: float
    inward_mm: float
    track_mm: float


def wheel_move(before: WheelPlace, after: WheelPlace) -> WheelMove:
    """What moves when `after` takes the place of `before` on both sides of an axle.

    >>> move = wheel_move(WheelPlace(7, 40), WheelPlace(8, 35))
    >>> round(move.outward_mm, 1), round(move.inward_mm, 1), round(move.track_mm, 1)
    (17.7, 7.7, 10.0)
    """
    shift = (before.offset_mm - after.offset_mm) + (after.spacer_mm - before.spacer_mm)
    return WheelMove(
        outward_mm=after.outboard_mm - before.outboard_mm,
        inward_mm=after.backspacing_mm - before.backspacing_mm,
        track_mm=2 * shift,
    )


def offset_with_spacer(offset_mm: float, spacer_mm: float) -> float:
    """The offset, in mm, that a wheel behaves as if it had once a spacer stands behind it.

    Raises:
        ValueError: a spacer is negative, or an offset no wheel has.

    >>> offset_with_spacer(45, 20)
    25
    """
    between("offset_mm", offset_mm, -150, 150, "mm")
    return offset_mm - zero_or_more("spacer_mm", spacer_mm, "mm")


def scrub_radius_change(
    outward_mm: float, steering_inclination_deg: float, tyre_radius_change_mm: float = 0.0
) -> float:
    """How much the scrub radius grows, in mm, when a wheel moves out or its tyre grows.

    The steering axis leans in, so a taller tyre meets the road further along it and takes some
    of the growth back.

    Raises:
        ValueError: the inclination is not from 0 to 25 degrees.

    >>> round(scrub_radius_change(20, 12, tyre_radius_change_mm=15), 1)
    16.8
    """
    finite("outward_mm", outward_mm, "mm")
    finite("tyre_radius_change_mm", tyre_radius_change_mm, "mm")
    between("steering_inclination_deg", steering_inclination_deg, 0, 25, "deg")
    return outward_mm - tyre_radius_change_mm * tan(radians(steering_inclination_deg))
