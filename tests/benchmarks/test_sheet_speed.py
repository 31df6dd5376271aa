"""How long a hundred thousand rows take, and how much memory at most.

Run with --benchmark-enable --benchmark-only; the peak is printed as `peak_mb` (-s shows it).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from resource import RUSAGE_SELF, getrusage

import pytest
from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.sheets.reading import read_files
from knockon.reasoner.upkeep.sheets.xlsx_in import open_workbook
from openpyxl import Workbook
from pytest_benchmark.fixture import BenchmarkFixture

ROWS = 100_000
FEW = 100
"""In the ordinary suite, where benchmarks run once only to see that they run."""


@pytest.fixture(scope="module")
def facts() -> Facts:
    return read_facts(catalogue_files(ontology_folder(), demo_folder()))


@pytest.fixture
def rows(benchmark: BenchmarkFixture) -> int:
    return FEW if benchmark.disabled else ROWS


def _parts(count: int) -> Iterator[tuple[object, ...]]:
    yield ("part number", "label", "family", "maker", "price each [EUR]", "weight [kg]")
    for at in range(count):
        yield f"ZZ-{at:06}", f"wheel {at}", "all wheels with tyres", "Ostrel", 100 + at % 50, 3.5


def _workbook(path: Path, count: int) -> Path:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("parts")
    for row in _parts(count):
        sheet.append(row)
    book.save(path)
    return path


def _peak_mb() -> int:
    """The most memory that this process has held so far."""
    return getrusage(RUSAGE_SELF).ru_maxrss // 1024


def test_rows_of_a_workbook_as_such(benchmark: BenchmarkFixture, rows: int, tmp_path: Path) -> None:
    path = _workbook(tmp_path / "x.xlsx", rows)

    def read() -> int:
        with open_workbook(path) as sheets:
            return sum(1 for _ in sheets[0].rows())

    assert benchmark.pedantic(read, rounds=1) == rows + 1


def test_parts_from_a_workbook(
    benchmark: BenchmarkFixture, rows: int, tmp_path: Path, facts: Facts
) -> None:
    path = _workbook(tmp_path / "x.xlsx", rows)
    found = benchmark.pedantic(read_files, ((path,), facts, "bench"), rounds=1)
    assert found.rows == rows
    benchmark.extra_info["peak_mb"] = _peak_mb()
    print(path.name, benchmark.extra_info)


def test_parts_from_csv(
    benchmark: BenchmarkFixture, rows: int, tmp_path: Path, facts: Facts
) -> None:
    path = tmp_path / "parts.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(_parts(rows))
    found = benchmark.pedantic(read_files, ((path,), facts, "bench"), rounds=1)
    assert found.rows == rows
    benchmark.extra_info["peak_mb"] = _peak_mb()
    print(path.name, benchmark.extra_info)
