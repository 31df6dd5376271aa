"""Reading quantities as people write them: `1 3/8 in`, `45 ft-lb`, `62 mph`, `14,5 mm` refused.

Conversion is pint's. The text itself is read here, because a unit library takes `ft-lb` for a
subtraction and works out any sum that is put to it.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import cache
from math import isfinite

import pint

_SPELLINGS: dict[str, tuple[str, ...]] = {
    "millimetre": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "centimetre": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "metre": ("m", "metre", "metres", "meter", "meters"),
    "kilometre": ("km", "kilometre", "kilometres", "kilometer", "kilometers"),
    "inch": ("in", "inch", "inches", '"', "''"),
    "foot": ("ft", "foot", "feet", "'"),
    "mile": ("mi", "mile", "miles"),
    "thou": ("thou",),  # not “mil”, which is a thou to some and a millimetre to others
    "newton * metre": ("nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters"),
    "foot * force_pound": ("ftlb", "ftlbs", "lbft", "lbsft", "ftlbf", "lbfft", "poundfoot",
                           "poundfeet", "footpound", "footpounds"),
    "inch * force_pound": ("inlb", "inlbs", "lbin", "lbsin", "inlbf", "lbfin", "inchpound",
                           "inchpounds", "poundinch", "poundinches"),
    "kilogram_force * metre": ("kgfm", "kgm", "mkg", "mkgf", "kpm"),
    "kilometre / hour": ("km/h", "kmh", "kph", "kmph"),
    "mile / hour": ("mph", "mi/h", "milesperhour"),
    "revolution / minute": ("rpm", "rev/min", "r/min", "1/min", "min^-1"),
    "kilogram": ("kg", "kilogram", "kilograms", "kilo", "kilos"),
    "pound": ("lb", "lbs", "pound", "pounds"),
    "newton": ("n", "newton", "newtons"),
    "kilonewton": ("kn", "kilonewton", "kilonewtons"),
    "force_pound": ("lbf", "poundforce"),
    "kilogram_force": ("kgf", "kp"),
    "megapascal": ("mpa", "n/mm2", "n/mm²"),
    "kilopascal": ("kpa",),
    "bar": ("bar",),
    "pound_force_per_square_inch": ("psi", "lb/in2", "lb/in²"),
    "degree": ("deg", "degree", "degrees", "°"),
    "radian": ("rad", "radian", "radians"),
}  # fmt: skip

_PINT_NAMES = {spelling: unit for unit, each in _SPELLINGS.items() for spelling in each}

_QUANTITY = re.compile(
    r"(?P<sign>[+-]?)(?:"
    r"(?:(?P<whole>\d{1,9})[ -])?(?P<over>\d{1,9}) ?/ ?(?P<under>\d{1,9})"
    r"|(?P<decimal>\d{1,15}(?:\.\d{1,15})?|\.\d{1,15})"
    r") ?(?P<unit>[^\d\s].*)?"
)

_MARKS = str.maketrans({"−": "-", "–": "-", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'",
                        "⁄": "/", "\u00a0": " ", "\u202f": " "})  # fmt: skip


def read_quantity(text: str, unit: str) -> float:
    """Read `text`, a number with its unit, as a number of `unit`.

    Numbers may be decimal (`34.9`), a fraction (`3/8`, `⅜`) or mixed (`1 3/8`, `1-3/8`). A
    comma is refused, since it is a decimal mark to some and groups thousands for others.

    Raises:
        ValueError: there is no number, no unit, one that is not known, or one that measures
            something else than `unit` does.

    >>> read_quantity("1 3/8 in", "mm")
    34.925
    >>> round(read_quantity("45 ft-lb", "N·m"), 2)
    61.01
    >>> round(read_quantity("62 mph", "km/h"), 1)
    99.8
    >>> read_quantity("12", "mm")
    Traceback (most recent call last):
    ValueError: “12” has no unit: write for example “12 mm”
    >>> read_quantity("12 lb-in", "mm")
    Traceback (most recent call last):
    ValueError: a quantity in lb-in cannot be given in mm: they measure different things
    """
    shown = text.strip()
    if "," in shown:
        raise ValueError(f"“{shown}” has a comma: write a decimal point, and no mark for thousands")
    found = _QUANTITY.fullmatch(re.sub(r"\s+", " ", _plain(shown)))
    if found is None:
        raise ValueError(f"“{shown}” is no quantity: write for example “1 3/8 in” or “34.9 {unit}”")
    if not found["unit"]:
        raise ValueError(f"“{shown}” has no unit: write for example “{shown} {unit}”")
    number = _number(shown, found)
    return convert(number, found["unit"], unit)


def convert(value: float, unit: str, to: str) -> float:
    """A number of one unit as a number of another.

    Raises:
        ValueError: the value is not finite, a unit is not known, or they measure different things.

    >>> round(convert(100, "N·m", "lb-ft"), 2)
    73.76
    """
    if not isfinite(value):
        raise ValueError(f"value is {value}: it must be a finite number")
    # The factor first: an inch becomes exactly 25.4 mm, so that fractions stay exact too.
    one = _registry().Quantity(1.0, _pint_name(unit))
    try:
        return value * _tidy(float(one.to(_pint_name(to)).magnitude))
    except pint.DimensionalityError:
        raise ValueError(
            f"a quantity in {unit} cannot be given in {to}: they measure different things"
        ) from None


def known_units() -> tuple[str, ...]:
    """One spelling of every unit that can be read, in order of name."""
    return tuple(sorted(each[0] for each in _SPELLINGS.values()))


def _tidy(factor: float) -> float:
    # pint multiplies through metres and leaves 25.399999999999995; 14 digits are all it knows.
    return float(f"{factor:.14g}")


def _plain(text: str) -> str:
    parts = []
    for sign in text.translate(_MARKS):
        value = Fraction(unicodedata.numeric(sign)).limit_denominator(100) if sign in _VULGAR else 0
        parts.append(f" {value.numerator}/{value.denominator} " if value else sign)
    return "".join(parts).strip()


_VULGAR = "¼½¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚"


def _number(shown: str, found: re.Match[str]) -> float:
    sign = -1 if found["sign"] == "-" else 1
    if found["decimal"]:
        return sign * float(found["decimal"])
    under = int(found["under"])
    if under == 0:
        raise ValueError(f"“{shown}” divides by nought")
    return sign * float(int(found["whole"] or 0) + Fraction(int(found["over"]), under))


def _pint_name(unit: str) -> str:
    name = _PINT_NAMES.get(re.sub(r"[\s·*.\-]", "", unit).lower())
    if name is None:
        name = _PINT_NAMES.get(unit.strip().lower())
    if name is None:
        raise ValueError(f"unit “{unit}” is not known: use one of {', '.join(known_units())}")
    return name


@cache
def _registry() -> pint.UnitRegistry[float]:
    """pint's registry, made on first use because reading its definitions takes a while."""
    return pint.UnitRegistry()
