"""Straight-sided splines by the proportions of the SAE: width, depth and root from the diameter."""

from __future__ import annotations

from dataclasses import dataclass

# teeth: (width of a tooth, {fit: depth}), as shares of the major diameter D.
# Fit A is permanent, B slides without load, C slides under load.
_PROPORTIONS: dict[int, tuple[float, dict[str, float]]] = {
    4: (0.241, {"A": 0.075, "B": 0.125}),
    6: (0.250, {"A": 0.050, "B": 0.075, "C": 0.100}),
    10: (0.156, {"A": 0.045, "B": 0.070, "C": 0.095}),
    16: (0.098, {"A": 0.045, "B": 0.070, "C": 0.095}),
}


@dataclass(frozen=True, slots=True)
class StraightSpline:
    """A straight-sided spline: teeth, fit and sizes in mm."""

    teeth: int
    fit: str
    major: float
    minor: float
    width: float
    depth: float


def straight_spline(teeth: int, fit: str, major: float) -> StraightSpline:
    """The spline of that count, fit and major diameter (mm).

    >>> straight_spline(6, "B", 40.0)
    StraightSpline(teeth=6, fit='B', major=40.0, minor=34.0, width=10.0, depth=3.0)

    Raises:
        ValueError: no such count or fit.
    """
    if teeth not in _PROPORTIONS:
        known = ", ".join(map(str, _PROPORTIONS))
        raise ValueError(f"no straight-sided spline of {teeth} teeth; there are: {known}")
    width, depths = _PROPORTIONS[teeth]
    if fit not in depths:
        raise ValueError(f"no fit {fit!r} for {teeth} teeth; there are: {', '.join(depths)}")
    depth = depths[fit] * major
    return StraightSpline(teeth, fit, major, major - 2 * depth, width * major, depth)


def identify_straight(
    teeth: int, major: float, minor: float, error: float
) -> tuple[StraightSpline, ...]:
    """Which fits the measured diameters allow, nearest first.

    >>> [spline.fit for spline in identify_straight(10, 38.1, 30.9, 0.2)]
    ['C']
    """
    if teeth not in _PROPORTIONS:
        return ()
    every = [straight_spline(teeth, fit, major) for fit in _PROPORTIONS[teeth][1]]
    near = [spline for spline in every if abs(spline.minor - minor) <= error]
    return tuple(sorted(near, key=lambda spline: (abs(spline.minor - minor), spline.fit)))
