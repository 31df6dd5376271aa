"""Rows of a CSV file, streamed: UTF-8 or UTF-16 with its mark; comma, semicolon or tab."""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from .faults import FileRefused
from .guard import BOUNDS, Bounds, check_size
from .tables import Row, text_cell

_SEPARATORS = ",;\t"
_LINE = 1_000_000
_MARKS = (
    (codecs.BOM_UTF32_LE, ""),  # before UTF-16, whose mark it starts with
    (codecs.BOM_UTF32_BE, ""),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True, slots=True)
class CsvSheet:
    """One CSV file as a sheet; `name` is the sheet that it stands for."""

    path: Path
    name: str
    bounds: Bounds = BOUNDS

    def rows(self) -> Iterator[tuple[int, Row]]:
        """Rows that are not blank, numbered by the row and not by the line of the file.

        Raises:
            FileRefused: wrong encoding, signs that are no text, a quote without end, too wide.
        """
        check_size(self.path, self.bounds)
        encoding = self._encoding()
        try:
            with self.path.open(encoding=encoding, newline="") as file:
                start = file.readline(_LINE)
            with self.path.open(encoding=encoding, newline="") as file:
                lines = self._lines(file.readline)
                reader = csv.reader(lines, delimiter=_separator(start), strict=True)
                yield from self._checked(reader)
        except UnicodeError:
            raise self._refused(
                "is not UTF-8, nor UTF-16 with its mark; save it as CSV with UTF-8 encoding"
            ) from None
        except csv.Error as error:
            raise self._refused(f"is no well-formed CSV ({error})") from None

    def _checked(self, reader: Iterator[list[str]]) -> Iterator[tuple[int, Row]]:
        bounds = self.bounds
        for number, texts in enumerate(reader, 1):
            if number > bounds.rows:
                raise self._refused(f"over {bounds.rows} rows", number)
            row: Row = tuple(text_cell(text, bounds.cell) for text in texts)
            while row and row[-1] is None:
                row = row[:-1]
            if len(row) > bounds.columns:
                raise self._refused(f"over {bounds.columns} columns", number)
            if row:
                yield number, row

    def _lines(self, readline: _ReadLine) -> Iterator[str]:
        number = 0
        while line := readline(_LINE):
            number += 1
            if "\x00" in line:
                raise self._refused("has a sign that is no text (NUL)", number)
            if len(line) >= _LINE:
                raise self._refused("has a line that does not end", number)
            yield line

    def _encoding(self) -> str:
        with self.path.open("rb") as file:
            start = file.read(4)
        for mark, encoding in _MARKS:
            if start.startswith(mark):
                if not encoding:
                    raise self._refused("is UTF-32; save it as CSV with UTF-8 encoding")
                return encoding
        return "utf-8"

    def _refused(self, what: str, row: int = 0) -> FileRefused:
        return FileRefused(self.path.name, what, self.name, row)


class _ReadLine(Protocol):
    """What reads at most so many signs of a line (typing only)."""

    def __call__(self, size: int, /) -> str: ...


def _separator(line: str) -> str:
    """The separator that the header uses most outside its quotes; a comma if it uses none."""
    outside = "".join(line.split('"')[::2])
    return max(_SEPARATORS, key=outside.count)
