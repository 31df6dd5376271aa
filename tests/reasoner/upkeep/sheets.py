"""What the tests of sheets share: the demo's facts, and small files written on the spot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.sheets.faults import SheetFault, SheetRefused
from knockon.reasoner.upkeep.sheets.reading import Reading, read_files
from knockon.reasoner.upkeep.sheets.vocabulary import Vocabulary, vocabulary_of
from openpyxl import Workbook

FIXTURES = Path(__file__).parents[2] / "fixtures"
SHIPPED = Path(__file__).parents[3] / "data" / "sheets"

Table = Sequence[Sequence[object]]


@cache
def demo_facts() -> Facts:
    """The demo as facts."""
    return read_facts(catalogue_files(ontology_folder(), demo_folder()))


@cache
def demo_vocabulary() -> Vocabulary:
    """The vocabulary that comes with knockon."""
    return vocabulary_of(demo_facts())


def workbook(path: Path, sheets: Mapping[str, Table]) -> Path:
    """A workbook with these rows, as openpyxl writes it."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    book.save(path)
    return path


def csv_file(path: Path, text: str, encoding: str = "utf-8") -> Path:
    """A CSV file with this text."""
    path.write_bytes(text.encode(encoding))
    return path


def read(*paths: Path, source: str = "bench measurements") -> Reading:
    """Read files against the demo."""
    return read_files(paths, demo_facts(), source)


def faults(*paths: Path, source: str = "bench measurements") -> tuple[SheetFault, ...]:
    """What is wrong with files; they are to be refused."""
    try:
        read(*paths, source=source)
    except SheetRefused as refused:
        return refused.faults
    raise AssertionError("the files were taken in")


def stated(reading: Reading, subject: str, prop: str) -> dict[str, str]:
    """What a reading adds of one thing under one property: value → who says so, by local names."""
    return {
        str(o): str(g).rsplit("/", 1)[1]
        for s, p, o, g in reading.added
        if str(s).endswith(f"/{subject}") and str(p).endswith(f"#{prop}")
    }
