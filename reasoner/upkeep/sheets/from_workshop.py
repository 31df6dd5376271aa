"""Rows of the sheets observations, rules, prices, operations and stock."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from rdflib import RDF, RDFS, Literal, URIRef
from rdflib.namespace import SKOS
from rdflib.term import Node

from ...supply import StockItem
from ...terms import QUDT, local_name
from .desk import Desk
from .names import key_of, nearest
from .rows import Record
from .statements import decimal, label, same_value, text, whole
from .tables import Cell
from .vocabulary import ANYTHING, UNITS
from .words import KO


def observation_row(record: Record, desk: Desk) -> None:
    """Something to look at, read off, count or measure."""
    iri, who, name = desk.subject(record), desk.who(record), record.text("observation")
    vocabulary = desk.vocabulary
    sort, reach, how = record.choice("sort"), record.choice("reach"), record.text("measureBy")
    words, prefix = record.texts("mayRead"), record.text("numberPrefix")
    role, grace = record.name("withRole"), record.number_in("readTo")
    quantity = _quantity(record, desk)
    if iri is None or who is None or not record.ok:
        return
    sorts = {vocabulary.label(k): k for k in vocabulary.below(KO.Observation)}
    reaches = {vocabulary.label(r): r for r in vocabulary.members(KO.Reach)}
    say = desk.statements.say
    say(iri, RDF.type, sorts[sort], who)
    say(iri, SKOS.prefLabel, label(name), who)
    say(iri, KO.reach, reaches[reach], who)
    say(iri, KO.measureBy, text(how), who)
    desk.observation_sorts[iri] = sorts[sort]
    desk.observation_units[iri] = _unit(desk, quantity)
    for word in words:
        say(iri, KO.mayRead, text(word), who)
        desk.observation_words.setdefault(iri, set()).add(word)
    if prefix:
        say(iri, KO.numberPrefix, text(prefix), who)
    for prop, thing in ((KO.withRole, role), (KO.ofQuantity, quantity)):
        if thing is not None:
            say(iri, prop, thing, who)
    if grace is not None:
        say(iri, KO.readTo, decimal(grace), who)


def _quantity(record: Record, desk: Desk) -> URIRef | None:
    said = record.text("ofQuantity")
    if not said:
        return None
    words = [*desk.vocabulary.quantities.values(), *desk.vocabulary.attributes.values()]
    found = [w.iri for w in words if key_of(said) in (key_of(w.label), key_of(w.name))]
    if len(found) != 1:
        why = "is several" if found else "is no quantity"
        record.fault("ofQuantity", f"“{said}” {why}{nearest(said, (w.label for w in words))}")
        return None
    return found[0]


def _unit(desk: Desk, quantity: Node | None) -> str:
    if quantity is None:
        return ""
    return UNITS.get(local_name(desk.vocabulary.graph.value(quantity, QUDT.hasUnit) or ""), "")


_FIELDS = {
    "a serial number": ("fromNumber", "toNumber"),
    "a date": ("fromDate", "toDate"),
    "a visible feature": ("reads",),
    "a count or a measured value": ("reads", "least", "most"),
}


def rule_row(record: Record, desk: Desk) -> None:
    """What an observation tells of a part, a family or a car."""
    who, tells, seen = desk.who(record), record.name("tells"), record.name("byObservation")
    if seen is None:
        return
    sort = _sort_of(desk, seen)
    allowed = _FIELDS[sort]
    others = {f for fields in _FIELDS.values() for f in fields} - set(allowed)
    for key in sorted(others):
        if record.has(key):
            headers = ", ".join(record.plan.column(a).header for a in allowed)
            record.fault(key, f"a rule by {sort} states {headers} and nothing else")
    if not any(record.has(key) for key in allowed):
        record.fault(allowed[0], f"blank; a rule by {sort} says what is read")
    said: list[tuple[URIRef, Literal]] = []
    if sort == "a serial number":
        said += _numbers(record)
    elif sort == "a date":
        said += _months(record)
    elif sort == "a visible feature":
        said += [(KO.reads, text(w)) for w in _words(record, desk, seen)]
    else:
        said += _measures(record, desk, seen)
    if who is None or tells is None or not record.ok:
        return
    node = desk.statements.record(
        who,
        (RDF.type, KO.IdentificationRule),
        (KO.tells, tells),
        (KO.byObservation, seen),
        *said,
    )
    row = desk.rows_of_rules.setdefault(node, record.number)
    if row != record.number:
        record.fault("", f"row {row} says the very same")


def _sort_of(desk: Desk, seen: URIRef) -> str:
    own = desk.observation_sorts.get(seen)
    types: Iterable[Node] = [own] if own else desk.statements.known(seen, RDF.type)
    graph = desk.vocabulary.graph
    wider = {w for t in types for w in graph.transitive_objects(t, RDFS.subClassOf)}
    if KO.SerialSeries in wider:
        return "a serial number"
    if KO.BuildDate in wider:
        return "a date"
    return "a visible feature" if KO.VisibleFeature in wider else "a count or a measured value"


def _numbers(record: Record) -> Iterable[tuple[URIRef, Literal]]:
    first, last = record.whole("fromNumber"), record.whole("toNumber")
    if first is not None and last is not None and first > last:
        record.fault("toNumber", f"{last} is before {first}, where the range begins")
    for prop, number in ((KO.fromNumber, first), (KO.toNumber, last)):
        if number is not None:
            yield prop, whole(number)


def _months(record: Record) -> Iterable[tuple[URIRef, Literal]]:
    first, last = record.month("fromDate"), record.month("toDate")
    if first and last and first > last:
        record.fault("toDate", f"{last} is before {first}, where the range begins")
    for prop, month in ((KO.fromDate, first), (KO.toDate, last)):
        if month:
            yield prop, text(month)


def _words(record: Record, desk: Desk, seen: URIRef) -> Iterable[str]:
    may_read = {str(o) for o in desk.statements.known(seen, KO.mayRead)}
    may_read |= desk.observation_words.get(seen, set())
    by_key = {key_of(word): word for word in sorted(may_read)}
    for word in record.texts("reads"):
        if by_key and key_of(word) not in by_key:
            near = nearest(word, by_key.values())
            record.fault("reads", f"“{word}” is none of {', '.join(by_key.values())}{near}")
        else:
            yield by_key.get(key_of(word), word)


def _measures(record: Record, desk: Desk, seen: URIRef) -> Iterable[tuple[URIRef, Literal]]:
    known = desk.statements.known(seen, KO.ofQuantity)
    unit = desk.observation_units.get(seen) or _unit(desk, next(iter(known), None))
    cells: list[tuple[str, Cell]] = [("least", record.raw("least")), ("most", record.raw("most"))]
    reads = record.raw("reads")
    cells += (
        [("reads", c) for c in reads.split(";")] if isinstance(reads, str) else [("reads", reads)]
    )
    found: dict[str, Decimal] = {}
    for key, cell in cells:
        if cell is not None:
            value = record.quantity(key, cell, unit, unit, ANYTHING)
            if value is not None:
                found[key] = value
                yield KO[key], decimal(value)
    if "least" in found and "most" in found and found["least"] > found["most"]:
        record.fault("most", f"{found['most']} is less than {found['least']}")


def price_row(record: Record, desk: Desk) -> None:
    """A price stated anew; what any source said before is taken back."""
    part, price, who = record.name("part"), record.number_in("price"), desk.who(record)
    if part is None or price is None or who is None or not record.ok:
        return
    _, _, row = desk.stated.setdefault(
        (part, KO.price, KO.price), (decimal(price), record.sheet, record.number)
    )
    if row != record.number:
        record.fault("part", f"row {row} prices this part already")
        return
    _state_anew(desk, part, KO.price, decimal(price), who)


def _state_anew(desk: Desk, s: URIRef, p: URIRef, value: Literal, who: URIRef) -> None:
    known = desk.statements.known(s, p)
    if any(same_value(o, value) for o in known):
        desk.statements.unchanged += 1
        return
    for o in known:
        desk.statements.take_back(s, p, o)
    desk.statements.say(s, p, value, who)


def operation_row(record: Record, desk: Desk) -> None:
    """A new operation, or a known one's hours and stations stated anew."""
    iri, who, name = desk.subject(record), desk.who(record), record.text("operation")
    hours, opens = record.number_in("hours"), record.all_names("opens")
    after = record.all_names("after")
    if iri is not None and iri in after:
        record.fault("after", "an operation cannot be done before itself")
    if iri is None or who is None or hours is None or not record.ok:
        return
    if not desk.statements.known_at_all(iri):
        desk.statements.say(iri, RDF.type, KO.Operation, who)
        desk.statements.say(iri, SKOS.prefLabel, label(name), who)
    _state_anew(desk, iri, KO.hours, decimal(hours), who)
    for key, prop, things in (("opens", KO.opens, opens), ("after", KO.after, after)):
        if record.has(key):
            known = desk.statements.known(iri, prop)
            for other in known:
                if other not in things:
                    desk.statements.take_back(iri, prop, other)
            for thing in things:
                if thing not in known:
                    desk.statements.say(iri, prop, thing, who)


def stock_row(record: Record, desk: Desk) -> None:
    """Parts on the shelf; the shop's own, so no source is asked for."""
    part, count = record.name("part"), record.whole("count")
    condition, price = record.text("condition"), record.number_in("price")
    if part is not None and count is not None and record.ok:
        desk.stock.append(StockItem(str(part), count, condition or "used", price))
