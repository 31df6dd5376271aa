"""How a reader wants it said: millimetres or inches, British or American English.

`restyled` changes an answer as a value, before it is rendered, so that every rendering follows.
Data (JSON, JSON-LD) is never restyled: it stays in the units the vocabulary declares.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any, Final, Literal, TypeAlias, TypeVar

from .answer import Claimed, Comparison, PartRef, Shown, Thing, Value
from .quantities import UNITS
from .report import Table

Units: TypeAlias = Literal["mm", "in"]
Language: TypeAlias = Literal["en-GB", "en-US"]
_V = TypeVar("_V", bound=Value)

_CUSTOMARY: Final = {"mm": ("in", 4), "N·m": ("lb-ft", 1), "kg": ("lb", 2), "km/h": ("mph", 1)}
"""The customary unit, and how many decimals it is shown with: a tenth of a thou for lengths."""

AMERICAN: Final = {
    # Terms of the trade: each is an American label of the vocabulary.
    "final drive": "differential",
    "gear lever": "shifter",
    "gearbox": "transmission",
    "half-shaft": "axle shaft",
    "propshaft": "driveshaft",
    "release bearing": "throw-out bearing",
    "spigot bearing": "pilot bearing",
    "track rod": "tie rod",
    "transfer box": "transfer case",
    # Spelling.
    "aluminium": "aluminum",
    "calliper": "caliper",
    "centre": "center",
    "centred": "centered",
    "colour": "color",
    "fibre": "fiber",
    "grey": "gray",
    "metre": "meter",
    "millimetre": "millimeter",
    "mould": "mold",
    "tyre": "tire",
}
"""Our own words; a label that the vocabulary prefers in American English comes before them."""

_AS_IT_IS: Final = {
    "iri", "question", "catalogue", "outcome", "relation", "verdict", "strictly",
    "number", "maker", "source", "standing", "by", "date", "unit",
}  # fmt: skip
"""Fields that are identifiers, citations or fixed words."""

_NUMBER = r"\d+(?:\.\d+)?"
_MEASURE = (
    rf"(?P<numbers>(?<![\w.])[-−]?{_NUMBER}(?:\s*(?:to|and|or|,|–|±)\s*[-−]?{_NUMBER})*)"
    rf"\s?(?P<unit>{'|'.join(map(re.escape, _CUSTOMARY))})(?![\w²³/])"
)


@dataclass(frozen=True)
class Style:
    """Units and language. `both` adds the other unit in brackets.

    `terms` are British labels with the American ones that stand for them.
    """

    units: Units = "mm"
    language: Language = "en-GB"
    both: bool = False
    terms: Mapping[str, str] = field(default_factory=dict)

    @property
    def plain(self) -> bool:
        """Whether nothing has to be changed."""
        return self.units == "mm" and self.language == "en-GB" and not self.both

    @cached_property
    def words(self) -> Mapping[str, str]:
        """Every British word that is replaced, in small letters, with its replacement."""
        if self.language == "en-GB":
            return {}
        return {**AMERICAN, **{k.lower(): v for k, v in self.terms.items() if k != v}}

    @cached_property
    def _word(self) -> re.Pattern[str]:
        longest = sorted(self.words, key=lambda word: (-len(word), word))
        return re.compile(rf"(?<![\w-])({'|'.join(map(re.escape, longest))})(s?)(?![\w-])", re.I)

    def worded(self, text: str) -> str:
        """A text in the reader's English.

        >>> Style(language="en-US").worded("Centre bore of the callipers")
        'Center bore of the calipers'
        """
        if not self.words:
            return text
        return self._word.sub(self._replaced, text)

    def _replaced(self, found: re.Match[str]) -> str:
        new = self.words[found[1].lower()]
        capital = found[1][0].isupper() and not new[:1].isupper()
        return (new[:1].upper() + new[1:] if capital else new) + found[2]

    def measured(self, value: Decimal, unit: str) -> tuple[Decimal, str]:
        """A number in the reader's unit: converted by the exact factor, then rounded for showing.

        >>> Style(units="in").measured(Decimal(120), "mm")
        (Decimal('4.7244'), 'in')
        """
        if self.units == "mm" or unit not in _CUSTOMARY:
            return value, unit
        return _customary(value, unit)

    def convert(self, text: str, names: Iterable[str] = ()) -> str:
        """A text with its measures in the reader's units; what stands in `names` is left alone.

        >>> Style(units="in").convert("circle diameter 120 mm against 100 mm")
        'circle diameter 4.7244 in against 3.937 in'
        >>> Style(both=True).convert("length 400 to 1900 mm")
        'length 400 to 1900 mm (15.748 to 74.8031 in)'
        >>> Style(units="in").convert("300 mm rotor, 12 mm thick", ["300 mm rotor"])
        '300 mm rotor, 0.4724 in thick'
        """
        if self.units == "mm" and not self.both:
            return text
        kept = "|".join(re.escape(n) for n in sorted(set(names), key=len, reverse=True) if n)
        pattern = rf"(?P<name>{kept})|{_MEASURE}" if kept else _MEASURE
        return re.sub(pattern, self._converted, text)

    def _converted(self, found: re.Match[str]) -> str:
        if found["unit"] is None:
            return found[0]
        unit, numbers = found["unit"], found["numbers"]
        other = _customary(Decimal(0), unit)[1]
        converted = re.sub(_NUMBER, lambda n: _digits(_customary(Decimal(n[0]), unit)[0]), numbers)
        here, there = f"{numbers} {unit}", f"{converted} {other}"
        if not self.both:
            return there
        return f"{here} ({there})" if self.units == "mm" else f"{there} ({here})"


def restyled(value: _V, style: Style) -> _V:
    """The same answer in the reader's units and English; names of parts keep their numbers.

    The question is left as it was asked.
    """
    if style.plain:
        return value
    # A size in the name of a part (“300 mm rotor”) is what the part is called.
    named = frozenset(n for n in _names(value) if re.search(_MEASURE, n))
    restyle: _V = _Restyle(style, named).value(value)
    return restyle


@dataclass(frozen=True, slots=True)
class _Restyle:
    style: Style
    named: frozenset[str]

    def text(self, text: str) -> str:
        return self.style.worded(self.style.convert(text, self.named))

    def value(self, value: Any) -> Any:
        match value:
            case Thing() | PartRef():
                return value.model_copy(update={"label": self.style.worded(value.label)})
            case Comparison():
                return self._comparison(value)
            case Claimed():
                shown, unit = self._number(value.value, value.unit)
                return self._fields(value).model_copy(update={"value": shown, "unit": unit})
            case Table():
                return self._table(value)
            case Value():
                return self._fields(value)
            case tuple():
                return tuple(map(self.value, value))
            case str():
                return self.text(value)
        return value

    def _fields(self, value: _V) -> _V:
        fields = (name for name in type(value).model_fields if name not in _AS_IT_IS)
        return value.model_copy(update={n: self.value(getattr(value, n)) for n in fields})

    def _comparison(self, value: Comparison) -> Comparison:
        names = ("first", "second", "tolerance", "margin")
        numbers = {n: self._number(getattr(value, n), value.unit)[0] for n in names}
        unit = self.style.measured(Decimal(0), value.unit)[1]
        return self._fields(value).model_copy(update={**numbers, "unit": unit})

    def _number(self, value: Shown, unit: str) -> tuple[Shown, str]:
        if isinstance(value, str):
            return value, unit
        new, other = self.style.measured(Decimal(0), unit)
        if value is None or isinstance(value, bool):
            return value, other
        new, other = self.style.measured(Decimal(str(value)), unit)
        return (int(new) if new == new.to_integral_value() else float(new)), other

    def _table(self, table: Table) -> Table:
        columns = tuple(
            c.model_copy(
                update={
                    "label": self.style.worded(c.label),
                    "unit": self.style.measured(Decimal(0), c.unit)[1],
                }
            )
            for c in table.columns
        )
        rows = tuple(
            row.model_copy(
                update={
                    "about": self.value(row.about),
                    "cells": tuple(
                        self._number(cell, column.unit)[0]
                        if not isinstance(cell, str)
                        else self.text(cell)
                        for cell, column in zip(row.cells, table.columns, strict=False)
                    ),
                }
            )
            for row in table.rows
        )
        return Table(columns=columns, rows=rows)


def _names(value: Any) -> Iterator[str]:
    if isinstance(value, (Thing, PartRef)):
        yield value.label
    elif isinstance(value, Value):
        for name in type(value).model_fields:
            yield from _names(getattr(value, name))
    elif isinstance(value, tuple):
        for each in value:
            yield from _names(each)


def _customary(value: Decimal, unit: str) -> tuple[Decimal, str]:
    other, decimals = _CUSTOMARY[unit]
    exact = value * UNITS[unit].factor / UNITS[other].factor
    return exact.quantize(Decimal(1).scaleb(-decimals)).normalize() + 0, other


def _digits(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
