"""Rows of the sheet values: what somebody measured or states of an end, a part or a family.

Sources that differ are kept side by side, never overwritten; one source says one thing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from rdflib import RDF, Literal, URIRef
from rdflib.term import Node

from ...terms import local_name
from .desk import Desk
from .measure import split_quantity
from .names import key_of, nearest
from .rows import Record
from .statements import decimal, same_value, text, whole
from .tables import Cell
from .vocabulary import Word
from .words import KO


def value_row(record: Record, desk: Desk) -> None:
    """One value."""
    who = desk.who(record)
    target = _target(record, desk)
    if target is None:
        record.text("quantity")
        record.raw("value")
        return
    word = _quantity(record, desk, target)
    value = None if word is None else _value(record, word)
    if word is None or value is None or who is None or not record.ok:
        return
    before, _, row = desk.stated.setdefault(
        (target, word.iri, who), (value, record.sheet, record.number)
    )
    if before != value:
        record.fault("value", f"row {row} says {before} of the same on the word of the same source")
    elif word.iri in desk.vocabulary.attributes and (other := _other(desk, target, word, value)):
        record.fault(
            "value",
            f"the catalogue says {other} already, and a part or family has one {word.label}; "
            "take that back first",
        )
    elif row == record.number:
        _keep_the_size(desk, target, word, value)
        desk.statements.say(target, word.iri, value, who)


def _target(record: Record, desk: Desk) -> URIRef | None:
    """What the value is of; a fault if the row does not say, or says it in two ways."""
    end, owner, role = (record.has(key) for key in ("end", "owner", "role"))
    if end:
        if owner or role:
            record.fault("end", "give the end, or whose end it is with its role, not both")
        return record.name("end")
    if not owner:
        record.fault("owner", "say of what: an end, or a family or part (with role, if of an end)")
        return None
    whose = record.name("owner")
    what = record.name("role") if role else None
    if whose is None or (role and what is None):
        return None
    if what is None:
        return whose
    by_role = desk.ends_of(whose)
    ends = sorted(by_role.get(what, ()))
    if len(ends) == 1:
        return ends[0]
    roles = desk.names.table("role")
    if ends:
        named = ", ".join(map(local_name, ends))
        record.fault("role", f"{local_name(whose)} has several: write one as “end”: {named}")
    else:
        has = ", ".join(sorted(roles.word_for(r) for r in by_role if r)) or "none at all"
        record.fault("role", f"{local_name(whose)} has no end of this role; it has {has}")
    return None


def _quantity(record: Record, desk: Desk, target: URIRef) -> Word | None:
    said = record.text("quantity")
    if not said:
        return None
    kind = desk.new_kinds.get(target) or next(
        (k for k in desk.statements.known(target, RDF.type) if k in desk.vocabulary.kinds), None
    )
    if kind is None:
        words: Iterable[Word] = desk.vocabulary.attributes.values()
        of = "a part or family"
    else:
        words = desk.vocabulary.kinds[URIRef(str(kind))].values
        of = f"an end of the kind {desk.vocabulary.label(kind)}"
    key = key_of(said)
    for names in (lambda w: (w.label, w.name, w.iri), lambda w: w.synonyms):
        found = [w for w in words if key in map(key_of, names(w))]
        if len(found) == 1:
            return found[0]
        if found:
            listed = ", ".join(w.label for w in found)
            record.fault("quantity", f"“{said}” may be {listed}; write which")
            return None
    labels = [w.label for w in words]
    near = nearest(said, [n for w in words for n in (w.label, w.name, *w.synonyms)])
    record.fault(
        "quantity", f"“{said}” is no quantity of {of}{near}; there are {', '.join(sorted(labels))}"
    )
    return None


def _value(record: Record, word: Word) -> Literal | None:
    cell = record.raw("value")
    if cell is None:
        return None
    if not word.number:
        return _text_value(record, word)
    unit = record.text("unit")
    if unit and _own_unit(cell) not in ("", unit):
        record.fault("unit", f"“{unit}”, but the value itself has “{_own_unit(cell)}”")
        return None
    if word.number == "whole":
        count = record.quantity("value", cell, unit, "", word.limits, whole=True)
        return None if count is None else whole(int(count))
    number = record.quantity("value", cell, unit, word.unit, word.limits)
    return None if number is None else decimal(number)


def _own_unit(cell: Cell) -> str:
    if not isinstance(cell, str):
        return ""
    try:
        return split_quantity(cell)[1]
    except ValueError:
        return ""


def _text_value(record: Record, word: Word) -> Literal | None:
    said = record.text("value")
    if record.has("unit"):
        record.fault("unit", f"{word.label} has no unit")
    limits = word.limits
    choices = {key_of(c): c for c in limits.one_of}
    if choices and key_of(said) not in choices:
        near = nearest(said, limits.one_of)
        record.fault("value", f"“{said}” is none of {', '.join(limits.one_of)}{near}")
        return None
    if limits.pattern and not re.search(limits.pattern, said):
        record.fault("value", f"“{said}” will not do. {limits.said}".strip())
        return None
    return text(choices.get(key_of(said), said)) if record.ok else None


def _other(desk: Desk, target: Node, word: Word, value: Literal) -> str:
    """What else the catalogue says where it may say one thing only; "" if nothing."""
    said = desk.statements.known(target, word.iri)
    return next((str(o) for o in said if not same_value(o, value)), "")


def _keep_the_size(desk: Desk, target: URIRef, word: Word, value: Literal) -> None:
    """A value stated on an end hides its form's; so the form's is written beside it, to be kept.

    It stands in the graph of the source that gave the size, which says the same of every such end.
    """
    statements = desk.statements
    if statements.known(target, word.iri):
        return
    for form in statements.known(target, KO.form):
        for other in statements.known(form, word.iri):
            if not same_value(other, value):
                for source in statements.facts.sources[(form, word.iri, other)]:
                    statements.say(target, word.iri, other, URIRef(source))
