"""How fast sentences are read: run with `--benchmark-enable`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from knockon.query.complete import complete
from knockon.query.errors import QueryError
from knockon.query.parse import parse

if TYPE_CHECKING:
    from pytest_benchmark.fixture import BenchmarkFixture

HEADLINE = "what else must change if I fit HD rear hub to Wether W2 late?"
# Texts of the largest size that each press on another bound of the language.
LARGEST = {
    "commas": "show " + "a," * 30_000,
    "parentheses": "(" * 60_000,
    "quotes": '"a' * 30_000,
    "spaces": "show A and " + " " * 60_000 + "x",
    "digits": "1" * 60_000,
    "list": "and if I keep " + "a, " * 900 + "with",
}


def _read(text: str) -> object:
    try:
        return parse(text)
    except QueryError as error:
        return error


def test_the_headline_question(benchmark: BenchmarkFixture) -> None:
    assert benchmark(parse, HEADLINE)


@pytest.mark.parametrize("text", LARGEST.values(), ids=LARGEST.keys())
def test_refusing_a_text_of_the_largest_size(benchmark: BenchmarkFixture, text: str) -> None:
    assert isinstance(benchmark(_read, text), QueryError)


def test_refusing_a_mistyped_question_with_its_correction(benchmark: BenchmarkFixture) -> None:
    assert benchmark(_read, HEADLINE.replace("must", "msut"))


def test_completing(benchmark: BenchmarkFixture) -> None:
    assert benchmark(complete, HEADLINE, len("what else must change if I fit HD rear hub t"))
