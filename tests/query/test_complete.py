"""What is offered at each place of a sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.query.complete import Completion, complete
from knockon.query.errors import QueryError
from knockon.query.names import Entry
from knockon.query.parse import parse

from .blocks import blocks
from .counter import W2, counter
from .trees import babble

NAMES = counter()


def offered(before: str, after: str = "", **options: object) -> list[str]:
    found = complete(before + after, len(before), NAMES, **options)  # type: ignore[arg-type]
    return [each.text for each in found]


@pytest.mark.parametrize(
    ("before", "texts"),
    [
        ("", ["what", "why", "does", "show", "and", "let"]),
        ("wh", ["what", "why", "where", "which"]),
        ("what ", ["else", "must", "fits", "differs", "road speed", "bolt circle"]),
        ("what else must change if I fit ", ["HD rear hub", "OW-60150", "rear hub"]),
        ("what else must change if I fit hd", ["HD rear hub", "HD calliper", "HD half-shaft"]),
        ("what else must change if I fit HD rear hub ", ["to", "and", "at"]),
        ("what else must change if I fit HD rear hub t", ["to"]),
        ("what else must change if I fit HD rear hub to ", ["Wether W2 late", "Lanner"]),
        ("what else must change if I fit A to W2 ", ["keeping", "with", "using", "without"]),
        ("what else must change if I fit A to W2 with ", ["at most", "no", "nothing weaker than"]),
        ("what else must change if I fit A to W2 with at m", ["at most"]),
        ("what else must change if I fit A to W2 with at most 10 h", ["10 hours"]),
        ("what else must change if I fit A to W2 with no ", ["cutting", "irreversible work"]),
        ("what else must change if I fit A to W2 keeping the rear wh", ["rear wheel"]),
        ("what else must change if I fit A to W2 using donor wether", ["Wether W1 early"]),
        ("what else must change if I fit A to W2 without parts from b", ["Brannock"]),
        ("what is the prop", ["the propshaft critical speed", "the propshaft joint angle"]),
        ("how fast does the engine turn in fi", ["first", "fifth"]),
        ("how fast does the engine turn in fifth at 110", ["110 km/h", "110 mph"]),
        ("show ow-42", ["HD rear hub", "light rear hub"]),
        ('show "HD r', ["HD rear hub"]),
        ("show HD rear hub # a comment\n", ["on"]),
    ],
)
def test_what_can_come_next_is_offered(before: str, texts: list[str]) -> None:
    found = offered(before)
    assert [text for text in texts if text not in found] == []


def test_only_what_may_stand_there_is_offered() -> None:
    assert offered("what fits ", scope=W2) == sorted(offered("what fits ", scope=W2))
    assert "transfer box" in offered("what fits ")
    assert "transfer box" not in offered("what fits ", scope=W2)
    assert "HD rear hub" not in offered("what fits ")
    assert "Lanner" not in offered("what else must change if I fit ")


def test_what_makes_no_sense_for_the_car_is_left_out() -> None:
    def wheel(entry: Entry) -> bool:
        return "wheel" in entry.label

    found = offered("what else must change if I fit ", usable=wheel)
    assert set(found) == {"BK-60150", "OW-60150", "16-inch wheel"}


def test_parts_of_one_name_are_offered_by_number() -> None:
    found = complete("show 15", 7, NAMES)
    assert {each.text for each in found} == {"BK-60150", "OW-60150"}
    assert all(each.detail for each in found)


def test_nothing_is_offered_after_what_cannot_be() -> None:
    assert offered("what what ") == []
    assert offered("compare A with B with ") == []


def test_what_follows_the_cursor_does_not_matter() -> None:
    assert offered("what fi", "ts rear hub on W2?") == offered("what fi")


def test_a_name_that_needs_quotes_is_offered_in_quotes() -> None:
    names = counter(Entry("part:x", "part", (), "A with B"))
    assert '"A with B"' in [each.text for each in complete("show a", 6, names)]


SENTENCES = [asked for asked, _ in blocks("sentences.txt")]


@given(st.sampled_from(SENTENCES), st.integers(0, 120))
def test_everything_offered_can_be_typed_there(asked: str, cursor: int) -> None:
    before = asked[:cursor]
    for each in complete(before, len(before), NAMES):
        assert 0 <= each.start <= each.end <= len(before)
        assert _may_go_on(before[: each.start] + each.text), each


def _may_go_on(text: str) -> bool:
    """Whether a text is the start of some sentence: the grammar refuses none of its words."""
    try:
        parse(text)
    except QueryError as error:
        return error.problem.span.start >= len(text) or error.code != "unexpected-word"
    return True


@given(st.one_of(babble, st.text()), st.integers(0, 80))
def test_any_text_can_be_completed(text: str, cursor: int) -> None:
    assert all(isinstance(each, Completion) for each in complete(text, cursor, NAMES))
