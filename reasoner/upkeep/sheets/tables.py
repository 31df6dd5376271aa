"""Rows of cells, wherever they come from, and what a cell can be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Protocol, TypeAlias


@dataclass(frozen=True, slots=True)
class Bad:
    """A cell that is not to be trusted, and why: a formula, an error, a text without end."""

    what: str


Cell: TypeAlias = str | Decimal | bool | date | Bad | None
"""A cell as read. Texts have no spaces at their ends and are never empty."""

Row: TypeAlias = tuple[Cell, ...]


class Sheet(Protocol):
    """One sheet of a file."""

    @property
    def name(self) -> str:
        """Its name, for messages and for finding its plan."""

    def rows(self) -> Iterator[tuple[int, Row]]:
        """Rows that are not blank, numbered from 1 as the spreadsheet does; readable again."""


def text_cell(text: str, most: int) -> str | Bad | None:
    """A text as a cell; blank is nothing."""
    if "\x00" in text:
        return Bad("the cell holds a sign that is no text (NUL)")
    if len(text) > most:
        return Bad(f"the cell holds {len(text)} signs; at most {most} are read")
    return text.strip() or None


def column_letters(at: int) -> str:
    """The letters of a column, counted from 0.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
