"""Numbers and quantities of cells, converted exactly: `1 3/8 in` is 34.925 mm, not nearly so.

Which units there are and how they compare is the calculations' business (`calculations.units`);
here their factors are applied without floating point. Factors are exact for inches, feet and
pounds; the library knows others, such as the pound-foot, to 14 digits.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from functools import cache

from ...calculations.units import convert

_PLACES = 9
"""Decimal places kept of what does not end, such as 1/3 in: a millionth of a micrometre."""

_NUMBER = re.compile(
    r"(?P<sign>[+-]?)(?:"
    r"(?:(?P<whole>\d{1,9})[ -])?(?P<over>\d{1,9}) ?/ ?(?P<under>\d{1,9})"
    r"|(?P<decimal>\d{1,15}(?:\.\d{1,15})?|\.\d{1,15})"
    r")(?: ?(?P<unit>[^\d\s.,/-].*))?"
)
_SIGNS = str.maketrans({"−": "-", "–": "-", "⁄": "/", "\u00a0": " ", "\u202f": " "})
_OWN_UNITS: dict[str, dict[str, Fraction]] = {
    "EUR": dict.fromkeys(("eur", "€", "euro", "euros"), Fraction(1)),
    "h": {
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), Fraction(1)),
        **dict.fromkeys(("min", "minute", "minutes"), Fraction(1, 60)),
    },
}
"""Units of what is no physical quantity here: money and working time."""

PITCHES = ("dp", "diametral pitch")
"""Diametral pitch: teeth to the inch of pitch diameter, as American drawings give splines."""


def split_quantity(text: str) -> tuple[Fraction, str]:
    """A number as written, and the unit behind it or "".

    Raises:
        ValueError: there is no number, or it has a comma.

    >>> split_quantity("1 3/8 in")
    (Fraction(11, 8), 'in')
    >>> split_quantity("⅜")
    (Fraction(3, 8), '')
    >>> split_quantity("1,5")
    Traceback (most recent call last):
    ValueError: “1,5” has a comma: write a decimal point, and no mark for thousands
    """
    shown = text.strip()
    if "," in shown:
        raise ValueError(f"“{shown}” has a comma: write a decimal point, and no mark for thousands")
    found = _NUMBER.fullmatch(re.sub(r"\s+", " ", _spelt(shown)))
    if found is None:
        raise ValueError(f"“{shown}” is no number: write for example 34.9, 3/8 or 1 3/8")
    if found["decimal"]:
        number = Fraction(Decimal(found["decimal"]))
    else:
        under = int(found["under"])
        if under == 0:
            raise ValueError(f"“{shown}” divides by nought")
        number = int(found["whole"] or 0) + Fraction(int(found["over"]), under)
    return (-number if found["sign"] == "-" else number), (found["unit"] or "").strip()


def in_unit(number: Fraction, unit: str, to: str) -> Decimal:
    """A number of `unit` as a number of `to`, the unit in which the catalogue keeps it.

    Raises:
        ValueError: a unit is not known, or they measure different things.

    >>> in_unit(Fraction(11, 8), "in", "mm")
    Decimal('34.925')
    >>> in_unit(Fraction(20), "DP", "mm")
    Decimal('1.27')
    """
    if unit.strip().lower() in PITCHES and to == "mm":
        if number <= 0:
            raise ValueError("a diametral pitch is more than 0")
        return decimal_of(Fraction(Decimal("25.4")) / number)
    return decimal_of(number * _factor(unit, to))


def decimal_of(number: Fraction) -> Decimal:
    """The exact decimal, or the nearest with nine places where it has no end.

    >>> decimal_of(Fraction(1, 8)), decimal_of(Fraction(1, 3))
    (Decimal('0.125'), Decimal('0.333333333'))
    """
    rest = number.denominator
    places = 0
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest //= prime
            count += 1
        places = max(places, count)
    scaled = round(number * 10 ** (places if rest == 1 else _PLACES))
    text = Decimal(scaled).scaleb(-(places if rest == 1 else _PLACES))
    plain = format(text, "f")
    return Decimal(plain.rstrip("0").rstrip(".") if "." in plain else plain)


def spell_decimal(value: Decimal) -> str:
    """A decimal as text without an exponent.

    >>> spell_decimal(Decimal("1E+2"))
    '100'
    """
    return format(value, "f")


@cache
def _factor(unit: str, to: str) -> Fraction:
    own = _OWN_UNITS.get(to)
    if own is not None:
        factor = own.get(unit.strip().lower())
        if factor is None:
            raise ValueError(f"unit “{unit}” cannot be given in {to}: use {', '.join(own)}")
        return factor
    if unit == to:
        return Fraction(1)
    return Fraction(Decimal(repr(convert(1.0, unit, to))))


def _spelt(text: str) -> str:
    parts = []
    for sign in text.translate(_SIGNS):
        if sign in "¼½¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚":
            value = Fraction(unicodedata.numeric(sign)).limit_denominator(100)
            parts.append(f" {value.numerator}/{value.denominator} ")
        else:
            parts.append(sign)
    return "".join(parts).strip()
