"""The canonical form: it means the tree it was made from, and is its own canonical form."""

from __future__ import annotations

import pytest
from hypothesis import given
from knockon.query import syntax as s
from knockon.query.format import format_name, format_sentence
from knockon.query.parse import parse
from knockon.query.phrases import FeatureName, PartName

from .trees import phrases, sentences


@given(sentences)
def test_every_tree_is_said_by_its_canonical_sentence(tree: s.Sentence) -> None:
    text = format_sentence(tree)
    assert parse(text) == tree
    assert format_sentence(parse(text)) == text


@given(phrases)
def test_any_phrase_can_be_a_name(phrase: str) -> None:
    assert parse(f"show {format_name(PartName(phrase))}?") == parse(
        format_sentence(s.Show(s.ThingName(phrase)))
    )


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("HD rear hub", "HD rear hub"),
        ("hub with bearing", '"hub with bearing"'),
        ("I-beam", "I-beam"),
        ("I beam", '"I beam"'),
        ("15-inch wheel", "15-inch wheel"),
        ("a, b", '"a, b"'),
        ('5" rim', '5" rim'),
        ('the "wide" one', '"the ""wide"" one"'),
        ("No. 5", '"No. 5"'),
    ],
)
def test_a_name_is_quoted_only_if_it_must_be(name: str, written: str) -> None:
    assert format_name(PartName(name)) == written


def test_a_feature_that_starts_with_a_number_is_quoted() -> None:
    assert format_name(FeatureName("5 bolts")) == '"5 bolts"'
