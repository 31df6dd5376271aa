"""What would break a program written against an older version of the service's contract.

`KNOCKON_REWRITE_GOLDEN=1 pytest tests/api/test_contract.py` writes the contract anew; look at the
difference before you keep it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

Schema = Mapping[str, Any]
_BOUNDS = {
    "maxLength": min, "maximum": min, "exclusiveMaximum": min, "maxItems": min, "maxProperties": min,
    "minLength": max, "minimum": max, "exclusiveMinimum": max, "minItems": max, "minProperties": max,
}  # fmt: skip
_METHODS = ("get", "put", "post", "delete")


def breaks(old: Schema, new: Schema) -> list[str]:
    """One sentence for everything that the new contract takes away."""
    return list(dict.fromkeys(_Comparison(old, new).all()))


class _Comparison:
    def __init__(self, old: Schema, new: Schema) -> None:
        self.old, self.new = old, new
        self._under_way: set[tuple[str, str, bool]] = set()

    def all(self) -> Iterator[str]:
        for path, methods in self.old["paths"].items():
            for method in (m for m in _METHODS if m in methods):
                here = f"{method.upper()} {path}"
                after = self.new["paths"].get(path, {}).get(method)
                if after is None:
                    yield f"{here} is gone"
                else:
                    yield from self._operation(here, methods[method], after)

    def _operation(self, here: str, old: Schema, new: Schema) -> Iterator[str]:
        yield from self._parameters(here, _parameters(old), _parameters(new))
        for status, response in old["responses"].items():
            if status not in new["responses"]:
                yield f"{here} no longer answers {status}"
                continue
            after = new["responses"][status].get("content", {})
            yield from self._contents(
                f"{here} {status}", response.get("content", {}), after, sent=False
            )
        before, after = (each.get("requestBody", {}) for each in (old, new))
        if after.get("required") and not before.get("required"):
            yield f"{here} now needs a body"
        yield from self._contents(
            f"{here} body", before.get("content", {}), after.get("content", {}), sent=True
        )

    def _parameters(
        self, here: str, old: Mapping[str, Schema], new: Mapping[str, Schema]
    ) -> Iterator[str]:
        for name, parameter in old.items():
            if name not in new:
                yield f"{here} no longer takes {name}"
                continue
            if new[name].get("required") and not parameter.get("required"):
                yield f"{here} now needs {name}"
            yield from self._schema(
                f"{here} {name}", parameter["schema"], new[name]["schema"], sent=True
            )
        for name in sorted(new.keys() - old.keys()):
            if new[name].get("required"):
                yield f"{here} now needs {name}"

    def _contents(self, here: str, old: Schema, new: Schema, *, sent: bool) -> Iterator[str]:
        for media, content in old.items():
            if media not in new:
                yield f"{here} no longer comes as {media}"
            elif "schema" in content:
                yield from self._schema(here, content["schema"], new[media].get("schema", {}), sent)

    # ------------------------------------------------------------------ schemas

    def _schema(self, here: str, old: Schema, new: Schema, sent: bool) -> Iterator[str]:
        pair = (str(old.get("$ref")), str(new.get("$ref")), sent)
        if "$ref" in old and "$ref" in new:
            if pair in self._under_way:
                return  # compared already, or being compared: schemas may contain themselves
            self._under_way.add(pair)
        old, new = _resolved(self.old, old), _resolved(self.new, new)
        befores, afters = _variants(self.old, old), _variants(self.new, new)
        if len(befores) > 1 or len(afters) > 1:
            yield from self._several(here, befores, afters, sent)
            return
        yield from self._type(here, old, new, sent)
        yield from self._properties(here, old, new, sent)
        if "items" in old:
            yield from self._schema(f"{here}[]", old["items"], new.get("items", {}), sent)
        values = old.get("additionalProperties")
        if isinstance(values, dict):
            after = new.get("additionalProperties", {})
            yield from self._schema(
                f"{here}{{}}", values, after if isinstance(after, dict) else {}, sent
            )

    def _several(
        self, here: str, olds: Mapping[str, Schema], news: Mapping[str, Schema], sent: bool
    ) -> Iterator[str]:
        """What may be sent must go on being taken. What comes may come in more forms, except that
        what was never null must not become so."""
        for name, variant in olds.items():
            if name in news:
                yield from self._schema(here, variant, news[name], sent)
            elif sent:
                yield f"{here} may no longer be {name}"
        if not sent and "null" in news and "null" not in olds:
            yield f"{here} may now be null"
        if not sent and not olds.keys() & news.keys():
            yield f"{here} is now {', '.join(news)} instead of {', '.join(olds)}"

    def _type(self, here: str, old: Schema, new: Schema, sent: bool) -> Iterator[str]:
        before, after = old.get("type"), new.get("type")
        wider = {before, after} == {"integer", "number"} and (after == "number") == sent
        if before != after and not wider and not (sent and after is None):
            yield f"{here} is now {after or 'anything'} instead of {before or 'anything'}"
        gone = set(map(str, _allowed(old))) - set(map(str, _allowed(new)))
        if sent and gone and _allowed(new):
            yield f"{here} may no longer be {', '.join(sorted(gone))}"
        if not sent:
            return
        for bound, tighter in _BOUNDS.items():
            if bound in new and new[bound] != tighter(new[bound], old.get(bound, new[bound])):
                continue
            if bound in new and new[bound] != old.get(bound):
                yield f"{here} has a tighter {bound}: {new[bound]} instead of {old.get(bound)}"
        if "pattern" in new and new["pattern"] != old.get("pattern"):
            yield f"{here} must now look like {new['pattern']}"

    def _properties(self, here: str, old: Schema, new: Schema, sent: bool) -> Iterator[str]:
        before, after = old.get("properties", {}), new.get("properties", {})
        for name, schema in before.items():
            if name not in after:
                yield f"{here}.{name} is gone"
            else:
                yield from self._schema(f"{here}.{name}", schema, after[name], sent)
        needed, given = set(old.get("required", ())), set(new.get("required", ()))
        if sent:
            yield from (f"{here}.{name} is now needed" for name in sorted(given - needed))
        else:
            left = sorted((needed - given) & after.keys())
            yield from (f"{here}.{name} may now be left out" for name in left)


def _parameters(operation: Schema) -> dict[str, Schema]:
    return {f"{p['in']} {p['name']}": p for p in operation.get("parameters", ())}


def _resolved(document: Schema, schema: Schema) -> Schema:
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    return schema


def _variants(document: Schema, schema: Schema) -> dict[str, Schema]:
    """The forms that a value may take, by name; one without a name if there is no choice."""
    several = schema.get("anyOf") or schema.get("oneOf")
    if not several:
        return {_name(schema): schema}
    found: dict[str, Schema] = {}
    for each in several:
        name = each["$ref"].rpartition("/")[2] if "$ref" in each else ""
        inner = _resolved(document, each)
        if inner.get("anyOf") or inner.get("oneOf"):
            found.update(_variants(document, inner))
        else:
            found[name or _name(inner)] = inner
    return found


def _name(schema: Schema) -> str:
    return str(schema.get("title") or schema.get("type") or schema.get("const") or "anything")


def _allowed(schema: Schema) -> tuple[Any, ...]:
    return (schema["const"],) if "const" in schema else tuple(schema.get("enum", ()))
