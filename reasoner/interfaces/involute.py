"""Geometry of involute splines, and what pins in the teeth measure.

Straight (not helical) splines of 30, 37.5 and 45 degrees by metric module (ISO 4156) or diametral
pitch (ANSI B92.1). Lengths in mm, angles in degrees. Sizes are basic ones: no fit allowance and no
tolerance; a real shaft is a little thinner, a real hub a little wider.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import acos, cos, degrees, pi, radians, sin, sqrt, tan

INCH = 25.4


class System(StrEnum):
    """Which standard's proportions a spline has."""

    METRIC = "ISO 4156"
    PITCH = "ANSI B92.1"


class Root(StrEnum):
    """Form of the tooth roots; 37.5 and 45 degree splines have fillet roots only."""

    FLAT = "flat"
    FILLET = "fillet"


@dataclass(frozen=True, slots=True)
class SplineSize:
    """A size of spline: teeth, module (mm), pressure angle (degrees), root and standard."""

    teeth: int
    module: float
    angle: float = 30.0
    root: Root = Root.FILLET
    system: System = System.METRIC


@dataclass(frozen=True, slots=True)
class SplineGeometry:
    """Basic diameters and circular tooth thickness, mm."""

    pitch: float
    base: float
    external_major: float
    external_minor: float
    external_form: float
    internal_major: float
    internal_minor: float
    internal_form: float
    tooth_thickness: float
    space_width: float


def module_of_pitch(diametral_pitch: float) -> float:
    """Module, mm, of a diametral pitch (teeth per inch of pitch diameter).

    >>> round(module_of_pitch(24), 4)
    1.0583
    """
    return INCH / diametral_pitch


def inv(angle: float) -> float:
    """The involute function, tan a - a, of an angle in degrees; radians.

    >>> round(inv(30), 7)
    0.0537515
    """
    a = radians(angle)
    return tan(a) - a


def inverse_inv(value: float) -> float:
    """The angle in degrees whose involute function is `value`.

    >>> round(inverse_inv(0.0537515), 4)
    30.0

    Raises:
        ValueError: the value is negative: no involute reaches inside its base circle.
    """
    if value < 0:
        raise ValueError("an involute function is never negative")
    if value == 0:
        return 0.0
    # Start from above the root: tan a - a is convex there, so Newton's steps only come down.
    a = min((3 * value) ** (1 / 3), _angle_above(value))
    for _ in range(60):
        step = (tan(a) - a - value) / tan(a) ** 2
        a -= step
        if abs(step) < 1e-15:
            break
    return degrees(a)


def _angle_above(value: float) -> float:
    # tan a = value + a < value + π/2, so this angle, in radians, is never below the root.
    return acos(1 / sqrt(1 + (value + pi / 2) ** 2))


# By angle: addendum of the shaft, dedendum of hub and shaft (flat root where there is one),
# as multiples of the module on the diameter; ISO 4156-1 and ANSI B92.2M-1980.
_METRIC_TIP = {30.0: 1.0, 37.5: 0.9, 45.0: 0.8}
_METRIC_ROOT = {
    (30.0, Root.FLAT): 1.5,
    (30.0, Root.FILLET): 1.8,
    (37.5, Root.FILLET): 1.4,
    (45.0, Root.FILLET): 1.2,
}
_METRIC_RACK = {30.0: 0.6, 37.5: 0.55, 45.0: 0.5}
_METRIC_FORM_CLEARANCE = 0.1

# ANSI B92.1: internal major, external minor, internal minor (and form), in units of 1/P.
_PITCH_ROOT = {
    (30.0, Root.FLAT): (1.35, 1.35, 1.0),
    (30.0, Root.FILLET): (1.8, 1.8, 1.0),
    (37.5, Root.FILLET): (1.6, 1.3, 0.8),
    (45.0, Root.FILLET): (1.4, 1.0, 0.6),
}


def geometry(size: SplineSize) -> SplineGeometry:
    """Basic geometry of a spline.

    >>> found = geometry(SplineSize(30, 1.0, 30.0, Root.FILLET))
    >>> found.pitch, round(found.base, 3), found.external_major, found.internal_major
    (30.0, 25.981, 31.0, 31.8)

    Raises:
        ValueError: no such angle and root in that standard, or fewer than 4 teeth.
    """
    if size.teeth < 4:
        raise ValueError(f"a spline of {size.teeth} teeth has no involute form; 4 or more")
    key = (float(size.angle), size.root)
    if key not in _METRIC_ROOT:
        known = ", ".join(f"{a} {r.value}" for a, r in _METRIC_ROOT)
        raise ValueError(f"no {size.angle} degree spline with {size.root} root; there are: {known}")
    return _metric(size) if size.system is System.METRIC else _by_pitch(size)


def _metric(size: SplineSize) -> SplineGeometry:
    z, m, angle = size.teeth, size.module, float(size.angle)
    pitch = m * z
    base = pitch * cos(radians(angle))
    tip, root = _METRIC_TIP[angle], _METRIC_ROOT[(angle, size.root)]
    clear = 2 * _METRIC_FORM_CLEARANCE * m
    # Where a rack of half depth h leaves the involute of the shaft.
    sine = sin(radians(angle))
    reach = 0.5 * pitch * sine - _METRIC_RACK[angle] * m / sine
    form = 2 * sqrt((0.5 * base) ** 2 + reach**2)
    return SplineGeometry(
        pitch=pitch,
        base=base,
        external_major=m * (z + tip),
        external_minor=m * (z - root),
        external_form=form,
        internal_major=m * (z + root),
        internal_minor=form + clear,
        internal_form=m * (z + tip) + clear,
        tooth_thickness=pi * m / 2,
        space_width=pi * m / 2,
    )


def _by_pitch(size: SplineSize) -> SplineGeometry:
    z, m, angle = size.teeth, size.module, float(size.angle)
    pitch = m * z
    hub_root, shaft_root, hub_tip = _PITCH_ROOT[(angle, size.root)]
    if angle == 30.0 and size.root is Root.FILLET and INCH / m > 12.5:
        shaft_root = 2.0
    # Radial form clearance 0.001 of the diameter, from 0.002 to 0.010 inch.
    clear = 2 * min(max(0.001 * pitch, 0.002 * INCH), 0.010 * INCH)
    space = m * (pi / 2 if angle == 30.0 else pi / 2 + 0.1)
    return SplineGeometry(
        pitch=pitch,
        base=pitch * cos(radians(angle)),
        external_major=m * (z + 1),
        external_minor=m * (z - shaft_root),
        external_form=m * (z - hub_tip) - clear,
        internal_major=m * (z + hub_root),
        internal_minor=m * (z - hub_tip),
        internal_form=m * (z + 1) + clear,
        tooth_thickness=space,
        space_width=space,
    )


def thickness_at(diameter: float, size: SplineSize) -> float:
    """Circular tooth thickness, mm, of the shaft at a diameter between form and major.

    >>> size = SplineSize(30, 1.0)
    >>> round(thickness_at(30.0, size), 4), thickness_at(31.0, size) < thickness_at(30.0, size)
    (1.5708, True)

    Raises:
        ValueError: the diameter lies inside the base circle.
    """
    found = geometry(size)
    angle = _angle_at(found.base, diameter)
    return diameter * (found.tooth_thickness / found.pitch + inv(size.angle) - inv(angle))


def _angle_at(base: float, diameter: float) -> float:
    if diameter < base:
        raise ValueError(f"diameter {diameter:.3f} lies inside the base circle {base:.3f}")
    return degrees(acos(base / diameter))


def usual_pin(size: SplineSize, *, internal: bool) -> float:
    """The pin diameter, mm, that touches a 30 degree spline near the pitch circle (ANSI B92.1).

    1.92 modules over a shaft, 1.728 between teeth of a hub.
    """
    return (1.728 if internal else 1.92) * size.module


def _pitch_and_base(size: SplineSize) -> tuple[float, float]:
    pitch = size.module * size.teeth
    return pitch, pitch * cos(radians(size.angle))


def _opposite(teeth: int) -> float:
    """Two pins of an odd count do not stand opposite one another."""
    return 1.0 if teeth % 2 == 0 else cos(pi / 2 / teeth)


def over_pins(size: SplineSize, pin: float, thickness: float | None = None) -> float:
    """Dimension over two pins in opposite spaces of a shaft, mm.

    `thickness` is the circular tooth thickness at the pitch circle; basic if not given.

    >>> round(over_pins(SplineSize(30, 1.0), 1.92), 3)
    32.986

    Raises:
        ValueError: the pin is too small to touch both flanks.
    """
    pitch, base = _pitch_and_base(size)
    tooth = geometry(size).tooth_thickness if thickness is None else thickness
    value = tooth / pitch + pin / base + inv(size.angle) - pi / size.teeth
    if value <= 0:
        raise ValueError(f"a pin of {pin} mm falls to the root of {size}")
    centre = base / cos(radians(inverse_inv(value)))
    return centre * _opposite(size.teeth) + pin


def between_pins(size: SplineSize, pin: float, space: float | None = None) -> float:
    """Dimension between two pins in opposite spaces of a hub, mm.

    `space` is the circular space width at the pitch circle; basic if not given.

    >>> round(between_pins(SplineSize(30, 1.0), 1.728), 3)
    27.506

    Raises:
        ValueError: the pin is too large for the space.
    """
    pitch, base = _pitch_and_base(size)
    width = geometry(size).space_width if space is None else space
    value = width / pitch + inv(size.angle) - pin / base
    if value <= 0:
        raise ValueError(f"a pin of {pin} mm does not go into the spaces of {size}")
    centre = base / cos(radians(inverse_inv(value)))
    return centre * _opposite(size.teeth) - pin


def thickness_from_pins(size: SplineSize, pin: float, measured: float) -> float:
    """Circular tooth thickness, mm, of a shaft that measures so much over pins.

    >>> size = SplineSize(27, 1.0)
    >>> round(thickness_from_pins(size, 1.92, over_pins(size, 1.92, 1.55)), 6)
    1.55
    """
    pitch, base = _pitch_and_base(size)
    centre = (measured - pin) / _opposite(size.teeth)
    value = inv(_angle_at(base, centre))
    return pitch * (value - pin / base - inv(size.angle) + pi / size.teeth)


def space_from_pins(size: SplineSize, pin: float, measured: float) -> float:
    """Circular space width, mm, of a hub that measures so much between pins.

    >>> size = SplineSize(30, 1.0)
    >>> round(space_from_pins(size, 1.728, between_pins(size, 1.728, 1.6)), 6)
    1.6
    """
    pitch, base = _pitch_and_base(size)
    centre = (measured + pin) / _opposite(size.teeth)
    return pitch * (inv(_angle_at(base, centre)) + pin / base - inv(size.angle))
