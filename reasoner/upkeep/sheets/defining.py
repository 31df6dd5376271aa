"""Which new names a file brings, before anything else of it is read.

Rows may name what stands further down or on a later sheet, so the names come first.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field

from rdflib import URIRef

from .faults import FaultList
from .names import Names, key_of
from .rows import Record
from .statements import Statements

SPACE = "https://knockon.example/"
"""Where the catalogue's own things have their addresses."""

_MAY_BE_KNOWN = ("operation",)


@dataclass(slots=True)
class Defined:
    """What each row of the defining sheets is about."""

    names: Names
    statements: Statements
    faults: FaultList
    by_row: dict[tuple[str, int], URIRef] = field(default_factory=dict)
    _first: dict[tuple[str, str], int] = field(default_factory=dict)
    _made: dict[URIRef, str] = field(default_factory=dict)

    def note(self, record: Record, table: str) -> None:
        """Note the name that a row defines; a fault where it is taken."""
        plan = record.plan
        column = plan.columns[0]
        name = record.text(column.key)
        if not name:
            return
        seen = self._first.setdefault((table, key_of(name)), record.number)
        if seen != record.number:
            self._fault(record, f"“{name}” stands in row {seen} already")
            return
        known = self.names.table(table).find(name)
        if known:
            if table in _MAY_BE_KNOWN and len(known) == 1:
                self.by_row[(record.sheet, record.number)] = known[0]
            else:
                said = (
                    f"“{name}” is in the catalogue already ({known[0]}); only new ones stand here"
                )
                self._fault(record, said + self._instead(table))
            return
        has_short = any(c.key == "short" for c in plan.columns)
        short = record.text("short") if has_short else ""
        tail = _number_tail(name) if table == "part" else slug(short or name)
        if not tail:
            self._fault(record, f"“{name}” makes no address; give a short name of a-z and 0-9")
            return
        iri = URIRef(f"{SPACE}{table}/{tail}")
        other = self._made.setdefault(iri, name)
        if other != name or self.statements.known_at_all(iri):
            taken = f"by “{other}”" if other != name else "in the catalogue"
            self._fault(record, f"the short name “{tail}” is taken {taken}; give another")
            return
        self.by_row[(record.sheet, record.number)] = iri
        numbers = (name,) if table == "part" else ()
        labels = (record.text("label"),) if table == "part" else (name,)
        self.names.table(table).add(iri, name, filter(None, labels), numbers=numbers)

    def _fault(self, record: Record, what: str) -> None:
        place = record.places.get(record.plan.columns[0].key)
        header = place.header if place else record.plan.columns[0].header
        self.faults.add(record.sheet, record.number, header, what)

    def _instead(self, table: str) -> str:
        if table == "part":
            return "; a new price goes on the sheet “prices”, a value on “values”"
        return ""


def _number_tail(number: str) -> str:
    return re.sub(r"[^A-Za-z0-9._-]+", "-", number).strip("-.")


def slug(name: str) -> str:
    """The short name made from a label.

    >>> slug("W5 rear half-shafts, 30 × 1.0")
    'w5-rear-half-shafts-30-x-1.0'
    """
    plain = unicodedata.normalize("NFKD", name.replace("×", " x ")).encode("ascii", "ignore")
    return re.sub(r"[^a-z0-9.]+", "-", plain.decode().lower()).strip("-.")
