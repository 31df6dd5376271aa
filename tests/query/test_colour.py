"""What each piece of a text is, for colouring: whole, half typed or broken."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.query.colour import LOOKS, Sort, for_terminal, for_web, pieces

from .trees import babble


def shown(text: str) -> list[tuple[str, str]]:
    return [(piece.text, piece.sort) for piece in pieces(text) if piece.sort != "space"]


def test_a_whole_sentence_is_cut_by_the_grammar() -> None:
    text = 'what else must change if I fit HD hub, "A to B" to W2 with at most 10 hours? # soon'
    assert shown(text)[6:] == [
        ("fit", "keyword"),
        ("HD hub", "name"),
        (",", "mark"),
        ('"A to B"', "name"),
        ("to", "keyword"),
        ("W2", "name"),
        ("with", "keyword"),
        ("at most", "keyword"),
        ("10 hours", "amount"),
        ("?", "mark"),
        ("# soon", "comment"),
    ]


def test_the_same_word_is_a_keyword_or_part_of_a_name_by_its_place() -> None:
    assert ("stock rim", "name") in shown("show stock rim")
    assert ("stock", "keyword") in shown("and using stock")


def test_a_word_that_cannot_stand_there_is_wrong() -> None:
    assert shown("what else muts change")[2] == ("muts", "wrong")
    assert shown("compare A with B with C")[4] == ("with", "wrong")


def test_a_word_that_is_still_being_typed_is_not_wrong() -> None:
    assert shown("what else mu")[2] == ("mu", "name")
    assert shown('show "HD re')[1][1] == "name"


@given(st.one_of(st.text(), babble))
def test_the_pieces_of_any_text_are_the_text(text: str) -> None:
    assert "".join(piece.text for piece in pieces(text)) == text


@pytest.mark.parametrize("text", ["a " * 40_000, '"' * 50_000, "#" * 50_000, "1" * 70_000, ""])
def test_the_pieces_of_a_huge_text_are_the_text(text: str) -> None:
    assert "".join(piece.text for piece in pieces(text)) == text


def test_every_sort_has_a_look() -> None:
    assert set(LOOKS) == set(get_args(Sort))


def test_a_page_shows_what_was_typed_and_runs_nothing() -> None:
    page = for_web('show <script>alert("x")</script>')
    assert "<script>" not in page
    assert page.startswith('<span class="say-word">show</span> ')


def test_a_terminal_gets_colours_that_end() -> None:
    assert for_terminal("show OW-1") == "\x1b[1mshow\x1b[0m \x1b[36mOW-1\x1b[0m"
