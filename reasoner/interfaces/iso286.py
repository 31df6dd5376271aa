"""ISO 286 limits and fits for the codes that bearings, pilots and bushes use, up to 500 mm.

Holes F G H J JS K M N P and shafts f g h j js k m n p r, grades 5 to 11. Values are those of the
tables of ISO 286-1:2010 and 286-2:2010, in µm: rounding the standard's formulas does not give
them back everywhere, so the tables rule and the formula (`tolerance_factor`) checks them.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal
from math import cbrt, sqrt

# Nominal sizes "over … up to and including …", mm.
_STEPS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)

# Standard tolerances by grade, one column a step (ISO 286-1 table 1).
_GRADES = {
    4: (3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20),
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
}

# How many tolerance factors i a grade has (ISO 286-1, grades from 5 up).
FACTORS = {5: 7, 6: 10, 7: 16, 8: 25, 9: 40, 10: 64, 11: 100}

# Upper deviations of shafts below the nominal size.
_ABOVE = {
    "f": (-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68),
    "g": (-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20),
    "h": (0,) * 13,
}
# Lower deviations of shafts at or above it.
_BELOW = {
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
}
# j straddles the nominal size unevenly and exists in few grades.
_J_SHAFT = {
    5: (-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20),
    6: (-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20),
    7: (-4, -4, -5, -6, -8, -10, -12, -15, -18, -21, -26, -28, -32),
}
_J_HOLE = {
    6: (2, 5, 5, 6, 8, 10, 13, 16, 18, 22, 25, 29, 33),
    7: (4, 6, 8, 10, 12, 14, 18, 22, 26, 30, 36, 39, 43),
    8: (6, 10, 12, 15, 20, 24, 28, 34, 41, 47, 55, 60, 66),
}
# r has finer steps.
_R_STEPS = (
    *(3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250),
    *(280, 315, 355, 400, 450, 500),
)
_R = (10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132)

_CODE = re.compile(r"([A-Za-z]{1,2})(\d{1,2})")
_MICRON = Decimal("0.001")


class FitCodeError(ValueError):
    """A code or size outside what this module knows; the message says what it does know."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Lower and upper deviation from the nominal size, mm."""

    lower: Decimal
    upper: Decimal


@dataclass(frozen=True, slots=True)
class FitRange:
    """The loosest and tightest cases of a hole and a shaft, mm; negative is the opposite."""

    most_clearance: Decimal
    most_interference: Decimal

    @property
    def least_clearance(self) -> Decimal:
        """Clearance of the tightest case; negative where it is an interference."""
        return -self.most_interference


def tolerance_factor(nominal: float) -> float:
    """The standard tolerance factor i, µm, for the step of a nominal size (ISO 286-1).

    i = 0.45 ∛D + 0.001 D, D the geometric mean of the step's ends.

    >>> round(tolerance_factor(40), 3)
    1.561
    """
    column = _column(Decimal(str(nominal)), _STEPS)
    high = _STEPS[column]
    low = _STEPS[column - 1] if column else 1
    mean = sqrt(low * high)
    return 0.45 * cbrt(mean) + 0.001 * mean


def standard_tolerance(nominal: Decimal, grade: int) -> Decimal:
    """The width of a tolerance grade, mm.

    >>> standard_tolerance(Decimal(40), 7)
    Decimal('0.025')

    Raises:
        FitCodeError: grade not from 5 to 11, or size not above 0 and up to 500 mm.
    """
    if grade not in FACTORS:
        raise FitCodeError(f"grade {grade} is not among {min(FACTORS)} to {max(FACTORS)}")
    return _GRADES[grade][_column(nominal, _STEPS)] * _MICRON


def limits(nominal: Decimal, code: str) -> Limits:
    """Deviations of a hole (capital letter) or shaft (small letter), mm.

    >>> limits(Decimal(40), "k6")
    Limits(lower=Decimal('0.002'), upper=Decimal('0.018'))
    >>> limits(Decimal(62), "N7")
    Limits(lower=Decimal('-0.039'), upper=Decimal('-0.009'))

    Raises:
        FitCodeError: a code or size this module does not know.
    """
    letter, grade = _parse(code)
    width = standard_tolerance(nominal, grade)
    if letter in {"js", "JS"}:
        return Limits(-width / 2, width / 2)
    if letter.islower():
        return _shaft(nominal, letter, grade, width, code)
    return _hole(nominal, letter, grade, width, code)


def _parse(code: str) -> tuple[str, int]:
    found = _CODE.fullmatch(code.strip())
    if not found or found[1] not in _LETTERS:
        raise FitCodeError(f"{code!r} is no ISO 286 code known here: {' '.join(_LETTERS)} and 5-11")
    return found[1], int(found[2])


_HOLES = ("F", "G", "H", "J", "JS", "K", "M", "N", "P")
_SHAFTS = ("f", "g", "h", "j", "js", "k", "m", "n", "p", "r")
_LETTERS = (*_HOLES, *_SHAFTS)


def _column(nominal: Decimal, steps: tuple[int, ...]) -> int:
    if not 0 < nominal <= steps[-1]:
        raise FitCodeError(f"size {nominal} mm is not above 0 and up to {steps[-1]} mm")
    return bisect_left(steps, nominal)


def _shaft(nominal: Decimal, letter: str, grade: int, width: Decimal, code: str) -> Limits:
    column = _column(nominal, _STEPS)
    if letter in _ABOVE:
        upper = _ABOVE[letter][column] * _MICRON
        return Limits(upper - width, upper)
    if letter == "j":
        if grade not in _J_SHAFT:
            raise FitCodeError(f"{code}: j is there in grades {', '.join(map(str, _J_SHAFT))} only")
        lower = _J_SHAFT[grade][column]
    elif letter == "r":
        lower = _R[_column(nominal, _R_STEPS)]
    elif letter == "k" and grade > 7:
        lower = 0
    else:
        lower = _BELOW[letter][column]
    return Limits(lower * _MICRON, lower * _MICRON + width)


def _hole(nominal: Decimal, letter: str, grade: int, width: Decimal, code: str) -> Limits:
    column = _column(nominal, _STEPS)
    small = letter.lower()
    if small in _ABOVE:
        lower = -_ABOVE[small][column] * _MICRON
        return Limits(lower, lower + width)
    if letter == "J":
        if grade not in _J_HOLE:
            raise FitCodeError(f"{code}: J is there in grades {', '.join(map(str, _J_HOLE))} only")
        upper = _J_HOLE[grade][column]
    elif letter == "K" and grade > 8:
        raise FitCodeError(f"{code}: K is there up to grade 8 only")
    elif letter == "N" and grade > 8:
        upper = -4 if column == 0 else 0
    elif letter == "M" and grade == 6 and _STEPS[column] == 315:
        # The one exception of the standard: -9 where the rule gives -11.
        upper = -9
    else:
        # Up to these grades a hole fits like the shaft one grade finer: the rule of Δ.
        finest = 7 if letter == "P" else 8
        delta = 0
        if column and grade <= finest:
            delta = _GRADES[grade][column] - _GRADES[grade - 1][column]
        upper = -_BELOW[small][column] + delta
    return Limits(upper * _MICRON - width, upper * _MICRON)


def fit(
    nominal: Decimal, hole: str, shaft: str, *, shaft_nominal: Decimal | None = None
) -> FitRange:
    """The range from loosest to tightest of a hole and a shaft, mm.

    `shaft_nominal` is the shaft's nominal size where it is not the hole's.

    >>> fit(Decimal(40), "H7", "g6")
    FitRange(most_clearance=Decimal('0.050'), most_interference=Decimal('-0.009'))

    Raises:
        FitCodeError: a code or size this module does not know, or hole and shaft the wrong way.
    """
    if not hole[:1].isupper() or not shaft[:1].islower():
        raise FitCodeError(f"a hole's code is in capitals and a shaft's is not: {hole}/{shaft}")
    own = nominal if shaft_nominal is None else shaft_nominal
    bore, pin = limits(nominal, hole), limits(own, shaft)
    step = nominal - own
    return FitRange(step + bore.upper - pin.lower, pin.upper - bore.lower - step)
