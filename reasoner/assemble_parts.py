"""Make ends, parts and families from closed facts.

OWL RL gives a part everything its families carry. What OWL cannot say, because it never takes
anything back, is settled here: an end stated on the part itself replaces the family's ends of
that role, and what a nearer family states of tolerances and sizes wins over a wider one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from rdflib import OWL, RDF, RDFS, URIRef
from rdflib.term import BNode, Node

from .catalogue import Claim, End, Family, OpenValue, Part, Source
from .index import FactIndex, scalar
from .interfaces.kind import Scalar, Value
from .terms import KO, SCHEMA, code_name, local_name

Records = tuple[dict[str, Scalar], ...]


def ends_of(index: FactIndex, sources: Mapping[str, Source]) -> dict[str, End]:
    """Every end by its IRI."""
    return {str(node): _end(index, node, sources) for node in index.instances(KO.End)}


def parts_of(
    index: FactIndex, ends: Mapping[str, End], sources: Mapping[str, Source]
) -> dict[str, Part]:
    """Every part by its IRI, with all that it has from its families."""
    return {str(node): _part(index, node, ends, sources) for node in index.instances(KO.Part)}


def families_of(index: FactIndex, parts: Mapping[str, Part]) -> dict[str, Family]:
    """Every family by its IRI, with the parts that belong to it."""
    return {str(node): _family(index, node, parts) for node in index.instances(KO.Family)}


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
        # Two sources that list the same records agree; only different lists are a dispute.
        agreed: dict[str, tuple[Records, set[str]]] = {}
        for by, listed in by_source.items():
            records = tuple(sorted(listed, key=_record_order))
            agreed.setdefault(repr(records), (records, set()))[1].update(by)
        if agreed:
            found = [Claim(records, tuple(sorted(by))) for records, by in agreed.values()]
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


def _part(
    index: FactIndex, node: URIRef, ends: Mapping[str, End], sources: Mapping[str, Source]
) -> Part:
    stated = index.objects(node, RDF.type)
    types = [t for t in stated if KO.Family in index.objects(t, RDF.type)]
    families = _widest_first(index, {*map(str, types), *index.iris(node, KO.ofFamily)})
    chosen, via = _chosen_ends(index, node, ends, families)
    nearest = [f for f in families if index.sources(node, RDF.type, URIRef(f))] or [*families]
    rework_of = index.iri(node, KO.reworkOf)
    return Part(
        iri=str(node),
        label=index.label(node, local_name(node)),
        number=index.text(node, SCHEMA.mpn) or local_name(node),
        synonyms=index.synonyms(node),
        maker=index.iri(node, SCHEMA.manufacturer),
        family=nearest[-1] if nearest else "",
        families=frozenset(families),
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
        excludes=_of_all(index, (str(node), *families), KO.excludes),
        tolerances=_own_tolerances(index, (*families, str(node))),
        one_use=index.true(node, KO.oneUse),
        rework_of=rework_of,
        rework_act=index.text(node, KO.reworkAct),
        rework_hours=(index.decimal(node, KO.hours) if rework_of else None) or Decimal(0),
        irreversible=index.true(node, KO.irreversible),
        attributes=_attributes(index, (*families, str(node)), sources),
        asks=_asked_directly(index, (str(node), *reversed(families))),
    )


def _widest_first(index: FactIndex, families: Iterable[str]) -> tuple[str, ...]:
    """Families so that one which is a kind of another comes after it; else by name."""
    found = sorted(families)
    wider = {f: sum(w in found for w in index.iris(URIRef(f), RDFS.subClassOf)) for f in found}
    return tuple(sorted(found, key=lambda f: (wider[f], f)))


def _chosen_ends(
    index: FactIndex, node: URIRef, ends: Mapping[str, End], families: tuple[str, ...]
) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
    """Per role the ends the part has, and who says so: the part itself or one of its families."""
    own = set(index.iris(node, KO.ownEnd))
    lacking = set(index.iris(node, KO.lacksRole))
    by_role: dict[str, list[str]] = {}
    for end in index.iris(node, KO.hasEnd):
        if end in ends:
            by_role.setdefault(ends[end].role, []).append(end)
    chosen: dict[str, tuple[str, ...]] = {}
    via: dict[str, str] = {}
    for role in sorted(set(by_role) - lacking):
        mine = sorted(end for end in by_role[role] if end in own)
        chosen[role] = tuple(mine or sorted(by_role[role]))
        given_by = "" if mine else _giver(index, families, chosen[role][0])
        via[role] = given_by or str(node)
    return chosen, via


def _of_all(index: FactIndex, owners: Iterable[str], prop: URIRef) -> tuple[str, ...]:
    return tuple(sorted({found for o in owners for found in index.iris(URIRef(o), prop)}))


def _asked_directly(index: FactIndex, askers: Iterable[str]) -> dict[str, str]:
    """Requirements somebody states, not those that follow by transitivity."""
    found: dict[str, str] = {}
    for asker in askers:
        for family in index.iris(URIRef(asker), KO.requires):
            if index.sources(URIRef(asker), KO.requires, URIRef(family)):
                found.setdefault(family, asker)
    return dict(sorted(found.items()))


def _attributes(
    index: FactIndex, owners: Iterable[str], sources: Mapping[str, Source]
) -> dict[str, Value]:
    """Value properties stated on a family or part itself, such as a wheel's rim diameter."""
    found: dict[str, Value] = {}
    for owner in owners:
        for name, claims in _claims(index, URIRef(owner), sources).items():
            found[name] = claims[0].value
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


def _family(index: FactIndex, node: URIRef, parts: Mapping[str, Part]) -> Family:
    parents = [w for w in index.iris(node, RDFS.subClassOf) if w != str(node)]
    line = (str(node), *parents)
    return Family(
        iri=str(node),
        label=index.label(node, local_name(node)),
        synonyms=index.synonyms(node),
        stations=tuple(sorted({s for f in line for s in _restricted(index, f, KO.sitsAt)})),
        parts=tuple(iri for iri, part in parts.items() if str(node) in part.families),
        requires=_of_all(index, line, KO.requires),
    )
