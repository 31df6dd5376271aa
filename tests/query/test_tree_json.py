"""The JSON form of a sentence, both ways, and its schema."""

from __future__ import annotations

import json
from contextlib import suppress
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.query import syntax as s
from knockon.query.errors import BadTree
from knockon.query.parse import parse
from knockon.query.tree_json import SCHEMA_FILE, from_json, schema, schema_text, to_json

from .trees import sentences

VALIDATOR = jsonschema.Draft202012Validator(schema())


@given(sentences)
def test_a_tree_comes_back_from_json(tree: s.Sentence) -> None:
    plain = to_json(tree)
    assert from_json(plain) == tree
    assert from_json(json.dumps(plain)) == tree
    VALIDATOR.validate(plain)


def test_the_schema_file_is_up_to_date() -> None:
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text(), (
        "run python -m knockon.query.tree_json"
    )
    jsonschema.Draft202012Validator.check_schema(schema())


def test_what_is_not_said_is_not_in_the_json() -> None:
    assert to_json(parse("what else must change if I fit A to W2 with at most 10 hours?")) == {
        "kind": "knock-ons",
        "change": {
            "fits": [{"part": "A"}],
            "car": "W2",
            "terms": {"labour": {"value": "10", "unit": "hours"}},
        },
    }


SHOW: dict[str, Any] = {"kind": "show", "thing": "A"}


@pytest.mark.parametrize(
    "data",
    [
        "",
        "[",
        "null",
        "{}",
        b"\xff",
        {"kind": "order"},
        {**SHOW, "extra": 1},
        {**SHOW, "thing": ""},
        {**SHOW, "thing": " \t"},
        {**SHOW, "thing": "a\x00b"},
        {**SHOW, "thing": "x" * 201},
        {**SHOW, "thing": ["A"]},
        {"kind": "follow-up"},
        {"kind": "compare", "things": ["A"]},
        {"kind": "knock-ons", "change": {"fits": [], "car": "W2"}},
        {"kind": "bolt-circle", "chord": {"value": "70", "unit": "kg"}, "bolts": 5},
        {"kind": "bolt-circle", "chord": {"value": "-70", "unit": "mm"}, "bolts": 5},
        {"kind": "bolt-circle", "chord": {"value": "1e99", "unit": "mm"}, "bolts": 5},
        {"kind": "bolt-circle", "chord": {"value": "NaN", "unit": "mm"}, "bolts": 5},
        {"kind": "bolt-circle", "chord": {"value": "70", "unit": "mm"}, "bolts": 2},
        {"kind": "engine-speed", "gear": 9, "speed": {"value": "1", "unit": "mph"}, "car": "A"},
        "[" * 50_000,
        '{"kind":"show","thing":"' + "x" * 70_000 + '"}',
    ],
    ids=lambda data: str(data)[:24],
)
def test_json_that_is_no_sentence_is_refused(data: str | bytes | dict[str, Any]) -> None:
    with pytest.raises(BadTree):
        from_json(data)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["kind", "thing", "car", "change", "fits"]), inner)
    ),
    max_leaves=8,
)


@given(JSON)
def test_any_json_is_read_or_refused_in_the_languages_own_way(data: Any) -> None:
    with suppress(BadTree):
        assert to_json(from_json(json.dumps(data)))
