"""A pin laid into the space of an involute spline, found by construction and not by formula.

The flank is drawn as the path of a taut string's end; the pin's centre moves along the middle of
the space until its distance to the flank is its radius.
"""

from __future__ import annotations

from math import atan2, cos, hypot, pi, radians, sin, sqrt

from scipy.optimize import brentq, minimize_scalar


def dimension(
    teeth: int, module: float, angle: float, pin: float, space: float, *, internal: bool
) -> float:
    """Over (or between) two pins in spaces of that circular width, mm."""
    base = module * teeth * cos(radians(angle)) / 2
    pitch = module * teeth / 2

    def string_end(unwound: float) -> tuple[float, float]:
        return (
            base * (cos(unwound) + unwound * sin(unwound)),
            base * (sin(unwound) - unwound * cos(unwound)),
        )

    x, y = string_end(sqrt((pitch / base) ** 2 - 1))
    at_pitch = atan2(y, x)
    half = space / (2 * pitch)
    # Outwards a shaft's space widens and a hub's narrows.
    turn = -1 if internal else 1

    def distance(centre: float) -> float:
        def to_flank(unwound: float) -> float:
            px, py = string_end(unwound)
            radius, where = hypot(px, py), half + turn * (atan2(py, px) - at_pitch)
            return hypot(radius * cos(where) - centre, radius * sin(where))

        nearest = minimize_scalar(
            to_flank, bounds=(1e-9, 2.5), method="bounded", options={"xatol": 1e-12}
        )
        return float(nearest.fun) - pin / 2

    # Start where the pin is well inside the space and push it into the flanks.
    step = module / 50 * (1 if internal else -1)
    centre = pitch + (-1.5 if internal else 2.5) * module
    while distance(centre + step) > 0:
        centre += step
    touching = float(brentq(distance, centre, centre + step, xtol=1e-11))
    across = 2 * touching * (1 if teeth % 2 == 0 else cos(pi / 2 / teeth))
    return across - pin if internal else across + pin
