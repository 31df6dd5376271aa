"""Quantities as people write them in a sentence, kept exactly, with their conversions.

Conversion factors are exact: the inch, the pound and the mile are defined by theirs.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, TypeAlias

Dimension: TypeAlias = Literal[
    "count", "length", "torque", "mass", "speed", "turning", "money", "labour", "angle"
]


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: how it is printed, what it measures, and how many of the base unit it is.

    The base units are mm, N·m, kg, km/h, rev/min, EUR, hours and degrees.
    """

    name: str
    dimension: Dimension
    factor: Decimal
    spellings: tuple[str, ...]


# By definition the pound is 0.45359237 kg, gravity 9.80665 m/s² and the foot 0.3048 m.
_UNITS: Final = (
    Unit("mm", "length", Decimal(1), ("millimetres", "millimetre", "millimeters", "millimeter")),
    Unit("cm", "length", Decimal(10), ()),
    Unit("in", "length", Decimal("25.4"), ("inch", "inches", '"', "″", "''")),
    Unit("N·m", "torque", Decimal(1), ("Nm", "N-m", "N.m")),
    Unit(
        "lb-ft",
        "torque",
        Decimal("0.45359237") * Decimal("9.80665") * Decimal("0.3048"),
        ("ft-lb", "lbft", "ftlb", "ft-lbs", "lbs-ft", "lbf-ft", "lb·ft", "ft·lb"),
    ),
    Unit("kg", "mass", Decimal(1), ("kilos", "kilo", "kilograms", "kilogram")),
    Unit("lb", "mass", Decimal("0.45359237"), ("lbs", "pounds", "pound")),
    Unit("km/h", "speed", Decimal(1), ("kmh", "kph", "kmph")),
    Unit("mph", "speed", Decimal("1.609344"), ()),
    Unit("rev/min", "turning", Decimal(1), ("rpm", "r/min", "revs")),
    Unit("EUR", "money", Decimal(1), ("€", "euro", "euros")),
    Unit("hours", "labour", Decimal(1), ("hour", "h", "hr", "hrs")),
    Unit("degrees", "angle", Decimal(1), ("degree", "deg", "°")),
    Unit("", "count", Decimal(1), ()),
)
UNITS: Final = {unit.name: unit for unit in _UNITS}
UnitName: TypeAlias = Literal[
    "mm", "cm", "in", "N·m", "lb-ft", "kg", "lb", "km/h", "mph", "rev/min", "EUR", "hours",
    "degrees", "",
]  # fmt: skip
_SPELLED: Final = {
    spelling.lower(): unit for unit in _UNITS for spelling in (unit.name, *unit.spellings)
}
_DIGITS: Final = 9
_NUMBER = re.compile(r"(?:(\d+)[ -])?(\d+)/(\d+)|(\d+(?:\.\d+)?)")
_WRITTEN = re.compile(
    r"(?P<euro>€\s*)?(?P<number>\d[\d.,]*(?:[ -]\d+/\d+|/\d+)?)(?P<unit>.*)", re.S
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with the unit it was written in; `value` is exact, of up to nine decimals."""

    value: Decimal
    unit: UnitName

    @property
    def dimension(self) -> Dimension:
        """What is measured."""
        return UNITS[self.unit].dimension

    @property
    def base(self) -> Decimal:
        """The number in mm, N·m, kg, km/h, rev/min, EUR, hours or degrees.

        >>> Quantity(Decimal(15), "in").base
        Decimal('381.0')
        """
        return self.value * UNITS[self.unit].factor

    def in_unit(self, unit: UnitName) -> Decimal:
        """The number in another unit of the same dimension.

        Raises:
            ValueError: the unit measures something else.

        >>> Quantity(Decimal(50), "mph").in_unit("km/h")
        Decimal('80.467200')
        """
        if UNITS[unit].dimension != self.dimension:
            raise ValueError(f"{self} cannot be given in {unit}")
        return self.base / UNITS[unit].factor

    def __str__(self) -> str:
        """As a sentence prints it, for example `110 km/h`."""
        return f"{self.number} {self.unit}".rstrip()

    @property
    def number(self) -> str:
        """The value in plain digits."""
        plain = format(self.value, "f")
        return plain.rstrip("0").rstrip(".") if "." in plain else plain


class NotAQuantity(ValueError):
    """The text is no quantity; says why, and which part of the text is to blame."""

    def __init__(self, message: str, blame: str) -> None:
        super().__init__(message)
        self.blame = blame


def read_quantity(text: str) -> Quantity:
    """Read a number with an optional unit, as `1 3/8 in`, `110 km/h`, `€500`, `15-inch`.

    Raises:
        NotAQuantity: the number cannot be kept exactly, or nobody knows the unit.

    >>> str(read_quantity("1 3/8 in").base)
    '34.9250'
    >>> str(read_quantity("45 ft-lb"))
    '45 lb-ft'
    """
    found = _WRITTEN.fullmatch(text.strip())
    if found is None:
        raise NotAQuantity(f"“{text}” is no quantity", text)
    written = found["unit"].strip()
    word = written.removeprefix("-") if len(written) > 1 else written
    if found["euro"] and word:
        raise NotAQuantity(f"“{text.strip()}” has two units", word)
    unit = UNITS["EUR"] if found["euro"] else _SPELLED.get(word.strip().lower())
    if unit is None:
        raise NotAQuantity(f"“{word}” is no unit that is known here", word)
    return Quantity(_number(found["number"]), unit.name)  # type: ignore[arg-type]


def unit_table() -> dict[Dimension, tuple[str, ...]]:
    """Every spelling of every unit, by what it measures."""
    table: dict[Dimension, tuple[str, ...]] = {}
    for unit in _UNITS:
        if unit.name:
            own = (unit.name, *unit.spellings)
            table[unit.dimension] = (*table.get(unit.dimension, ()), *own)
    return table


def named(dimension: Dimension) -> tuple[str, ...]:
    """The printed names of the units of a dimension."""
    return tuple(unit.name for unit in _UNITS if unit.dimension == dimension)


def _number(text: str) -> Decimal:
    if "," in text:
        raise NotAQuantity(
            f"“{text}” has a comma: write decimals with a point, and thousands without a mark", text
        )
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise NotAQuantity(f"“{text}” is no number", text)
    if found[4]:
        value = _exact(found[4], text)
    else:
        over, under = int(found[2][: _DIGITS + 1]), int(found[3][: _DIGITS + 1])
        if under == 0:
            raise NotAQuantity(f"“{text}” divides by nought", text)
        value = int((found[1] or "0")[: _DIGITS + 1]) + Decimal(over) / Decimal(under)
        if value * under != int((found[1] or "0")[: _DIGITS + 1]) * under + over:
            raise NotAQuantity(f"“{text}” does not come out even: write a decimal", text)
    if value >= 10**_DIGITS or _decimals(value) > _DIGITS:
        raise NotAQuantity(
            f"“{text}” has more than {_DIGITS} digits before or after its point", text
        )
    return value


def _exact(digits: str, text: str) -> Decimal:
    if len(digits) > 2 * _DIGITS + 1:
        raise NotAQuantity(f"“{_short(text)}” has too many digits", text)
    return Decimal(digits)


def _decimals(value: Decimal) -> int:
    exponent = value.normalize().as_tuple().exponent
    return -exponent if isinstance(exponent, int) else 0


def _short(text: str) -> str:
    return text if len(text) <= 24 else f"{text[:23]}…"
