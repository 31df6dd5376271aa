"""Rows as their plan has them: headers matched, cells judged, every fault noted with its place.

A cell that is wrong gives None and a fault; reading goes on, so that all faults are told at once.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from rdflib import URIRef

from .columns import Column, SheetPlan
from .faults import FaultList
from .measure import in_unit, spell_decimal, split_quantity
from .names import Names, NotFound, key_of, nearest
from .tables import Bad, Cell, Row
from .vocabulary import Limits

_HEADER = re.compile(r"(?P<label>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]\s*")
_PLAIN = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,9})?")
_MONTH = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])")
_DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")
_YES = {"yes": True, "true": True, "y": True, "no": False, "false": False, "n": False}


@dataclass(frozen=True, slots=True)
class Place:
    """A column of the plan as a file has it: where, under which header, with which unit."""

    at: int
    column: Column
    header: str
    unit: str


def match_headers(
    plan: SheetPlan, sheet: str, number: int, row: Row, faults: FaultList
) -> dict[str, Place]:
    """The plan's columns by key as the header row has them."""
    known: dict[str, Column] = {}
    for planned in plan.columns:
        for name in (planned.label, planned.key, *planned.synonyms):
            known.setdefault(key_of(name), planned)
    found: dict[str, Place] = {}
    for at, cell in enumerate(row):
        if cell is None:
            continue
        header = cell.what if isinstance(cell, Bad) else str(cell)
        column, unit = known.get(key_of(header)), ""
        parted = _HEADER.fullmatch(header)
        if column is None and parted is not None:
            column, unit = known.get(key_of(parted["label"])), parted["unit"].strip()
        if column is None:
            allowed = ", ".join(c.header for c in plan.columns)
            near = nearest(header, (c.header for c in plan.columns))
            faults.add(sheet, number, header, f"no such column{near}; there are {allowed}")
        elif column.key in found:
            faults.add(sheet, number, header, "stands twice")
        else:
            if unit and not _unit_serves(unit, column, sheet, number, header, faults):
                unit = column.unit
            found[column.key] = Place(at, column, header, unit)
    for planned in plan.columns:
        if planned.required and planned.key not in found:
            faults.add(sheet, number, planned.header, "this column is needed and is missing")
    return found


def _unit_serves(
    unit: str, column: Column, sheet: str, number: int, header: str, faults: FaultList
) -> bool:
    if not column.unit:
        faults.add(sheet, number, header, f"“{column.label}” has no unit; leave “{unit}” out")
        return False
    try:
        in_unit(Fraction(1), unit, column.unit)
    except ValueError as error:
        faults.add(sheet, number, header, str(error))
        return False
    return True


@dataclass(slots=True)
class Record:
    """One row under its headers. Every reading that fails notes a fault and makes it not `ok`."""

    sheet: str
    number: int
    cells: Row
    places: Mapping[str, Place]
    plan: SheetPlan
    names: Names
    faults: FaultList
    columns: Mapping[str, Column]
    ok: bool = True

    def fault(self, key: str, what: str) -> None:
        """Something wrong with a cell, or with the row where `key` is ""."""
        self.ok = False
        place = self.places.get(key)
        header = place.header if place else self.columns[key].header if key else ""
        self.faults.add(self.sheet, self.number, header, what)

    def raw(self, key: str) -> Cell:
        """The cell; a fault if it is needed and blank, or not to be trusted."""
        place = self.places.get(key)
        cell = self.cells[place.at] if place and place.at < len(self.cells) else None
        if isinstance(cell, Bad):
            self.fault(key, cell.what)
            return None
        if cell is None and place is not None and place.column.required:
            self.fault(key, f"blank; needed is {place.column.takes.value}")
        return cell

    def has(self, key: str) -> bool:
        """Whether the cell is filled, with whatever."""
        place = self.places.get(key)
        return place is not None and place.at < len(self.cells) and self.cells[place.at] is not None

    def text(self, key: str) -> str:
        """A text; "" if blank. Whole numbers count, since spreadsheets make them of figures."""
        cell = self.raw(key)
        if cell is None:
            return ""
        if isinstance(cell, (bool, date)):
            self.fault(key, f"{_shown(cell)} {_made_a(cell)}; format the column as text")
            return ""
        text = spell_decimal(cell) if isinstance(cell, Decimal) else str(cell)
        limits = self.columns[key].limits
        if limits.pattern and not re.search(limits.pattern, text):
            self.fault(key, f"“{text}” will not do. {limits.said}".strip())
            return ""
        return text

    def texts(self, key: str) -> tuple[str, ...]:
        """Texts of one cell, parted by semicolons."""
        return tuple(filter(None, (t.strip() for t in self.text(key).split(";"))))

    def choice(self, key: str) -> str:
        """One of the column's list, as the list spells it; "" if blank or wrong."""
        text = self.text(key)
        choices = {key_of(c): c for c in self.columns[key].choices}
        if text and key_of(text) not in choices:
            near = nearest(text, choices.values())
            allowed = ", ".join(choices.values())
            self.fault(key, f"“{text}” is none of {allowed}{near}")
            return ""
        return choices.get(key_of(text), "")

    def name(self, key: str, of: tuple[str, ...] | None = None) -> URIRef | None:
        """The thing that the cell names."""
        text = self.text(key)
        return self._named(key, text, of) if text else None

    def all_names(self, key: str) -> tuple[URIRef, ...]:
        """The things that one cell names, parted by semicolons."""
        found = (self._named(key, text) for text in self.texts(key))
        return tuple(iri for iri in found if iri is not None)

    def _named(self, key: str, text: str, of: tuple[str, ...] | None = None) -> URIRef | None:
        try:
            return self.names.find(text, of or self.columns[key].of)
        except NotFound as error:
            self.fault(key, str(error))
            return None

    def number_in(self, key: str) -> Decimal | None:
        """A number in the column's unit, converted if header or cell give another."""
        place = self.places.get(key)
        cell = self.raw(key)
        if cell is None or place is None:
            return None
        column = place.column
        return self.quantity(key, cell, place.unit, column.unit, column.limits)

    def quantity(
        self, key: str, cell: Cell, unit: str, to: str, limits: Limits, whole: bool = False
    ) -> Decimal | None:
        """A number or a quantity as a number of `to`; the cell's own unit wins over `unit`."""
        if unit == to and not whole:  # as nearly every cell of a long list is
            plain = Decimal(cell) if isinstance(cell, str) and _PLAIN.fullmatch(cell) else cell
            if isinstance(plain, Decimal) and limits.allows(plain):
                return plain
        split = self._split(key, cell)
        if split is None:
            return None
        number, own = split
        if not to and (own or unit):
            self.fault(key, f"{_shown(cell)} is no bare number; leave “{own or unit}” out")
            return None
        if to and not (own or unit):
            example = f"{_shown(cell).strip('“”')} {to}"
            self.fault(key, f"{_shown(cell)} has no unit: write for example “{example}”")
            return None
        try:
            value = in_unit(number, own or unit, to) if to else in_unit(number, "", "")
        except ValueError as error:
            self.fault(key, str(error))
            return None
        if whole and value != value.to_integral_value():
            self.fault(key, f"{_shown(cell)} is no whole number. {limits.said}".strip())
            return None
        if not limits.allows(value):
            given = f"{_shown(cell)} is {spell_decimal(value)} {to}" if own else _shown(cell)
            self.fault(key, f"{given}: {limits.said or _said(limits, to)}")
            return None
        return value

    def _split(self, key: str, cell: Cell) -> tuple[Fraction, str] | None:
        if isinstance(cell, Decimal):
            return Fraction(cell), ""
        if not isinstance(cell, str):
            self.fault(key, f"{_shown(cell)} {_made_a(cell)}; format the column as text")
            return None
        try:
            return split_quantity(cell)
        except ValueError as error:
            self.fault(key, str(error))
            return None

    def whole(self, key: str) -> int | None:
        """A whole number without a unit."""
        cell = self.raw(key)
        if cell is None:
            return None
        limits = self.columns[key].limits
        value = self.quantity(key, cell, "", "", limits, whole=True)
        return None if value is None else int(value)

    def month(self, key: str) -> str:
        """A month as `2024-09`; "" if blank or wrong. A spreadsheet's own date will do."""
        cell = self.raw(key)
        if isinstance(cell, date):
            return f"{cell:%Y-%m}"
        if cell is None or (isinstance(cell, str) and _MONTH.fullmatch(cell)):
            return cell or ""
        self.fault(key, f"{_shown(cell)} is no month: write for example 2024-09")
        return ""

    def day(self, key: str) -> str:
        """A day as `2024-09-30`; "" if blank or wrong."""
        cell = self.raw(key)
        if isinstance(cell, date):
            return cell.isoformat()
        if isinstance(cell, str) and _DAY.fullmatch(cell):
            try:
                return date.fromisoformat(cell).isoformat()
            except ValueError:
                pass
        elif cell is None:
            return ""
        self.fault(key, f"{_shown(cell)} is no day: write for example 2024-09-30")
        return ""

    def flag(self, key: str) -> bool | None:
        """Yes or no; None if blank."""
        cell = self.raw(key)
        if cell is None or isinstance(cell, bool):
            return cell
        said = _YES.get(str(cell).casefold())
        if said is None:
            self.fault(key, f"{_shown(cell)} is neither yes nor no")
        return said


def records(
    plan: SheetPlan,
    sheet: str,
    rows: Iterator[tuple[int, Row]],
    names: Names,
    faults: FaultList,
) -> Iterator[Record]:
    """The rows under the header row; read on even under a wrong one, for all faults at once."""
    first = next(rows, None)
    if first is None:
        return
    places = match_headers(plan, sheet, first[0], first[1], faults)
    columns = {column.key: column for column in plan.columns}
    headed = [at for at, cell in enumerate(first[1]) if cell is not None]
    last, named = headed[-1], set(headed)
    for number, cells in rows:
        record = Record(sheet, number, cells, places, plan, names, faults, columns)
        strays = [at for at, c in enumerate(cells) if c is not None and at not in named]
        if strays:
            where = "beyond the last column" if strays[0] > last else "in a column without a header"
            record.fault("", f"{_shown(cells[strays[0]])} stands {where}")
        yield record


def _shown(cell: Cell) -> str:
    if isinstance(cell, Bad):
        return cell.what
    if isinstance(cell, Decimal):
        return f"“{spell_decimal(cell)}”"
    return f"“{cell}”" if isinstance(cell, str) else str(cell)


def _made_a(cell: Cell) -> str:
    if isinstance(cell, date):
        return "is a date, which spreadsheets make of such as 3/8 or 9-24"
    return "is true or false"


def _said(limits: Limits, unit: str) -> str:
    bounds = [
        *([f"not below {limits.least}"] if limits.least is not None else []),
        *([f"not over {limits.most}"] if limits.most is not None else []),
        *([f"over {limits.above}"] if limits.above is not None else []),
        *([f"below {limits.below}"] if limits.below is not None else []),
    ]
    return f"allowed is what is {' and '.join(bounds)} {unit}".rstrip()
