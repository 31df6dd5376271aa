"""Make the catalogue from closed facts.

OWL RL gives a part everything its families carry. What OWL cannot say, because it never takes
anything back, is settled here: an end stated on the part itself replaces the family's ends of
that role, and a car keeps the fits of the car it is based on except where it states its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TypeVar

from rdflib import OWL, RDF, RDFS, URIRef
from rdflib.namespace import PROV
from rdflib.term import BNode, Node

from .assemble_identification import observations_of, rules_of
from .assemble_workshop import advice, consumables, operations
from .catalogue import (
    Car,
    Catalogue,
    Claim,
    End,
    Family,
    Fit,
    Joint,
    KindText,
    Member,
    Named,
    OpenValue,
    Part,
    Quantity,
    Source,
    Standing,
    Station,
)
from .index import FactIndex, scalar
from .interfaces.kind import Scalar, Value
from .reading import Facts, Triple
from .terms import KO, QUDT, SCHEMA, code_name, local_name

T = TypeVar("T")


def assemble(version: str, facts: Facts, derived: Iterable[Triple]) -> Catalogue:
    """The catalogue of `facts` and what follows from them; the facts have passed validation."""
    derived = tuple(derived)
    index = FactIndex(facts, derived)
    sources = {str(s): _source(index, s) for s in index.instances(KO.Source)}
    ends = {str(e): _end(index, e, sources) for e in index.instances(KO.End)}
    parts = {str(p): _part(index, p, ends) for p in index.instances(KO.Part)}
    cars = _cars(index)
    return Catalogue(
        version=version,
        sources=sources,
        stations={str(s): _station(index, s) for s in index.instances(KO.Station)},
        families={str(f): _family(index, f, parts) for f in index.instances(KO.Family)},
        parts=parts,
        ends=ends,
        joints={str(j): _joint(index, j) for j in index.instances(KO.Joint)},
        cars=cars,
        generations=_named(index, KO.Generation),
        lines=_named(index, KO.Line),
        roles=_named(index, KO.Role),
        sets=_named(index, KO.MatchedSet),
        makers=_makers(index, parts),
        operations=operations(index),
        quantities=_quantities(index),
        kinds=_kinds(index),
        tolerances=_default_tolerances(index),
        tried=_tried(index),
        derived=len(derived),
        asserted=len(facts.sources),
        observations=observations_of(index),
        identification=rules_of(index),
        consumables=consumables(index),
        advice=advice(index),
    )


def _source(index: FactIndex, node: URIRef) -> Source:
    standing = index.iri(node, KO.standing)
    by = next(iter(index.objects(node, PROV.wasAttributedTo)), None)
    return Source(
        iri=str(node),
        label=index.label(node, local_name(node)),
        standing=Standing(index.whole(URIRef(standing), KO["rank"]) or 0)
        if standing
        else Standing.PRESUMED,
        by="" if by is None else index.label(by, local_name(by)),
        date=index.text(node, PROV.generatedAtTime)[:10],
    )


def _named(index: FactIndex, cls: URIRef) -> dict[str, Named]:
    return {
        str(node): Named(str(node), index.label(node, local_name(node)), index.synonyms(node))
        for node in index.instances(cls)
    }


def _makers(index: FactIndex, parts: Mapping[str, Part]) -> dict[str, Named]:
    return {
        maker: Named(
            maker, index.label(URIRef(maker), local_name(maker)), index.synonyms(URIRef(maker))
        )
        for maker in sorted({part.maker for part in parts.values() if part.maker})
    }


def _end(index: FactIndex, node: URIRef, sources: Mapping[str, Source]) -> End:
    types = set(index.iris(node, RDF.type))
    kinds = [str(k) for k in index.subjects(RDFS.subClassOf, KO.End) if str(k) in types]
    side = index.iri(node, KO.side)
    form = index.iri(node, KO.form)
    claims = _claims(index, node, sources)
    if form:
        claims = _claims(index, URIRef(form), sources) | claims
    return End(
        iri=str(node),
        label=index.label(node, local_name(node)),
        kind=local_name(kinds[0]) if kinds else "",
        role=index.iri(node, KO.role),
        side=code_name(side) if side else "",
        claims=dict(sorted(claims.items())),
        open=tuple(
            sorted(
                (_open_value(index, o) for o in index.objects(node, KO.madeToSuit)),
                key=lambda v: v.quantity,
            )
        ),
    )


def _open_value(index: FactIndex, node: Node) -> OpenValue:
    return OpenValue(
        quantity=local_name(index.iri(node, KO.ofQuantity)),
        least=index.decimal(node, KO.least),
        most=index.decimal(node, KO.most),
        one_of=tuple(sorted((scalar(o) for o in index.objects(node, KO.oneOf)), key=str)),
    )


def _claims(
    index: FactIndex, node: URIRef, sources: Mapping[str, Source]
) -> dict[str, tuple[Claim, ...]]:
    def strength(claim: Claim) -> tuple[int, str]:
        ranks = [int(sources[s].standing) for s in claim.sources if s in sources]
        return min(ranks, default=9), str(claim.value)

    claims: dict[str, tuple[Claim, ...]] = {}
    for prop in index.instances(KO.ValueProperty):
        stated: dict[Scalar, set[str]] = {}
        for obj in index.objects(node, prop):
            stated.setdefault(scalar(obj), set()).update(index.sources(node, prop, obj))
        if stated:
            found = [Claim(value, tuple(sorted(by))) for value, by in stated.items()]
            claims[local_name(prop)] = tuple(sorted(found, key=strength))
    for prop in index.instances(KO.RecordProperty):
        by_source: dict[tuple[str, ...], list[dict[str, Scalar]]] = {}
        for obj in index.objects(node, prop):
            if isinstance(obj, (BNode, URIRef)):
                by_source.setdefault(index.sources(node, prop, obj), []).append(_record(index, obj))
        if by_source:
            found = [
                Claim(tuple(sorted(records, key=_record_order)), by)
                for by, records in by_source.items()
            ]
            claims[local_name(prop)] = tuple(sorted(found, key=strength))
    return claims


def _record(index: FactIndex, node: Node) -> dict[str, Scalar]:
    return {
        local_name(prop): scalar(values[0])
        for prop in (*index.instances(OWL.DatatypeProperty), *index.instances(OWL.ObjectProperty))
        if (values := index.objects(node, prop)) and str(prop).startswith(str(KO))
    }


def _record_order(record: Mapping[str, Value]) -> list[tuple[str, bool, Decimal, str]]:
    return [
        (key, isinstance(value, str), _number_or_zero(value), str(value))
        for key, value in sorted(record.items())
    ]


def _number_or_zero(value: Value) -> Decimal:
    return Decimal(value) if isinstance(value, (int, Decimal)) else Decimal(0)


def _part(index: FactIndex, node: URIRef, ends: Mapping[str, End]) -> Part:
    own = set(index.iris(node, KO.ownEnd))
    lacking = set(index.iris(node, KO.lacksRole))
    by_role: dict[str, list[str]] = {}
    for end in index.iris(node, KO.hasEnd):
        if end in ends:
            by_role.setdefault(ends[end].role, []).append(end)
    families = frozenset(index.iris(node, KO.ofFamily))
    chosen: dict[str, tuple[str, ...]] = {}
    via: dict[str, str] = {}
    for role in sorted(set(by_role) - lacking):
        mine = sorted(end for end in by_role[role] if end in own)
        chosen[role] = tuple(mine or sorted(by_role[role]))
        via[role] = str(node) if mine else _giver(index, families, chosen[role][0])
    types = [t for t in index.objects(node, RDF.type) if str(t) in families]
    nearest = [str(t) for t in types if index.sources(node, RDF.type, t)]
    return Part(
        iri=str(node),
        label=index.label(node, local_name(node)),
        number=index.text(node, SCHEMA.mpn) or local_name(node),
        synonyms=index.synonyms(node),
        maker=index.iri(node, SCHEMA.manufacturer),
        family=next(iter(sorted(nearest)), next(iter(sorted(families)), "")),
        families=families,
        stations=index.iris(node, KO.sitsAt),
        ends=chosen,
        via=via,
        sources=tuple(sorted({s for t in types for s in index.sources(node, RDF.type, t)})),
        price=index.decimal(node, KO.price),
        weight=index.decimal(node, KO.weight),
        superseded_by=index.iris(node, KO.supersededBy),
        interchanges=tuple(i for i in index.iris(node, KO.interchangesWith) if i != str(node)),
        sets=index.iris(node, KO.inSet),
        requires=index.iris(node, KO.requires),
        excludes=index.iris(node, KO.excludes),
        tolerances=_own_tolerances(index, (*sorted(families), str(node))),
        one_use=index.true(node, KO.oneUse),
        rework_of=index.iri(node, KO.reworkOf),
        rework_act=index.text(node, KO.reworkAct),
        rework_hours=(index.decimal(node, KO.hours) or Decimal(0))
        if index.iri(node, KO.reworkOf)
        else Decimal(0),
        irreversible=index.true(node, KO.irreversible),
        attributes=_attributes(index, (*sorted(families), str(node))),
        asks=_asked_directly(index, (str(node), *sorted(families))),
    )


def _asked_directly(index: FactIndex, askers: Iterable[str]) -> dict[str, str]:
    """Requirements somebody states, not those that follow by transitivity."""
    found: dict[str, str] = {}
    for asker in askers:
        for family in index.iris(URIRef(asker), KO.requires):
            if index.sources(URIRef(asker), KO.requires, URIRef(family)):
                found.setdefault(family, asker)
    return dict(sorted(found.items()))


def _attributes(index: FactIndex, owners: Iterable[str]) -> dict[str, Value]:
    """Value properties stated on a family or part itself, such as a wheel's rim diameter."""
    found: dict[str, Value] = {}
    for owner in owners:
        for prop in index.instances(KO.ValueProperty):
            for value in index.objects(URIRef(owner), prop)[:1]:
                found[local_name(prop)] = scalar(value)
    return dict(sorted(found.items()))


def _restricted(index: FactIndex, family: str, prop: URIRef) -> set[str]:
    """What a family gives its parts under `prop` by owl:hasValue."""
    return {
        value
        for restriction in index.objects(URIRef(family), RDFS.subClassOf)
        if prop in index.objects(restriction, OWL.onProperty)
        for value in index.iris(restriction, OWL.hasValue)
    }


def _giver(index: FactIndex, families: Iterable[str], end: str) -> str:
    return next((f for f in sorted(families) if end in _restricted(index, f, KO.hasEnd)), "")


def _own_tolerances(index: FactIndex, owners: Iterable[str]) -> dict[str, Decimal]:
    found: dict[str, Decimal] = {}
    for owner in owners:
        for node in index.objects(URIRef(owner), KO.ownTolerance):
            amount = index.decimal(node, KO.amount)
            if amount is not None:
                found[local_name(index.iri(node, KO.onQuantity))] = amount
    return dict(sorted(found.items()))


def _default_tolerances(index: FactIndex) -> dict[str, dict[str, Decimal]]:
    table: dict[str, dict[str, Decimal]] = {}
    for node in index.subjects(RDF.type, KO.Tolerance):
        kind, amount = index.iri(node, KO.forKind), index.decimal(node, KO.amount)
        if kind and amount is not None:
            name = local_name(index.iri(node, KO.onQuantity))
            table.setdefault(local_name(kind), {})[name] = amount
    return {kind: dict(sorted(names.items())) for kind, names in sorted(table.items())}


def _family(index: FactIndex, node: URIRef, parts: Mapping[str, Part]) -> Family:
    members = tuple(iri for iri, part in parts.items() if str(node) in part.families)
    given = _restricted(index, str(node), KO.sitsAt)
    for parent in index.iris(node, RDFS.subClassOf):
        given |= _restricted(index, parent, KO.sitsAt)
    return Family(
        iri=str(node),
        label=index.label(node, local_name(node)),
        synonyms=index.synonyms(node),
        stations=tuple(sorted(given)),
        parts=members,
        requires=index.iris(node, KO.requires),
    )


def _station(index: FactIndex, node: URIRef) -> Station:
    return Station(
        iri=str(node),
        label=index.label(node, local_name(node)),
        synonyms=index.synonyms(node),
        quantity=index.whole(node, KO.quantity) or 1,
        area=index.text(node, KO.inArea),
        may_stand_empty=index.true(node, KO.mayStandEmpty),
        fixed=index.true(node, KO.fixed),
    )


def _joint(index: FactIndex, node: URIRef) -> Joint:
    members = sorted(index.objects(node, KO.member), key=lambda m: index.whole(m, KO.place) or 0)
    return Joint(
        iri=str(node),
        label=index.label(node, local_name(node)),
        kind=local_name(index.iri(node, KO.kind)),
        members=tuple(
            Member(
                station=index.iri(m, KO.atStation),
                role=index.iri(m, KO.withRole),
                sign=index.whole(m, KO["sign"]) or 1,
                alone=local_name(index.iri(m, KO.alone)) or "MustMeet",
            )
            for m in members
        ),
        via=index.iri(node, KO.via),
        via_roles=(index.iri(node, KO.viaFirstRole), index.iri(node, KO.viaSecondRole)),
        only_on=frozenset(index.iris(node, KO.onlyOn)),
    )


def _cars(index: FactIndex) -> dict[str, Car]:
    nodes = {str(n): n for n in index.instances(KO.Car)}

    def fits(iri: str) -> dict[str, Fit]:
        node = nodes[iri]
        base = index.iri(node, KO.basedOn)
        own: dict[str, Fit] = dict(fits(base)) if base in nodes else {}
        for station in index.objects(node, KO.leavesEmpty):
            own[str(station)] = Fit(None, index.sources(node, KO.leavesEmpty, station))
        for fit in index.objects(node, KO.has):
            by = index.sources(node, KO.has, fit)
            own[index.iri(fit, KO.atStation)] = Fit(index.iri(fit, KO.part) or None, by)
        return dict(sorted(own.items()))

    def inherited(node: URIRef, prop: URIRef) -> str:
        value = index.iri(node, prop)
        base = index.iri(node, KO.basedOn)
        return value or (inherited(nodes[base], prop) if base in nodes else "")

    cars = {}
    for iri, node in nodes.items():
        body = inherited(node, KO.body)
        generation = inherited(node, KO.ofGeneration)
        cars[iri] = Car(
            iri=iri,
            label=index.label(node, local_name(node)),
            synonyms=index.synonyms(node),
            line=index.iri(URIRef(generation), KO.ofLine),
            generation=generation,
            body=index.label(URIRef(body), local_name(body)) if body else "",
            fits=fits(iri),
            years=(index.whole(node, KO.fromYear), index.whole(node, KO.toYear)),
            serials=(index.whole(node, KO.fromSerial), index.whole(node, KO.toSerial)),
            market=index.text(node, KO.market),
        )
    return cars


def _quantities(index: FactIndex) -> dict[str, Quantity]:
    found = {}
    for cls in (KO.ValueProperty, KO.RecordProperty):
        for node in index.instances(cls):
            unit = index.iri(node, QUDT.hasUnit)
            found[local_name(node)] = Quantity(
                name=local_name(node),
                label=index.label(node, local_name(node)),
                unit=local_name(unit) if unit else "",
                measure_by=index.text(node, KO.measureBy),
            )
    return dict(sorted(found.items()))


def _kinds(index: FactIndex) -> dict[str, KindText]:
    nodes = [n for n in index.subjects(RDFS.subClassOf, KO.End) if n != KO.End]
    return {
        local_name(n): KindText(
            local_name(n), index.label(n, local_name(n)), index.text(n, KO.kindRule)
        )
        for n in nodes
        if isinstance(n, URIRef)
    }


def _tried(index: FactIndex) -> dict[tuple[str, str], tuple[str, ...]]:
    found: dict[tuple[str, str], set[str]] = {}
    for end in index.instances(KO.End):
        for other in index.objects(end, KO.triedWith):
            pair = (min(str(end), str(other)), max(str(end), str(other)))
            found.setdefault(pair, set()).update(index.sources(end, KO.triedWith, other))
            found[pair].update(index.sources(other, KO.triedWith, end))
    return {pair: tuple(sorted(by)) for pair, by in sorted(found.items())}
