"""What `knockon bench` says of its figures; the figures themselves are for a quiet machine."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from knockon.benchmarks.commands import bench
from knockon.benchmarks.measured import AT_LEAST, Report, Row, machine, power_law, schema, versions
from knockon.benchmarks.sections import SECTIONS
from knockon.benchmarks.table import lines

ROWS = (
    Row("load", "all", 1_000, 20, 1.25, "s", limit=90, note="49,000 facts stated"),
    Row("load", "all", 100_000, 1_000, 95.0, "s", limit=90),
    Row("closure", "closure", 1_000, 20, 0.14, "s", "knockon"),
    Row("closure", "closure", 1_000, 20, 64.0, "s", "owlrl", estimated=True),
    Row("api", "cascades a second", 10_000, 200, 120.0, "1/s", limit=100, bound=AT_LEAST),
)


def _report() -> Report:
    told = "2024-01-08T09:00:00+00:00"
    return Report(told, machine(), versions(), tuple(SECTIONS), ROWS, ("matrix: none",))


def test_figures_are_written_in_the_shape_that_the_schema_says() -> None:
    found = json.loads(_report().as_json())
    Draft202012Validator(schema()).validate(found)
    assert [row["kept"] for row in found["rows"]] == [True, False, None, None, True]


def test_the_table_tells_what_is_kept_what_is_missed_and_what_is_only_estimated() -> None:
    text = "\n".join(lines(_report()))
    assert "at most 90 s at 1,000: kept" in text
    assert "at most 90 s at 100,000: MISSED" in text
    assert "at least 100 1/s at 10,000: kept" in text
    assert "≈ 64 s" in text
    assert "matrix: none" in text


def test_growth_is_the_slope_of_the_logarithms_and_takes_two_sizes() -> None:
    law = power_law([(10, 2), (100, 20), (1000, 200)])
    assert law is not None
    assert law[1] == pytest.approx(1.0)
    assert power_law([(10, 2)]) is None


@pytest.mark.parametrize("sizes", ["ten", "50"])
def test_sizes_that_cannot_be_are_refused_in_words(sizes: str) -> None:
    found = CliRunner().invoke(bench, ["--sizes", sizes])
    assert found.exit_code == 2
    assert "parts" in found.output or "whole numbers" in found.output
