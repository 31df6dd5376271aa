"""What a torque does to a spline: pressure on the flanks, shear in the teeth and in the shaft.

First estimates for comparing sizes, not a proof of strength: shock, misalignment and wear add
factors of their own. Torque in N·m, lengths in mm, stress in MPa (N/mm²).
"""

from __future__ import annotations

from math import pi


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name} must be more than 0, not {value}")


def tooth_bearing_stress(
    torque: float,
    pitch_diameter: float,
    teeth: int,
    depth: float,
    length: float,
    share: float,
) -> float:
    """Pressure on the flanks: T over radius, flank area and the share of teeth that carry.

    `depth` is the height over which the flanks touch; `share` (0 to 1] how many of the teeth
    carry, three quarters being a usual assumption for machined splines.

    >>> round(tooth_bearing_stress(500, 30.0, 30, 1.0, 30.0, 0.75), 1)
    49.4

    Raises:
        ValueError: a size is not positive, or the share not above 0 and up to 1.
    """
    _positive(pitch_diameter=pitch_diameter, teeth=teeth, depth=depth, length=length, share=share)
    if share > 1:
        raise ValueError(f"share must be at most 1, not {share}")
    return 2000 * torque / (pitch_diameter * teeth * depth * length * share)


def engagement_for(
    torque: float,
    pitch_diameter: float,
    teeth: int,
    depth: float,
    allowed: float,
    share: float,
) -> float:
    """Length of engagement, mm, that keeps the flank pressure at what is allowed.

    >>> round(engagement_for(500, 30.0, 30, 1.0, 60.0, 0.75), 1)
    24.7
    """
    _positive(allowed=allowed)
    return tooth_bearing_stress(torque, pitch_diameter, teeth, depth, 1.0, share) / allowed


def tooth_shear_stress(
    torque: float, pitch_diameter: float, teeth: int, thickness: float, length: float, share: float
) -> float:
    """Shear through the teeth at the pitch circle, MPa; `thickness` is the circular one.

    >>> round(tooth_shear_stress(500, 30.0, 30, 1.571, 30.0, 0.5), 1)
    47.2
    """
    _positive(pitch_diameter=pitch_diameter, teeth=teeth, thickness=thickness, length=length)
    _positive(share=share)
    return 2000 * torque / (pitch_diameter * teeth * thickness * length * share)


def shaft_shear_stress(torque: float, diameter: float, bore: float = 0.0) -> float:
    """Shear at the surface of a round shaft under its teeth, solid or hollow, MPa.

    >>> round(shaft_shear_stress(1000, 28.0), 1)
    232.0

    Raises:
        ValueError: the diameter is not positive, or the bore not smaller than it.
    """
    _positive(diameter=diameter)
    if not 0 <= bore < diameter:
        raise ValueError(f"a bore of {bore} does not go into a shaft of {diameter}")
    return 16000 * torque * diameter / (pi * (diameter**4 - bore**4))
