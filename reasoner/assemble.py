"""Make the catalogue from closed facts that have passed validation."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from functools import partial
from typing import Any

from rdflib import RDF, RDFS, URIRef
from rdflib.namespace import PROV

from .assemble_cars import cars_of, joints_of, stations_of
from .assemble_ends import EndsIn
from .assemble_identification import observations_of, rules_of
from .assemble_parts import PartsIn, members_of
from .assemble_workshop import advice, consumables, operations
from .catalogue import Catalogue, KindText, Named, Quantity, Source, Standing
from .collecting import without_collecting
from .index import FactIndex
from .reading import Facts, Triple
from .terms import KO, QUDT, local_name


def assemble(version: str, facts: Facts, derived: Iterable[Triple]) -> Catalogue:
    """The catalogue of `facts` and what follows from them; the facts have passed validation."""
    derived = tuple(derived)
    with without_collecting():
        return assemble_index(version, FactIndex(facts, derived), len(facts.sources), len(derived))


def assemble_index(version: str, index: FactIndex, asserted: int, derived: int) -> Catalogue:
    """The catalogue of all that is in `index`: so many facts asserted, so many derived."""
    small = {name: make(index) for name, make in SMALL.items()}
    values = EndsIn(index, small["sources"])
    ends = {str(node): values.end(node) for node in index.instances(KO.End)}
    making = PartsIn(index, ends, values)
    parts = {str(node): making.part(node) for node in index.instances(KO.Part)}
    members = members_of(parts.values())
    return Catalogue(
        version=version,
        families={
            str(node): making.family(node, members.get(str(node), ()))
            for node in index.instances(KO.Family)
        },
        parts=parts,
        ends=ends,
        cars=cars_of(index),
        makers=makers_of(index, {part.maker for part in parts.values()}),
        tried=_tried(index),
        derived=derived,
        asserted=asserted,
        regional=_regional(index),
        **small,
    )


def _sources(index: FactIndex) -> dict[str, Source]:
    return {str(s): _source(index, s) for s in index.instances(KO.Source)}


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


def makers_of(index: FactIndex, makers: Iterable[str]) -> dict[str, Named]:
    """What the makers of parts are called; "" is none."""
    return {
        maker: Named(
            maker, index.label(URIRef(maker), local_name(maker)), index.synonyms(URIRef(maker))
        )
        for maker in sorted(filter(None, makers))
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
    pairs = {pair for end in index.instances(KO.End) for pair in pairs_tried(index, end)}
    return {pair: by for pair in sorted(pairs) if (by := tried_by(index, pair)) is not None}


def pairs_tried(index: FactIndex, end: URIRef) -> Iterator[tuple[str, str]]:
    """The ends that an end is said to have been put together with, each as a pair in order."""
    for other in index.iris(end, KO.triedWith):
        yield min(str(end), other), max(str(end), other)


def tried_by(index: FactIndex, pair: tuple[str, str]) -> tuple[str, ...] | None:
    """Who says of two ends that they were put together; None where it is not said."""
    by: set[str] = set()
    is_said = False
    for one, other in ((pair[0], pair[1]), (pair[1], pair[0])):
        end, met = URIRef(one), URIRef(other)
        said = [by for o, by in index.said(end, KO.triedWith) if o == met]
        is_said = is_said or (bool(said) and index.is_a(end, KO.End))
        by.update(source for sources in said for source in sources)
    return tuple(sorted(by)) if is_said else None


CALLED_BY_NAME = (KO.Station, KO.Family, KO.Part, KO.Car, KO.Generation)
"""The kinds of things that people call by name."""


def _regional(index: FactIndex) -> dict[str, dict[str, str]]:
    """Labels said in one country only, of everything that people call by name."""
    found = {str(n): index.regional(n) for cls in CALLED_BY_NAME for n in index.instances(cls)}
    return {iri: labels for iri, labels in sorted(found.items()) if labels}


SMALL: Mapping[str, Callable[[FactIndex], Any]] = {
    "sources": _sources,
    "stations": stations_of,
    "joints": joints_of,
    "generations": partial(_named, cls=KO.Generation),
    "lines": partial(_named, cls=KO.Line),
    "roles": partial(_named, cls=KO.Role),
    "sets": partial(_named, cls=KO.MatchedSet),
    "operations": operations,
    "quantities": _quantities,
    "kinds": _kinds,
    "tolerances": _default_tolerances,
    "observations": observations_of,
    "identification": rules_of,
    "consumables": consumables,
    "advice": advice,
}
"""The tables that are made in one go, each with how it is made."""
