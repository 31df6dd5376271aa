"""An answer as JSON-LD: the same facts as its JSON, as a graph that other data can be joined to.

Stations, parts and cars are the catalogue's own IRIs. Part numbers, makers and names use
schema.org; everything else is of the vocabulary (`ko:`). Lists whose order means something (plans,
work, reasons, options) stay lists.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from .answer import PartRef, Thing, Value

KO: Final = "https://knockon.example/ns#"

_SCHEMA: Final = {"number": "schema:mpn", "maker": "schema:manufacturer", "label": "schema:name"}
_LISTS: Final = {
    "plans", "work", "because", "options", "parts", "measure", "comparisons", "ways", "checks",
    "lines", "leaves", "cautions", "meetings", "sections", "rows", "columns", "cells", "steps",
    "consumables", "claims", "chains",
}  # fmt: skip
"""Fields that stay in order."""

_WORDS: Final = {
    "must": "ko:Must",
    "choice": "ko:Choice",
    "keeps": "ko:Keeps",
    "mates": "ko:Mates",
    "clashes": "ko:Clashes",
    "unproven": "ko:Unproven",
    "measured": "ko:Measured",
    "trial-fitted": "ko:TrialFitted",
    "documented": "ko:Documented",
    "reported": "ko:Reported",
    "presumed": "ko:Presumed",
    "disputed": "ko:Disputed",
}
"""Fixed words that are individuals of the vocabulary."""

_WORDED: Final = {"verdict", "strictly", "outcome", "standing", "now", "then"}
_RENAMED: Final = {
    ("Comparison", "quantity"): "onQuantity",
    ("Claimed", "quantity"): "onQuantity",
    ("Claimed", "end"): "endLabel",
    ("Claimed", "part"): "partLabel",
    ("Citation", "source"): "sourceLabel",
}
"""A text where elsewhere a number or a thing stands under the same name."""


def as_jsonld(answer: Value) -> dict[str, Any]:
    """The answer as a JSON-LD document in plain values, its context inside."""
    terms: dict[str, Any] = {}
    body = _object(answer, terms)
    context = {
        "@version": 1.1,
        "ko": KO,
        "schema": "https://schema.org/",
        **_WORDS,
        **dict(sorted(terms.items())),
    }
    return {"@context": context, **body}


def render_jsonld(answer: Value) -> str:
    """The answer as JSON-LD text."""
    return json.dumps(as_jsonld(answer), ensure_ascii=False, indent=2) + "\n"


def _object(value: Value, terms: dict[str, Any]) -> dict[str, Any]:
    name = type(value).__name__
    found: dict[str, Any] = {} if isinstance(value, Thing) else {"@type": f"ko:{name}"}
    if isinstance(value, PartRef):
        found["@type"] = ["ko:Part", "schema:Product"]
        if value.iri is None:
            return {"@type": "ko:NothingFitted"}
    for field in type(value).model_fields:
        inner = getattr(value, field)
        if inner is None or inner == ():
            continue
        if field == "iri":
            found["@id"] = inner
            continue
        key = _RENAMED.get((name, field)) or _camel(field)
        terms[key] = _term(key, field)
        found[key] = _plain(inner, terms)
    return found


def _plain(value: Any, terms: dict[str, Any]) -> Any:
    if isinstance(value, Value):
        return _object(value, terms)
    if isinstance(value, tuple):
        if value and isinstance(value[0], tuple):
            terms["links"] = {"@id": "ko:links", "@container": "@list"}
            return [{"@type": "ko:Chain", "links": list(each)} for each in value]
        # A cell without a value keeps its place in the row.
        return ["" if each is None else _plain(each, terms) for each in value]
    return value


def _term(key: str, field: str) -> str | Mapping[str, str]:
    iri = _SCHEMA.get(field, f"ko:{key}")
    if field in _WORDED:
        return {"@id": iri, "@type": "@vocab"}
    return {"@id": iri, "@container": "@list"} if field in _LISTS else iri


def _camel(name: str) -> str:
    """A field's name as the vocabulary writes names.

    >>> _camel("price_eur")
    'priceEur'
    """
    first, *rest = name.split("_")
    return first + "".join(word.capitalize() for word in rest)
