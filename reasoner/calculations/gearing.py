"""Engine, propshaft and road speed through the gears.

Ratios are turns in per turn out, so a larger number gears lower; all must be above zero.
Slip of tyres and of a torque converter is left out.
"""

from __future__ import annotations

from math import prod

from .limits import above_zero, zero_or_more

_MM_PER_MINUTE_AT_1_KMH = 1e6 / 60


def ratio_of_teeth(driven_teeth: int, driving_teeth: int) -> float:
    """Ratio of a pair of gears: driven over driving teeth.

    Raises:
        ValueError: a tooth count is not above 0.

    >>> ratio_of_teeth(39, 10)
    3.9
    """
    above_zero("driven_teeth", driven_teeth)
    return driven_teeth / above_zero("driving_teeth", driving_teeth)


def overall_ratio(*ratios: float) -> float:
    """Turns of the engine for one turn of the wheel: the product of all ratios in the path.

    Raises:
        ValueError: no ratio is given, or one is not above 0.

    >>> round(overall_ratio(3.954, 2.28, 4.3), 2)
    38.77
    """
    if not ratios:
        raise ValueError("ratios is empty: at least one ratio is needed")
    return prod(above_zero(f"ratios[{i}]", ratio) for i, ratio in enumerate(ratios))


def wheel_speed_rpm(speed_kmh: float, circumference_mm: float) -> float:
    """Turns of a wheel in one minute, in rev/min, at a road speed.

    Raises:
        ValueError: the speed is negative or the circumference not above 0 mm.

    >>> round(wheel_speed_rpm(60, 2000), 3)
    500.0
    """
    zero_or_more("speed_kmh", speed_kmh, "km/h")
    above_zero("circumference_mm", circumference_mm, "mm")
    return speed_kmh * _MM_PER_MINUTE_AT_1_KMH / circumference_mm


def engine_speed_rpm(
    speed_kmh: float,
    circumference_mm: float,
    gear: float,
    final_drive: float,
    transfer: float = 1.0,
) -> float:
    """Engine speed, in rev/min, at a road speed in one gear.

    `transfer` is the ratio of the transfer box in the range engaged.

    Raises:
        ValueError: the speed is negative, or the circumference or a ratio is not above 0.

    >>> round(engine_speed_rpm(110, 1927, gear=0.838, final_drive=3.9))
    3109
    """
    turns = wheel_speed_rpm(speed_kmh, circumference_mm)
    return turns * _path(gear, final_drive, transfer)


def road_speed_kmh(
    engine_rpm: float,
    circumference_mm: float,
    gear: float,
    final_drive: float,
    transfer: float = 1.0,
) -> float:
    """Road speed, in km/h, at an engine speed in one gear.

    Raises:
        ValueError: the engine speed is negative, or the circumference or a ratio is not above 0.

    >>> round(road_speed_kmh(3000, 1927, gear=0.838, final_drive=3.9), 1)
    106.1
    """
    zero_or_more("engine_rpm", engine_rpm, "rev/min")
    above_zero("circumference_mm", circumference_mm, "mm")
    turns = engine_rpm / _path(gear, final_drive, transfer)
    return turns * circumference_mm / _MM_PER_MINUTE_AT_1_KMH


def propshaft_speed_rpm(speed_kmh: float, circumference_mm: float, final_drive: float) -> float:
    """Speed of the propshaft, in rev/min: wheel speed times the final drive it feeds.

    Raises:
        ValueError: the speed is negative, or the circumference or ratio is not above 0.

    >>> round(propshaft_speed_rpm(110, 1927, 3.9))
    3710
    """
    return wheel_speed_rpm(speed_kmh, circumference_mm) * above_zero("final_drive", final_drive)


def final_drive_to_suit(final_drive: float, before_mm: float, after_mm: float) -> float:
    """The final drive that keeps engine speeds as they were when the tyre changes.

    `before_mm` and `after_mm` are rolling circumferences.

    Raises:
        ValueError: the ratio or a circumference is not above 0.

    >>> round(final_drive_to_suit(3.9, 2014, 2285), 2)
    4.42
    """
    above_zero("final_drive", final_drive)
    above_zero("before_mm", before_mm, "mm")
    return final_drive * above_zero("after_mm", after_mm, "mm") / before_mm


def _path(gear: float, final_drive: float, transfer: float) -> float:
    above_zero("gear", gear)
    above_zero("final_drive", final_drive)
    return gear * final_drive * above_zero("transfer", transfer)
