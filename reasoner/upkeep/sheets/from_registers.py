"""Rows of the sheets sources, makers, lines, generations, cars and stations as statements."""

from __future__ import annotations

from rdflib import RDF, XSD, Literal, URIRef
from rdflib.namespace import PROV, SKOS

from ...terms import local_name
from .defining import SPACE, slug
from .desk import Desk
from .names import key_of
from .rows import Record
from .statements import label, text, whole
from .words import KO, SCHEMA

_EMPTY = ("empty", "(empty)", "none", "nothing")


def source_row(record: Record, desk: Desk) -> None:
    """A source, described in its own graph."""
    iri = desk.subject(record)
    standing, by = record.choice("standing"), record.text("by")
    day, about = record.day("date"), record.text("about")
    name = record.text("source")
    if iri is not None and record.ok:
        describe_source(desk, iri, name, standing, by, day, about)


def describe_source(
    desk: Desk, iri: URIRef, name: str, standing: str, by: str, day: str = "", about: str = ""
) -> None:
    """State a source: what it is called, its standing, who it comes from and since when."""
    say = desk.statements.say
    labels = {desk.vocabulary.label(s): s for s in desk.vocabulary.members(KO.Standing)}
    makers = desk.names.table("maker").find(by)
    agent = makers[0] if len(makers) == 1 else URIRef(f"{SPACE}who/{slug(by) or 'somebody'}")
    say(iri, RDF.type, KO.Source, iri)
    say(iri, RDF.type, PROV.Entity, iri)
    say(iri, SKOS.prefLabel, label(name), iri)
    say(iri, KO.standing, labels[standing], iri)
    say(iri, PROV.wasAttributedTo, agent, iri)
    if len(makers) != 1:
        say(agent, RDF.type, PROV.Agent, iri)
        say(agent, SKOS.prefLabel, label(by), iri)
    if day:
        when = Literal(f"{day}T00:00:00Z", datatype=XSD.dateTime, normalize=False)
        say(iri, PROV.generatedAtTime, when, iri)
    if about:
        say(iri, SKOS.definition, text(about, "en"), iri)


def maker_row(record: Record, desk: Desk) -> None:
    """A maker."""
    _plain(record, desk, SCHEMA.Organization, "maker")


def line_row(record: Record, desk: Desk) -> None:
    """A line."""
    _plain(record, desk, KO.Line, "line")


def _plain(record: Record, desk: Desk, cls: URIRef, key: str) -> None:
    iri, who, name = desk.subject(record), desk.who(record), record.text(key)
    if iri is not None and who is not None and record.ok:
        desk.statements.say(iri, RDF.type, cls, who)
        desk.statements.say(iri, SKOS.prefLabel, label(name), who)


def generation_row(record: Record, desk: Desk) -> None:
    """A generation with its line and years."""
    iri, who, name = desk.subject(record), desk.who(record), record.text("generation")
    line = record.name("ofLine")
    first, last = _span(record, "fromYear", "toYear")
    if iri is None or who is None or line is None or not record.ok:
        return
    say = desk.statements.say
    say(iri, RDF.type, KO.Generation, who)
    say(iri, SKOS.prefLabel, label(name), who)
    say(iri, KO.ofLine, line, who)
    for prop, year in ((KO.fromYear, first), (KO.toYear, last)):
        if year is not None:
            say(iri, prop, whole(year), who)


def car_row(record: Record, desk: Desk) -> None:
    """A stock build: what it is based on and the cars it stands for."""
    iri, who, name = desk.subject(record), desk.who(record), record.text("car")
    generation, base = record.name("ofGeneration"), record.name("basedOn")
    body, market = record.name("body"), record.text("market")
    years = _span(record, "fromYear", "toYear")
    serials = _span(record, "fromSerial", "toSerial")
    if iri is not None and base == iri:
        record.fault("basedOn", "a car cannot be based on itself")
    if iri is None or who is None or generation is None or not record.ok:
        return
    say = desk.statements.say
    say(iri, RDF.type, KO.Car, who)
    say(iri, SKOS.prefLabel, label(name), who)
    say(iri, KO.ofGeneration, generation, who)
    for prop, thing in ((KO.basedOn, base), (KO.body, body)):
        if thing is not None:
            say(iri, prop, thing, who)
    numbers = zip(
        (KO.fromYear, KO.toYear, KO.fromSerial, KO.toSerial), (*years, *serials), strict=True
    )
    for prop, number in numbers:
        if number is not None:
            say(iri, prop, whole(number), who)
    if market:
        say(iri, KO.market, text(market), who)


def _span(record: Record, low: str, high: str) -> tuple[int | None, int | None]:
    first, last = record.whole(low), record.whole(high)
    if first is not None and last is not None and first > last:
        record.fault(high, f"{last} is before {first}, where the range begins")
    return first, last


def station_row(record: Record, desk: Desk) -> None:
    """What sits at one station of a car, or that nothing does."""
    car, station, who = record.name("car"), record.name("atStation"), desk.who(record)
    empty = key_of(record.text("part")) in _EMPTY
    part = None if empty else record.name("part")
    if car is None or station is None or who is None or not record.ok:
        return
    if _filled_already(record, desk, car, station, part):
        return
    if part is None:
        desk.statements.say(car, KO.leavesEmpty, station, who)
        return
    places = desk.stations_of(part)
    if station not in places:
        sits = ", ".join(sorted(map(desk.names.table("station").word_for, places)))
        where = f"it sits at {sits}" if sits else "its families state no station"
        record.fault("part", f"{local_name(part)} does not sit at this station; {where}")
        return
    fit = desk.statements.record(
        who, (KO.atStation, station), (KO.part, part), of=f"{car} {KO.has}"
    )
    desk.statements.say(car, KO.has, fit, who)


def _filled_already(
    record: Record, desk: Desk, car: URIRef, station: URIRef, part: URIRef | None
) -> bool:
    """Whether this file or the catalogue fills the station of the car itself already."""
    said = text(str(part or ""))
    _, _, row = desk.stated.setdefault((car, KO.has, station), (said, "", record.number))
    if row != record.number:
        record.fault("atStation", f"row {row} fills this station already")
        return True
    known = desk.statements.known
    parts = [p for f in known(car, KO.has) if station in known(f, KO.atStation)
             for p in known(f, KO.part)]  # fmt: skip
    if station in known(car, KO.leavesEmpty) or parts:
        has = ", ".join(map(local_name, parts)) or "nothing"
        record.fault("atStation", f"the catalogue states {has} there already for this very car")
        return True
    return False
