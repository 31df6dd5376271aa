"""Tyre sizes: reading the marking on the side wall, and how far a wheel rolls in one turn.

Dimensions follow the design formulas of the tyre regulations (UN Regulations 30 and 54): section
height is section width times aspect ratio, overall diameter is rim diameter plus twice that.
They are those of the new, unloaded tyre as designed; one maker's tyre may differ by 1 % and more.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import Enum

from .limits import above_zero, between, smaller_than

MM_PER_INCH = 25.4

ROLLING_FACTOR = 3.05
"""Rolling circumference ÷ overall diameter of a loaded radial tyre at about 60 km/h (from memory:
the convention of the European tyre and rim standards manual and of DIN 70020-5). It is 2.9 %
below π: the tread shortens a little as it passes through the contact patch."""

ROLLING_ABOVE_PERCENT = 1.5
ROLLING_BELOW_PERCENT = 2.5
"""Band around the conventional rolling circumference (same origin, from memory). Load, pressure,
wear (up to 2.5 % more) and the make of tyre all move it; measure where it matters."""

ASSUMED_METRIC_ASPECT = 82.0
"""Aspect in percent of a metric size that states none, as 185R14 (common practice: 80 to 82)."""

ASSUMED_NUMERIC_ASPECT = 100.0
"""Aspect in percent assumed for an old inch size such as 6.00-16 (common practice, 93 to 107)."""

ASSUMED_HEIGHT_PERCENT = 7.0
"""How far an assumed section height may be wrong, in percent of that height."""


class TyreFamily(Enum):
    """How the size is marked."""

    METRIC = "metric"
    """205/55R16, LT235/85R16, 185R14C: width in mm, aspect in percent, rim in inches."""
    FLOTATION = "flotation"
    """31x10.50R15LT: overall diameter, width and rim, all in inches."""
    NUMERIC = "numeric"
    """6.00-16, 7.50R16C: width and rim in inches; the height is not in the marking."""


@dataclass(frozen=True, slots=True)
class TyreSize:
    """A tyre size as marked.

    `width_mm` is the nominal section width. `aspect_percent` is None where the marking has none.
    `diameter_in` is the marked overall diameter (flotation only). `construction` is "R" (radial),
    "D" (diagonal, bias) or "B" (bias-belted). `prefix` is "", "P", "LT" or "T" (temporary spare);
    `suffix` is "", "LT" or "C" (commercial). `speed_in_size` is the letter inside an older
    marking such as 205/55ZR16, or "". `load_index_dual` is the second of 115/112.

    Raises:
        ValueError: a dimension no road tyre has.
    """

    family: TyreFamily
    width_mm: float
    rim_in: float
    construction: str = "R"
    aspect_percent: float | None = None
    diameter_in: float | None = None
    prefix: str = ""
    suffix: str = ""
    speed_in_size: str = ""
    load_index: int | None = None
    load_index_dual: int | None = None
    speed_symbol: str | None = None

    def __post_init__(self) -> None:
        between("width_mm", self.width_mm, 70, 500, "mm")
        between("rim_in", self.rim_in, 8, 30, "in")
        if self.aspect_percent is not None:
            between("aspect_percent", self.aspect_percent, 20, 110, "%")
        if (self.family is TyreFamily.FLOTATION) != (self.diameter_in is not None):
            raise ValueError("diameter_in is the marked diameter of a flotation size, and only its")
        if self.diameter_in is not None:
            smaller_than("rim_in", self.rim_in, "diameter_in", self.diameter_in, "in")
            between("diameter_in", self.diameter_in, 15, 60, "in")

    @property
    def height_is_assumed(self) -> bool:
        """Whether the marking leaves the section height open and a customary aspect stands in."""
        return self.aspect_percent is None and self.diameter_in is None

    @property
    def section_height_mm(self) -> float:
        """From rim seat to tread, in mm.

        >>> round(parse_tyre("205/55R16").section_height_mm, 2)
        112.75
        """
        if self.diameter_in is not None:
            return (self.diameter_in - self.rim_in) * MM_PER_INCH / 2
        aspect = self.aspect_percent
        if aspect is None:
            metric = self.family is TyreFamily.METRIC
            aspect = ASSUMED_METRIC_ASPECT if metric else ASSUMED_NUMERIC_ASPECT
        return self.width_mm * aspect / 100

    @property
    def overall_diameter_mm(self) -> float:
        """Across the tread of the new, unloaded tyre, in mm.

        >>> round(parse_tyre("31x10.50R15LT").overall_diameter_mm, 1)
        787.4
        """
        return self.rim_in * MM_PER_INCH + 2 * self.section_height_mm

    @property
    def size(self) -> str:
        """The size without load index and speed symbol, in one spelling."""
        middle = self.speed_in_size + self.construction
        if self.family is TyreFamily.METRIC:
            aspect = "" if self.aspect_percent is None else f"/{self.aspect_percent:g}"
            return f"{self.prefix}{self.width_mm:g}{aspect}{middle}{self.rim_in:g}{self.suffix}"
        if self.construction == "D":
            middle = "-"
        width = f"{self.width_mm / MM_PER_INCH:.2f}"
        across = "" if self.diameter_in is None else f"{self.diameter_in:g}x"
        return f"{self.prefix}{across}{width}{middle}{self.rim_in:g}{self.suffix}"

    def __str__(self) -> str:
        dual = "" if self.load_index_dual is None else f"/{self.load_index_dual}"
        index = "" if self.load_index is None else f"{self.load_index}{dual}"
        service = f"{index}{self.speed_symbol or ''}"
        return f"{self.size} {service}" if service else self.size


_SERVICE = r"(?:\s+\(?(?P<load>\d{2,3})(?:/(?P<dual>\d{2,3}))?\s*(?P<speed>[A-HJ-NP-WY]\d?)?\)?)?"
_EXTRA = r"(?:\s*(?:XL|EXTRA LOAD|RF|REINFORCED|M\+S|TL|TT|TUBELESS|(?:LR\s*)?[B-G]))*"
_CONSTRUCTION = r"(?P<inner>[ZHVS])?(?P<construction>[RDB]|-)"
_RIM = r"(?P<rim>\d{1,2}(?:\.5)?)"
_METRIC = re.compile(
    r"(?P<prefix>LT|P|T)?\s*(?P<width>\d{2,3})\s*(?:/\s*(?P<aspect>\d{2,3}))?\s*"
    + _CONSTRUCTION + r"\s*" + _RIM + r"\s*(?P<suffix>LT|C)?" + _SERVICE + _EXTRA
)  # fmt: skip
_FLOTATION = re.compile(
    r"(?P<prefix>LT)?\s*(?P<across>\d{2}(?:\.\d{1,2})?)\s*X\s*(?P<width>\d{1,2}(?:\.\d{1,2})?)\s*"
    + _CONSTRUCTION + r"\s*" + _RIM + r"\s*(?P<suffix>LT|C)?" + _SERVICE + _EXTRA
)  # fmt: skip
_NUMERIC = re.compile(
    r"(?P<prefix>LT)?\s*(?P<width>\d{1,2}\.\d{1,2})\s*"
    + _CONSTRUCTION + r"\s*" + _RIM + r"\s*(?P<suffix>LT|C)?" + _SERVICE + _EXTRA
)  # fmt: skip


def parse_tyre(text: str) -> TyreSize:
    """Read a tyre marking as people write it.

    Raises:
        ValueError: it is no marking of the kinds read here, or a dimension is out of range.

    >>> parse_tyre("205/55 ZR16 91W").size
    '205/55ZR16'
    >>> str(parse_tyre("lt 235/85 r 16 120/116 q"))
    'LT235/85R16 120/116Q'
    >>> parse_tyre("7.50-16").height_is_assumed
    True
    >>> parse_tyre("205-16")
    Traceback (most recent call last):
    ValueError: “205-16” is no tyre size: expected one like 205/55R16, LT235/85R16, \
31x10.50R15LT or 7.50-16
    """
    wanted = re.sub(r"\s+", " ", text.strip().upper().replace("×", "X"))
    for family, pattern in (
        (TyreFamily.FLOTATION, _FLOTATION),
        (TyreFamily.NUMERIC, _NUMERIC),
        (TyreFamily.METRIC, _METRIC),
    ):
        found = pattern.fullmatch(wanted)
        if found and not (family is TyreFamily.METRIC and found["construction"] == "-"):
            return _size(family, found)
    raise ValueError(
        f"“{text}” is no tyre size: expected one like 205/55R16, LT235/85R16, "
        "31x10.50R15LT or 7.50-16"
    )


def _size(family: TyreFamily, found: re.Match[str]) -> TyreSize:
    parts = found.groupdict()
    in_inches = family is not TyreFamily.METRIC
    size = TyreSize(
        family=family,
        width_mm=float(parts["width"]) * (MM_PER_INCH if in_inches else 1),
        rim_in=float(parts["rim"]),
        construction=parts["construction"].replace("-", "D"),
        aspect_percent=float(parts["aspect"]) if parts.get("aspect") else None,
        diameter_in=float(parts["across"]) if parts.get("across") else None,
        prefix=parts["prefix"] or "",
        suffix=parts["suffix"] or "",
        speed_in_size=parts["inner"] or "",
    )
    return replace(
        size,
        load_index=int(parts["load"]) if parts["load"] else None,
        load_index_dual=int(parts["dual"]) if parts["dual"] else None,
        speed_symbol=parts["speed"],
    )


@dataclass(frozen=True, slots=True)
class RollingCircumference:
    """How far a loaded wheel goes in one turn: the conventional value and its band, in mm."""

    nominal_mm: float
    least_mm: float
    most_mm: float

    @property
    def revs_per_km(self) -> float:
        """Turns of the wheel in one kilometre, by the conventional value."""
        return revs_per_km(self.nominal_mm)


def rolling_circumference(tyre: TyreSize, factor: float = ROLLING_FACTOR) -> RollingCircumference:
    """How far `tyre` rolls in one turn, by the convention `factor` × overall diameter, in mm.

    The factor is that of radial tyres. Where the section height itself is assumed (6.00-16,
    185R14) the band is wider by what that may be wrong.

    Raises:
        ValueError: `factor` is not from 2.8 to 3.2.

    >>> rolling = rolling_circumference(parse_tyre("205/55R16"))
    >>> round(rolling.nominal_mm), round(rolling.least_mm), round(rolling.most_mm)
    (1927, 1879, 1956)
    >>> round(rolling.revs_per_km, 1)
    518.9
    """
    between("factor", factor, 2.8, 3.2)
    nominal = factor * tyre.overall_diameter_mm
    slack = 0.0
    if tyre.height_is_assumed:
        slack = factor * 2 * tyre.section_height_mm * ASSUMED_HEIGHT_PERCENT / 100
    return RollingCircumference(
        nominal_mm=nominal,
        least_mm=(nominal - slack) * (1 - ROLLING_BELOW_PERCENT / 100),
        most_mm=(nominal + slack) * (1 + ROLLING_ABOVE_PERCENT / 100),
    )


def revs_per_km(circumference_mm: float) -> float:
    """Turns of a wheel in one kilometre.

    Raises:
        ValueError: the circumference is not above 0 mm.

    >>> revs_per_km(2000)
    500.0
    """
    return 1e6 / above_zero("circumference_mm", circumference_mm, "mm")


def circumference_from_revs_per_km(turns: float) -> float:
    """Rolling circumference in mm of a wheel counted to turn `turns` times in one kilometre.

    Raises:
        ValueError: the count is not above 0.
    """
    return 1e6 / above_zero("turns", turns, "rev/km")


def circumference_change_percent(before_mm: float, after_mm: float) -> float:
    """How much further the wheel rolls in one turn after a change of tyre, in percent.

    Raises:
        ValueError: a circumference is not above 0 mm.

    >>> round(circumference_change_percent(1927, 2014), 1)
    4.5
    """
    before = above_zero("before_mm", before_mm, "mm")
    return (above_zero("after_mm", after_mm, "mm") / before - 1) * 100
