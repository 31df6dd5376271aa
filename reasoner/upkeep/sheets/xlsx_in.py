"""Rows of a workbook, streamed: what is read is let go again."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from math import isfinite
from pathlib import Path
from typing import Any

from openpyxl import load_workbook
from openpyxl.workbook.workbook import Workbook

from .faults import FileRefused
from .guard import BOUNDS, Bounds, check_workbook
from .tables import Bad, Cell, Row, Sheet, column_letters, text_cell


@dataclass(frozen=True, slots=True)
class WorkbookSheet:
    """One sheet of an open workbook."""

    file: str
    name: str
    book: Workbook
    bounds: Bounds = BOUNDS

    def rows(self) -> Iterator[tuple[int, Row]]:
        """Rows that are not blank. Raises FileRefused where the sheet is damaged or too wide."""
        bounds = self.bounds
        with _refusing(self.file, self.name):
            sheet: Any = self.book[self.name]
            # What a sheet says of its own size need not be so, and everything is padded to it.
            sheet.reset_dimensions()
            # Rows are asked for without a width, for each would be padded to it.
            for number, cells in enumerate(sheet.iter_rows(max_row=bounds.rows + 1), 1):
                last = len(cells)
                while last and cells[last - 1].value is None:
                    last -= 1
                if last > bounds.columns:
                    what = f"over {bounds.columns} columns"
                    raise FileRefused(self.file, what, self.name, number)
                row = tuple(_cell(cell, number, at, bounds) for at, cell in enumerate(cells[:last]))
                while row and row[-1] is None:  # a text of spaces is nothing too
                    row = row[:-1]
                if row and number > bounds.rows:
                    raise FileRefused(self.file, f"over {bounds.rows} rows", self.name, number)
                if row:
                    yield number, row


@contextmanager
def open_workbook(path: Path, bounds: Bounds = BOUNDS) -> Iterator[tuple[Sheet, ...]]:
    """The sheets of a workbook, hidden ones too, after it has been looked over.

    Raises:
        FileRefused: it is no workbook, is dangerous, or cannot be read.
    """
    check_workbook(path, bounds)
    with path.open("rb") as file:  # opened here, since the library leaves it open when it stumbles
        with _refusing(path.name):
            book = load_workbook(file, read_only=True, data_only=False, keep_links=False)
        try:
            yield tuple(WorkbookSheet(path.name, s.title, book, bounds) for s in book.worksheets)
        finally:
            book.close()


@contextmanager
def _refusing(file: str, sheet: str = "") -> Iterator[None]:
    """Whatever the library stumbles over in a damaged file is the file's fault, in plain words."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # extensions of one program that do not concern cells
            yield
    except (FileRefused, GeneratorExit, KeyboardInterrupt, MemoryError):
        raise
    except Exception as error:
        raise FileRefused(
            file, f"is a damaged workbook ({type(error).__name__}: {str(error)[:120]})", sheet
        ) from None


def _cell(cell: Any, row: int, at: int, bounds: Bounds) -> Cell:
    value, kind = cell.value, getattr(cell, "data_type", "n")
    if value is None:
        return None
    if kind == "f":
        return Bad(
            f"cell {column_letters(at)}{row} holds a formula; what it last showed is not trusted: "
            "paste the value itself"
        )
    if kind == "e":
        return Bad(f"cell {column_letters(at)}{row} shows the error {value}")
    if isinstance(value, str):
        return text_cell(value, bounds.cell)
    if isinstance(value, bool):
        return value
    if isinstance(value, int):
        return Decimal(value) if abs(value) < 10**15 else Bad("the number is too large")
    if isinstance(value, float):
        # The shortest decimal that is the same number: what was typed, not what floats make of it.
        return Decimal(repr(value)) if isfinite(value) else Bad("the number is not finite")
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    return Bad(f"the cell holds a time or a duration ({value})")
