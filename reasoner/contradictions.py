"""Find what cannot all be true in closed facts, and name the statements that make it so.

The conditions are those of the OWL 2 RL rules that end in `false` (W3C OWL 2 Profiles, Tables 4, 5
and 7). They are looked up in the closed graph itself, so that each can be told with its causes;
whatever else the engine objects to is passed on in its own words. One thing more is settled here:
names of the catalogue stand for different things, so two names that would have to be one and the
same (eq-*, prp-fp, prp-ifp, prp-key) are a contradiction too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations

from rdflib import OWL, RDF, RDFS, Graph, URIRef
from rdflib.collection import Collection
from rdflib.term import BNode, Node

from .errors import Fault
from .reading import Facts, Triple
from .terms import local_name

_TOLD_HERE = re.compile("isjoint|rreflexive|symmetric|sameAs")


def contradictions(closed: Graph, facts: Facts, messages: Iterable[str]) -> tuple[Fault, ...]:
    """Everything in `closed` that cannot be, ordered by place; empty if all is well.

    `messages` are the engine's own objections; those that are not found here are passed on.
    """
    # Two names made one swap all their facts, so that anything else found then only follows.
    found = set(_one_and_the_same(closed, facts))
    if not found:
        for finder in (_kinds_that_exclude, _links_that_exclude, _rings, _both_ways):
            found |= set(finder(closed, facts))
        found |= {_in_the_engines_words(m, facts) for m in messages if not _TOLD_HERE.search(m)}
    if not found:
        found |= {_in_the_engines_words(m, facts) for m in messages}
    return tuple(sorted(found, key=lambda f: (f.place, f.node, f.rule, f.what)))


def _one_and_the_same(closed: Graph, facts: Facts) -> Iterator[Fault]:
    explained: set[frozenset[Node]] = set()
    for p in _of_type(closed, OWL.FunctionalProperty):
        for s, values in _grouped(facts, p).items():
            if len(values) > 1:
                explained.update(frozenset(pair) for pair in combinations(values, 2))
                causes = [(s, p, o) for o in values]
                what = f"{local_name(p)} can be one thing only, not {_and(values)}"
                yield _fault(facts, s, "prp-fp", what, causes)
    for p in _of_type(closed, OWL.InverseFunctionalProperty):
        for o, subjects in _grouped(facts, p, backwards=True).items():
            if len(subjects) > 1:
                explained.update(frozenset(pair) for pair in combinations(subjects, 2))
                causes = [(s, p, o) for s in subjects]
                what = f"only one thing can have it as “{local_name(p)}”, not {_and(subjects)}"
                yield _fault(facts, o, "prp-ifp", what, causes)
    if explained:
        return
    for s, o in closed.subject_objects(OWL.sameAs):
        if isinstance(s, URIRef) and isinstance(o, URIRef) and str(s) < str(o):
            what = (
                f"{_and((s, o))} are different things but would have to be one and the same; "
                "parts that serve for one another are ko:interchangesWith"
            )
            causes = [t for t in _about(facts, (s, o)) if t[1] == OWL.sameAs]
            yield _fault(facts, s, "eq-diff", what, causes)


def _kinds_that_exclude(closed: Graph, facts: Facts) -> Iterator[Fault]:
    for one, other in sorted(_disjoint(closed, OWL.disjointWith, OWL.AllDisjointClasses)):
        both = set(closed.subjects(RDF.type, one)) & set(closed.subjects(RDF.type, other))
        for x in sorted(both, key=str):
            causes = [t for k in (one, other) for t in _leading_to_kind(x, k, closed, facts)]
            what = f"{facts.name(x)} cannot be both {local_name(one)} and {local_name(other)}"
            yield _fault(facts, x, "cax-dw", what, causes or _about(facts, (x,)))


def _links_that_exclude(closed: Graph, facts: Facts) -> Iterator[Fault]:
    pairs = _disjoint(closed, OWL.propertyDisjointWith, OWL.AllDisjointProperties)
    for one, other in sorted(pairs):
        both = set(closed.subject_objects(one)) & set(closed.subject_objects(other))
        for x, y in sorted({(min(a, b, key=str), max(a, b, key=str)) for a, b in both}):
            names = _and((x, y))
            what = (
                f"{names} are said to be both “{local_name(one)}” and “{local_name(other)}”, "
                "which exclude each other"
            )
            causes = _linking((x, y), (one, other), closed, facts)
            yield _fault(facts, x, "prp-pdw", what, causes)


def _rings(closed: Graph, facts: Facts) -> Iterator[Fault]:
    for p in _of_type(closed, OWL.IrreflexiveProperty):
        left = {x for x, y in closed.subject_objects(p) if x == y}
        while left:
            first = min(left, key=str)
            ring = {x for x in left if (first, p, x) in closed and (x, p, first) in closed}
            ring |= {first}
            left -= ring
            causes = _linking(ring, (p,), closed, facts)
            what = (
                f"{_and(ring)} stand in “{local_name(p)}” to one another in a ring"
                if len(ring) > 1
                else f"{local_name(first)} cannot stand in “{local_name(p)}” to itself"
            )
            yield _fault(facts, first, "prp-irp", what, causes)


def _both_ways(closed: Graph, facts: Facts) -> Iterator[Fault]:
    for p in _of_type(closed, OWL.AsymmetricProperty):
        for x, y in closed.subject_objects(p):
            if str(x) <= str(y) and (y, p, x) in closed:
                what = f"{_and((x, y))} stand in “{local_name(p)}” both ways round"
                yield _fault(facts, x, "prp-asyp", what, _linking((x, y), (p,), closed, facts))


def _in_the_engines_words(message: str, facts: Facts) -> Fault:
    nodes = [URIRef(iri) for iri in re.findall(r"https?://[^\s'\",<>()]+", message)]
    named = next((n for n in nodes if n in facts.files), None)
    what = re.sub(r"https?://[^\s'\",<>()]+", lambda m: local_name(m[0]), message)
    node = local_name(named) if named is not None else "catalogue"
    place = facts.place(named) if named is not None else "unknown file"
    return Fault(node, place, "OWL 2 RL", what)


def _of_type(closed: Graph, kind: URIRef) -> list[Node]:
    return sorted(closed.subjects(RDF.type, kind), key=str)


def _grouped(facts: Facts, p: Node, *, backwards: bool = False) -> dict[Node, set[Node]]:
    groups: dict[Node, set[Node]] = {}
    for s, q, o in facts.sources:
        if q == p and isinstance(o, (URIRef, BNode)):
            key, value = (o, s) if backwards else (s, o)
            groups.setdefault(key, set()).add(value)
    return groups


def _disjoint(closed: Graph, pairwise: URIRef, among: URIRef) -> set[tuple[Node, Node]]:
    pairs = {(a, b) for a, b in closed.subject_objects(pairwise) if a != b}
    for group in closed.subjects(RDF.type, among):
        for head in closed.objects(group, OWL.members):
            pairs |= set(combinations(list(Collection(closed, head)), 2))
    return {(min(a, b, key=str), max(a, b, key=str)) for a, b in pairs}


def _about(facts: Facts, things: Iterable[Node]) -> list[Triple]:
    things = set(things)
    return [t for t in facts.sources if t[0] in things or t[2] in things]


def _leading_to_kind(x: Node, kind: Node, closed: Graph, facts: Facts) -> Iterator[Triple]:
    """Statements that make `x` a `kind`: its type, or how it is used."""

    def reaches(cls: Node) -> bool:
        return cls == kind or (cls, RDFS.subClassOf, kind) in closed

    for s, p, o in _about(facts, (x,)):
        by_type = s == x and p == RDF.type and reaches(o)
        as_subject = s == x and any(map(reaches, closed.objects(p, RDFS.domain)))
        as_object = o == x and any(map(reaches, closed.objects(p, RDFS.range)))
        given = p == OWL.hasValue and any(
            reaches(kind_of)
            for q in closed.objects(s, OWL.onProperty)
            for kind_of in closed.objects(q, RDFS.range)
        )
        if by_type or as_subject or as_object or given:
            yield s, p, o


def _linking(
    things: Iterable[Node], links: Iterable[Node], closed: Graph, facts: Facts
) -> list[Triple]:
    """Statements between two of `things` under one of `links` or a narrower property."""
    things, links = set(things), set(links)
    return [
        (s, p, o)
        for s, p, o in facts.sources
        if s in things
        and o in things
        and (p in links or any((p, RDFS.subPropertyOf, q) in closed for q in links))
    ]


def _and(nodes: Iterable[Node]) -> str:
    names = sorted(local_name(n) for n in nodes)
    return " and ".join((", ".join(names[:-1]), names[-1]) if len(names) > 1 else names)


def _fault(facts: Facts, node: Node, rule: str, what: str, causes: Iterable[Triple]) -> Fault:
    told = sorted({_told(facts, t) for t in causes})
    return Fault(facts.name(node), facts.place(node), rule, what, tuple(told))


def _told(facts: Facts, triple: Triple) -> str:
    s, p, o = triple
    if p == OWL.hasValue:
        link = next(
            (local_name(q) for r, d, q in facts.sources if (r, d) == (s, OWL.onProperty)), ""
        )
        said = f"every {facts.name(s)} {link} {facts.name(o)}"
    else:
        said = f"{facts.name(s)} {'is a' if p == RDF.type else local_name(p)} {facts.name(o)}"
    return f"{said} (says {', '.join(map(local_name, facts.sources[triple]))})"
