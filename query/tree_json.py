"""The tree of a sentence as JSON, for programs that ask.

A name is its phrase, a number with a unit is `{"value": "110", "unit": "km/h"}` (the value exact,
so as text), and what is left out is not insisted on. `tree.schema.json` is the JSON Schema; run
`python -m knockon.query.tree_json` to write it anew.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Annotated, Any

from pydantic import ConfigDict, Field, TypeAdapter, ValidationError

from .errors import BadTree, Problem, QueryError
from .format import format_sentence
from .parse import parse
from .reading import MOST_BYTES
from .syntax import Sentence

SCHEMA_FILE = Path(__file__).with_name("tree.schema.json")


@cache
def _adapter() -> TypeAdapter[Sentence]:
    return TypeAdapter(
        Annotated[Sentence, Field(discriminator="kind")], config=ConfigDict(extra="forbid")
    )


def to_json(sentence: Sentence) -> dict[str, Any]:
    """The tree as plain values; `from_json` makes the same tree of them.

    >>> to_json(parse("does OW-1 mate with OW-2?"))
    {'first': 'OW-1', 'second': 'OW-2', 'kind': 'does-mate'}
    """
    plain: dict[str, Any] = _pruned(_adapter().dump_python(sentence, mode="json"))
    return plain


def from_json(data: str | bytes | dict[str, Any]) -> Sentence:
    """The tree of its JSON form.

    Raises:
        BadTree: it is not JSON, does not keep to the schema, or no sentence means it.
    """
    if isinstance(data, (str, bytes)) and len(data) > MOST_BYTES:
        raise BadTree(Problem("a tree may have 64 kB at most"))
    adapter = _adapter()
    try:
        if isinstance(data, dict):
            sentence = adapter.validate_python(data)
        else:
            sentence = adapter.validate_json(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        place = ".".join(str(each) for each in first["loc"]) or "the whole"
        raise BadTree(Problem(f"not the tree of a sentence: at {place}: {first['msg']}")) from None
    _refuse_unsayable(sentence)
    return sentence


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a tree."""
    made = _adapter().json_schema(mode="validation")
    for each in made["$defs"].values():
        if "kind" in each.get("properties", {}):
            each["required"] = ["kind", *each.get("required", ())]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A sentence of the parts desk",
        **made,
    }


def schema_text() -> str:
    """The JSON Schema as its file has it."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _refuse_unsayable(sentence: Sentence) -> None:
    """A tree is only taken if some sentence means it: then all limits of the language hold."""
    text = format_sentence(sentence)
    try:
        read = parse(text)
    except QueryError as error:
        raise BadTree(Problem(f"no sentence says that: {error.problem.message}")) from None
    if read != sentence:
        raise BadTree(Problem(f"no sentence says exactly that; the nearest is: {text}"))


def _pruned(value: Any) -> Any:
    if isinstance(value, dict):
        inner = {key: _pruned(each) for key, each in value.items()}
        return {key: each for key, each in inner.items() if not _is_unsaid(each)}
    if isinstance(value, list):
        return [_pruned(each) for each in value]
    return value


def _is_unsaid(value: Any) -> bool:
    # By identity, because the serial number 0 equals False.
    return value is None or value is False or value == [] or value == {}


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
