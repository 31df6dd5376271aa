"""Sentences that lean on the last question, printed back in full."""

from __future__ import annotations

import pytest
from hypothesis import given
from knockon.query import syntax as s
from knockon.query.errors import NothingToFollow, QueryError
from knockon.query.follow_up import in_full
from knockon.query.format import format_sentence
from knockon.query.parse import parse
from knockon.query.phrases import NOWHERE, Span

from .trees import follow_ups, sentences

FIRST = (
    "what else must change if I fit A to W2 keeping the wheels, with at most 5 hours, using stock"
)


@pytest.mark.parametrize(
    ("last", "then", "whole"),
    [
        (
            FIRST,
            "and if I keep the callipers?",
            "what else must change if I fit A to W2 keeping the wheels and the callipers,"
            " with at most 5 hours, using stock?",
        ),
        (
            FIRST,
            "and if the wheel may change?",
            "what else must change if I fit A to W2 with at most 5 hours, using stock?",
        ),
        (
            FIRST,
            "and if I fit B at rear hub?",
            "what else must change if I fit A and fit B at rear hub to W2 keeping the wheels,"
            " with at most 5 hours, using stock?",
        ),
        (
            FIRST,
            "and on Lanner with at most 9 hours and no cutting, using donor W1, without B?",
            "what else must change if I fit A to Lanner keeping the wheels, with at most 9 hours"
            " and no cutting, using donor W1, without B?",
        ),
        (
            "why must the hub change if I fit A to W2?",
            "and with no drilling?",
            "why must the hub change if I fit A to W2 with no drilling?",
        ),
        ("what fits rear hub on W2?", "and on Lanner?", "what fits rear hub on Lanner?"),
        ("what fits rear hub on W2?", "and using stock?", "what fits rear hub on W2 using stock?"),
        ("where does A fit?", "and on W2?", "where does A fit on W2?"),
        (
            "what is the track width on W2?",
            "and if I fit A?",
            "what is the track width on W2 if I fit A?",
        ),
        (
            FIRST,
            "why must the hub change?",
            f"why must the hub change if I{FIRST.split('if I')[1]}?",
        ),
        (FIRST, "why not B", f"why not B if I{FIRST.split('if I')[1]}?"),
        (FIRST, "show A", "show A"),
    ],
)
def test_a_follow_up_is_printed_back_in_full(last: str, then: str, whole: str) -> None:
    assert format_sentence(in_full(parse(then), parse(last))) == whole


@pytest.mark.parametrize(
    ("last", "then"),
    [
        (None, "and if I keep the wheels?"),
        (None, "why must the hub change?"),
        ("show A", "why must the hub change?"),
        ("show A", "and with no cutting?"),
        ("compare A with B", "and on W2?"),
        ("what fits hub on W2", "and if I fit A?"),
        ("let my-car be W2", "and if I fit A?"),
        (FIRST, "and if the brakes may change?"),
        ("what fits hub on W2", "and if the wheels may change?"),
    ],
)
def test_what_cannot_be_followed_is_refused(last: str | None, then: str) -> None:
    with pytest.raises(NothingToFollow):
        in_full(parse(then), parse(last) if last else None)


def test_names_of_the_last_question_have_no_place_in_this_one() -> None:
    whole = in_full(parse("and if I fit B?"), parse(FIRST))
    assert isinstance(whole, s.KnockOns)
    first, second = whole.change.fits
    assert (first.part.span, second.part.span) == (NOWHERE, Span(13, 14))
    assert whole.change.car.span == NOWHERE


@given(sentences, follow_ups)
def test_an_amended_question_is_a_question(last: s.Sentence, more: s.FollowUp) -> None:
    try:
        whole = in_full(more, last)
    except QueryError as error:
        problem = error.problem
        assert problem.message
        return
    assert not isinstance(whole, s.FollowUp)
    assert parse(format_sentence(whole)) == whole
