"""Reading sentences: every form, in the words people use."""

from __future__ import annotations

from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.query import syntax as s
from knockon.query.errors import NotText, Problem, QueryError, TooLong
from knockon.query.format import format_sentence
from knockon.query.forms import FORMS
from knockon.query.grammar import pattern, reserved
from knockon.query.parse import parse
from knockon.query.phrases import CarName, KeptName, PartName, SourceName, StationName
from knockon.query.quantities import Quantity, read_quantity
from knockon.query.terms import Terms
from knockon.reasoner.calculations.units import convert

from .blocks import blocks
from .trees import babble

SENTENCES = tuple(blocks("sentences.txt"))


@pytest.mark.parametrize(("asked", "canonical"), SENTENCES)
def test_a_sentence_has_one_canonical_form(asked: str, canonical: str) -> None:
    assert format_sentence(parse(asked)) == canonical
    assert parse(canonical) == parse(asked)


def test_the_fixture_has_every_form() -> None:
    seen = {type(parse(asked)) for asked, _ in SENTENCES}
    assert seen == set(get_args(s.Sentence))


def test_every_form_is_listed_with_examples_of_it() -> None:
    assert {form.tree for form in FORMS} == set(get_args(s.Sentence))
    for form in FORMS:
        for example in form.examples:
            assert type(parse(example)) is form.tree, example


def test_the_headline_question_says_everything_at_once() -> None:
    text = (
        "what else must change if I fit HD rear hub at rear hub and fit OW-1 to Wether W2 late"
        " keeping the wheels, front hub, with at most 10 hours, at most 500 EUR, no drilling,"
        " no cutting and nothing weaker than documented, using stock and donor Wether HD,"
        " without OW-2, without parts from Brannock?"
    )
    assert parse(text) == s.KnockOns(
        s.Change(
            (
                s.Fitting(PartName("HD rear hub"), StationName("rear hub")),
                s.Fitting(PartName("OW-1")),
            ),
            CarName("Wether W2 late"),
            Terms(
                keeping=(KeptName("the wheels"), KeptName("front hub")),
                cost=Quantity(Decimal(500), "EUR"),
                labour=Quantity(Decimal(10), "hours"),
                refused=("cutting", "drilling"),
                floor="documented",
                stock=True,
                donors=(CarName("Wether HD"),),
                without=(PartName("OW-2"),),
                without_from=(SourceName("Brannock"),),
            ),
        )
    )


def test_a_name_knows_where_it_stood() -> None:
    text = "what fits  rear   hub on\n Wether W2 ?"
    asked = parse(text)
    assert isinstance(asked, s.WhatFits)
    assert asked.station.text == "rear hub"
    assert text[asked.station.span.start : asked.station.span.end] == "rear   hub"
    assert text[asked.car.span.start : asked.car.span.end] == "Wether W2"


def test_a_part_is_not_a_station_of_the_same_name() -> None:
    assert PartName("rear hub") != StationName("rear hub")


def test_the_reserved_words_are_those_that_may_follow_a_name() -> None:
    # Read off the parse table here, written out in the grammar there.
    for word in (*reserved(), "into", "onto", "need"):
        assert not pattern("NAME").fullmatch(word), word
        assert not pattern("NAME").fullmatch(f"a {word} b"), word
        assert pattern("NAME").fullmatch(f"{word}-on"), word
    for word in ("across", "what", "stock", "in", "for", "or", "parts", "wheels", "checks"):
        assert pattern("NAME").fullmatch(word), word


@pytest.mark.parametrize(
    ("written", "unit"),
    [("15 in", "mm"), ("2 3/8 in", "mm"), ("45 lb-ft", "N·m"), ("62 mph", "km/h"), ("9 lb", "kg")],
)
def test_amounts_convert_as_the_calculations_do(written: str, unit: str) -> None:
    quantity = read_quantity(written)
    expected = convert(float(quantity.value), quantity.unit, unit)
    assert float(quantity.base) == pytest.approx(expected, rel=1e-12)


def problem_of(text: str | bytes) -> Problem | None:
    """What is wrong with a text, if anything; another exception than the language's own escapes."""
    try:
        parse(text)
    except QueryError as error:
        return error.problem
    return None


@given(st.one_of(st.text(), babble))
def test_any_text_is_read_or_refused_in_the_languages_own_way(text: str) -> None:
    problem = problem_of(text)
    if problem is not None:
        assert problem.message
        assert problem.line >= 1
        assert problem.column >= 1
        assert 0 <= problem.span.start <= problem.span.end <= len(text)


@given(st.binary())
def test_any_bytes_are_read_or_refused_in_the_languages_own_way(data: bytes) -> None:
    problem = problem_of(data)
    assert problem is None or problem.message


ASKED = tuple(asked for asked, _ in SENTENCES)


@given(st.sampled_from(ASKED), st.integers(0, 99), st.integers(0, 99), babble)
def test_a_spoilt_sentence_is_refused_politely(
    asked: str, start: int, length: int, junk: str
) -> None:
    problem = problem_of(asked[:start] + junk + asked[start + length :])
    if problem is not None and problem.corrected is not None:
        assert parse(problem.corrected)


def test_bytes_are_utf_8() -> None:
    assert parse("show Gehäuse".encode()) == parse("show Gehäuse")
    with pytest.raises(NotText) as raised:
        parse("show Gehäuse".encode("latin-1"))
    assert raised.value.problem.column == 9


@pytest.mark.parametrize(
    "text",
    [
        "x" * 65_537,
        "é" * 40_000,
        "show " + "a," * 30_000,
        "show " + "a b " * 2_000,
        "?" * 60_000,
        '"' * 60_000,
        '"a' * 30_000,
        "show " + '"a" ' * 15_000,
        "#" * 60_000,
        "# x\n" * 16_000,
        " " * 60_000,
        "show A and " + " " * 60_000 + "x",
        "(" * 60_000,
        "and " * 15_000,
        "1" * 60_000,
        "what else must change if I fit A to B with at most " + "1" * 60_000 + " hours",
        "what else must change if I fit A to B with at most 1" + ",1" * 30_000 + " hours",
        "compare " + "A with " * 9_000,
        "show " + "x" * 60_000,
        'show "' + "x" * 60_000 + '"',
    ],
    ids=lambda text: text[:12],
)
def test_a_text_of_the_largest_size_is_refused(text: str) -> None:
    # Nothing nests, and no more than 2000 words reach the parser, whatever the size.
    with pytest.raises(QueryError):
        parse(text)


def test_too_many_words_are_counted_before_they_are_parsed() -> None:
    with pytest.raises(TooLong):
        parse("show " + "a, " * 1_100)
    assert parse("compare A with " + ", ".join(f"part {n}" for n in range(600)))


def test_a_name_has_two_hundred_characters_at_most() -> None:
    assert parse(f"show {'x' * 200}")
    with pytest.raises(TooLong):
        parse(f"show {'x' * 201}")
    with pytest.raises(TooLong):
        parse(f'show "{"x" * 201}"')
