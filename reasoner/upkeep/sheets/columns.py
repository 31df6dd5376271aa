"""What a sheet and a column are: one plan for writing and for reading."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rdflib import URIRef

from .vocabulary import ANYTHING, KindWords, Limits, Word


class Takes(StrEnum):
    """What a cell of a column holds."""

    NAME = "the name of something known"
    NEW = "a new name"
    TEXT = "text"
    NUMBER = "a number"
    WHOLE = "a whole number"
    CHOICE = "one of a list"
    MONTH = "a month such as 2024-09"
    DAY = "a day such as 2024-09-30"
    FLAG = "yes or no"
    ANY = "a number, a quantity with its unit, or a word"


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    `of` names the tables in which a name is looked up; `many` allows several in one cell, parted
    by semicolons. `unit` is the unit in which the catalogue keeps the number. `choices` is all
    that a choice may be; for other cells it is an offer.
    """

    key: str
    label: str
    takes: Takes
    note: str
    of: tuple[str, ...] = ()
    unit: str = ""
    limits: Limits = ANYTHING
    choices: tuple[str, ...] = ()
    required: bool = False
    many: bool = False
    prop: URIRef | None = None
    synonyms: tuple[str, ...] = ()

    @property
    def header(self) -> str:
        """The header as the template writes it: with the unit in which numbers are meant."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """One sheet. `defines` is the table that its rows add names to, by their first column.

    `quantities` are those that a cell may name, for the notes.
    """

    name: str
    note: str
    columns: tuple[Column, ...]
    defines: str = ""
    kind: KindWords | None = None
    quantities: tuple[Word, ...] = ()

    def column(self, key: str) -> Column:
        """The column of that key."""
        return next(column for column in self.columns if column.key == key)
