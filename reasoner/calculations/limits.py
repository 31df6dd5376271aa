"""Which numbers a calculation accepts, and what it says to the rest.

Every refusal names the argument, the value it got and what is allowed, so that a desk can see
which figure was mistyped.
"""

from __future__ import annotations

from math import isfinite


def above_zero(name: str, value: float, unit: str = "") -> float:
    """`value` if it is a finite number greater than zero.

    Raises:
        ValueError: it is not.

    >>> above_zero("final_drive", 3.9)
    3.9
    >>> above_zero("length_mm", -5, "mm")
    Traceback (most recent call last):
    ValueError: length_mm is -5 mm: it must be a finite number above 0 mm
    """
    if not isfinite(value) or value <= 0:
        raise ValueError(_says(name, value, unit, f"a finite number above {_with(0, unit)}"))
    return value


def zero_or_more(name: str, value: float, unit: str = "") -> float:
    """`value` if it is a finite number, zero or greater.

    Raises:
        ValueError: it is not.
    """
    if not isfinite(value) or value < 0:
        raise ValueError(_says(name, value, unit, f"a finite number, {_with(0, unit)} or more"))
    return value


def finite(name: str, value: float, unit: str = "") -> float:
    """`value` if it is a finite number of either sign.

    Raises:
        ValueError: it is infinite or not a number.
    """
    if not isfinite(value):
        raise ValueError(_says(name, value, unit, "a finite number"))
    return value


def between(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """`value` if it lies from `low` to `high`, both allowed.

    Raises:
        ValueError: it does not.

    >>> between("angle_deg", 95, 0, 45, "deg")
    Traceback (most recent call last):
    ValueError: angle_deg is 95 deg: it must be from 0 deg to 45 deg
    """
    if not (isfinite(value) and low <= value <= high):
        allowed = f"from {_with(low, unit)} to {_with(high, unit)}"
        raise ValueError(_says(name, value, unit, allowed))
    return value


def share(name: str, value: float) -> float:
    """`value` if it is a share: above 0, at most 1.

    Raises:
        ValueError: it is not.

    >>> share("efficiency", 1.2)
    Traceback (most recent call last):
    ValueError: efficiency is 1.2: it must be above 0 and at most 1
    """
    if not (isfinite(value) and 0 < value <= 1):
        raise ValueError(_says(name, value, "", "above 0 and at most 1"))
    return value


def smaller_than(name: str, value: float, other_name: str, other: float, unit: str = "") -> float:
    """`value` if it is less than `other`, the value of another argument.

    Raises:
        ValueError: it is not.

    >>> smaller_than("inner_mm", 200, "outer_mm", 180, "mm")
    Traceback (most recent call last):
    ValueError: inner_mm is 200 mm: it must be less than outer_mm, which is 180 mm
    """
    if not value < other:
        allowed = f"less than {other_name}, which is {_with(other, unit)}"
        raise ValueError(_says(name, value, unit, allowed))
    return value


def _says(name: str, value: float, unit: str, allowed: str) -> str:
    return f"{name} is {_with(value, unit)}: it must be {allowed}"


def _with(value: float, unit: str) -> str:
    return f"{value} {unit}" if unit else f"{value}"
