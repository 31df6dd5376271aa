"""Rows of the sheets families and parts as statements."""

from __future__ import annotations

import re

from rdflib import OWL, RDF, RDFS, URIRef
from rdflib.namespace import SKOS
from rdflib.term import Node

from ...terms import local_name
from .desk import Desk, NewFamily
from .rows import Record
from .statements import decimal, flag, label, text
from .words import KO, SCHEMA


def family_row(record: Record, desk: Desk) -> None:
    """A family: where its parts sit, what it is a kind of, what it requires and excludes."""
    iri, who, name = desk.subject(record), desk.who(record), record.text("family")
    stations, parents = record.all_names("sitsAt"), record.all_names("kindOf")
    requires, excludes = record.all_names("requires"), record.all_names("excludes")
    if iri is None or who is None:
        return
    desk.families[iri] = NewFamily(parents, stations)
    if iri in parents:
        record.fault("kindOf", "a family cannot be a kind of itself")
    if not record.ok:
        return
    say = desk.statements.say
    say(iri, RDF.type, OWL.Class, who)
    say(iri, RDF.type, KO.Family, who)
    say(iri, SKOS.prefLabel, label(name), who)
    for parent in parents or (KO.Part,):
        say(iri, RDFS.subClassOf, parent, who)
    give(desk, iri, KO.ofFamily, iri, who)
    for station in stations:
        give(desk, iri, KO.sitsAt, station, who)
    for prop, families in ((KO.requires, requires), (KO.excludes, excludes)):
        for family in families:
            say(iri, prop, family, who)


def families_sit_somewhere(records: list[tuple[Record, URIRef]], desk: Desk) -> None:
    """A fault for each family of the file that neither states a station nor inherits one."""
    for record, iri in records:
        if not desk.stations_of(iri):
            record.fault("sitsAt", "blank, and no wider family says where its parts sit")


def give(desk: Desk, family: Node, prop: URIRef, value: URIRef, who: URIRef) -> None:
    """Give every part of a family something: an owl:hasValue restriction."""
    restriction = desk.statements.record(
        who,
        (RDF.type, OWL.Restriction),
        (OWL.onProperty, prop),
        (OWL.hasValue, value),
        of=f"{family} {RDFS.subClassOf}",
    )
    desk.statements.say(family, RDFS.subClassOf, restriction, who)


def part_row(record: Record, desk: Desk) -> None:
    """A part with its number, family, maker, price and weight."""
    iri, who = desk.subject(record), desk.who(record)
    number, name = record.text("number"), record.text("label")
    family, maker = record.name("ofFamily"), record.name("maker")
    price, weight = record.number_in("price"), record.number_in("weight")
    newer, same = record.name("supersededBy"), record.all_names("interchangesWith")
    matched, lacks = record.name("inSet"), record.all_names("lacksRole")
    once = record.flag("oneUse")
    if iri is not None and iri in (newer, *same):
        record.fault(
            "supersededBy" if newer == iri else "interchangesWith", "names the part itself"
        )
    if iri is None or who is None or family is None or maker is None:
        return
    desk.part_family[iri] = family
    if not record.ok:
        return
    say = desk.statements.say
    say(iri, RDF.type, family, who)
    say(iri, SKOS.prefLabel, label(name), who)
    say(iri, SCHEMA.mpn, text(number), who)
    say(iri, KO.mpnKey, text(f"{local_name(maker)} {_plain(number)}"), who)
    say(iri, SCHEMA.manufacturer, maker, who)
    for prop, amount in ((KO.price, price), (KO.weight, weight)):
        if amount is not None:
            say(iri, prop, decimal(amount), who)
    for prop, thing in ((KO.supersededBy, newer), (KO.inSet, matched)):
        if thing is not None:
            say(iri, prop, thing, who)
    for other in same:
        say(iri, KO.interchangesWith, other, who)
    for role in lacks:
        say(iri, KO.lacksRole, role, who)
    if once is not None:
        say(iri, KO.oneUse, flag(once), who)


def _plain(number: str) -> str:
    return re.sub(r"[\W_]+", "", number).lower()
