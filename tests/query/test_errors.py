"""What the language says of bad sentences: golden, reviewed, over 200 of them."""

from __future__ import annotations

from contextlib import suppress

import pytest
from knockon.query.errors import (
    AmbiguousName,
    BadQuantity,
    Candidate,
    NothingToFollow,
    Problem,
    QueryError,
    SaidTwice,
    UnexpectedWord,
    UnknownName,
    render_error,
)
from knockon.query.parse import parse
from knockon.query.phrases import Span

from .bad_sentences import FILE, said_of, written_anew
from .blocks import blocks
from .counter import counter, understand

BAD = tuple(blocks("bad_sentences.txt"))


@pytest.mark.parametrize(("asked", "answer"), BAD)
def test_a_bad_sentence_is_answered_as_reviewed(asked: str, answer: str) -> None:
    assert said_of(asked) == answer


def test_there_are_over_two_hundred_bad_sentences() -> None:
    assert len({asked for asked, _ in BAD}) > 200


def test_the_fixture_is_as_its_script_writes_it() -> None:
    text = FILE.read_text(encoding="utf-8")
    assert written_anew(text) == text


CORRECTED = tuple(
    answer.partition("Did you mean: ")[2] for _, answer in BAD if "Did you mean: " in answer
)


@pytest.mark.parametrize("corrected", CORRECTED)
def test_a_corrected_sentence_is_itself_right(corrected: str) -> None:
    # It may still have to be told which of several things is meant, or what it follows.
    with suppress(AmbiguousName, NothingToFollow):
        assert understand(corrected, counter()) == corrected


def test_an_error_is_data() -> None:
    with pytest.raises(BadQuantity) as raised:
        parse("what else must change\nif I fit A to B with at most 5 furlongs")
    assert raised.value.as_data() == {
        "error": "bad-quantity",
        "message": "“furlongs” is no unit that is known here",
        "span": {"start": 53, "end": 61},
        "expected": ("EUR", "hours"),
        "nearest": (),
        "candidates": (),
        "hint": "",
        "corrected": None,
        "line": 2,
        "column": 32,
    }


def test_the_place_of_what_is_said_twice_is_the_second_time() -> None:
    text = "and with at most 5 hours, with at most 7 hours"
    with pytest.raises(SaidTwice) as raised:
        parse(text)
    span = raised.value.problem.span
    assert text[span.start : span.end] == "7 hours"


def test_a_correction_is_not_offered_if_it_makes_no_sense() -> None:
    def nothing_is_known(_: object) -> None:
        raise UnknownName(Problem("nothing is called that"))

    with pytest.raises(UnexpectedWord) as raised:
        parse("comapre A with B")
    assert raised.value.problem.corrected == "compare A with B"
    with pytest.raises(UnexpectedWord) as raised:
        parse("comapre A with B", nothing_is_known)
    assert raised.value.problem.corrected is None


def test_a_caret_stands_under_the_place_on_its_line() -> None:
    text = "show\tA\nto B"
    shown = render_error(text, QueryError(Problem("wrong", Span(7, 9)))).splitlines()
    assert shown == ["wrong.", "line 2, column 1", "  to B", "  ^^"]


def test_a_long_line_is_shown_around_the_place() -> None:
    text = "x" * 500 + "HERE" + "y" * 500
    shown = render_error(text, QueryError(Problem("wrong", Span(500, 504)))).splitlines()
    assert len(shown[2]) <= 102
    caret = shown[3].index("^")
    assert shown[2][caret : caret + 4] == "HERE"


def test_candidates_are_shown_with_what_tells_them_apart() -> None:
    found = (Candidate("a", "part", "wheel", "OW-1", "offset 25 mm"), Candidate("b", "car", "W2"))
    shown = render_error("", AmbiguousName(Problem("two things", candidates=found)))
    assert "  - wheel (part): OW-1, offset 25 mm\n  - W2 (car)" in shown
