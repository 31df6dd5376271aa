"""Make the catalogue from closed facts that have passed validation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from rdflib import RDF, RDFS, URIRef
from rdflib.namespace import PROV

from .assemble_cars import cars_of, joints_of, stations_of
from .assemble_ends import EndsIn
from .assemble_identification import observations_of, rules_of
from .assemble_parts import PartsIn, members_of
from .assemble_workshop import advice, consumables, operations
from .catalogue import Catalogue, KindText, Named, Part, Quantity, Source, Standing
from .collecting import without_collecting
from .index import FactIndex
from .reading import Facts, Triple
from .terms import KO, QUDT, local_name


def assemble(version: str, facts: Facts, derived: Iterable[Triple]) -> Catalogue:
    """The catalogue of `facts` and what follows from them; the facts have passed validation."""
    derived = tuple(derived)
    with without_collecting():
        return _assembled(version, FactIndex(facts, derived), len(facts.sources), len(derived))


def _assembled(version: str, index: FactIndex, asserted: int, derived: int) -> Catalogue:
    sources = {str(s): _source(index, s) for s in index.instances(KO.Source)}
    values = EndsIn(index, sources)
    ends = {str(node): values.end(node) for node in index.instances(KO.End)}
    making = PartsIn(index, ends, values)
    parts = {str(node): making.part(node) for node in index.instances(KO.Part)}
    members = members_of(parts.values())
    return Catalogue(
        version=version,
        sources=sources,
        stations=stations_of(index),
        families={
            str(node): making.family(node, members.get(str(node), ()))
            for node in index.instances(KO.Family)
        },
        parts=parts,
        ends=ends,
        joints=joints_of(index),
        cars=cars_of(index),
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
        derived=derived,
        asserted=asserted,
        observations=observations_of(index),
        identification=rules_of(index),
        consumables=consumables(index),
        advice=advice(index),
        regional=_regional(index),
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


def _default_tolerances(index: FactIndex) -> dict[str, dict[str, Decimal]]:
    table: dict[str, dict[str, Decimal]] = {}
    for node in index.subjects(RDF.type, KO.Tolerance):
        kind, amount = index.iri(node, KO.forKind), index.decimal(node, KO.amount)
        if kind and amount is not None:
            name = local_name(index.iri(node, KO.onQuantity))
            table.setdefault(local_name(kind), {})[name] = amount
    return {kind: dict(sorted(names.items())) for kind, names in sorted(table.items())}


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


def _regional(index: FactIndex) -> dict[str, dict[str, str]]:
    """Labels said in one country only, of everything that people call by name."""
    named = (KO.Station, KO.Family, KO.Part, KO.Car, KO.Generation)
    found = {str(n): index.regional(n) for cls in named for n in index.instances(cls)}
    return {iri: labels for iri, labels in sorted(found.items()) if labels}
