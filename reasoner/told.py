"""What follows from facts, told in terms: see `domain_facts` for what is told at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rdflib import OWL, RDF, RDFS, URIRef
from rdflib.term import BNode

from .deduction import Deduction
from .reading import Triple
from .relation import Relation, has, pairs


def told(deduction: Deduction) -> Iterator[Triple]:
    """What is told of things, stated or not, but for what is only stated of classes."""
    for x, stated in enumerate(deduction.stated):
        if stated.shown:
            yield from told_types(deduction, x, stated.shown)
    for kind in list(deduction.tree.above):
        yield from told_classes(deduction, kind, deduction.tree.up(kind))
    for kind in {k for x in declared(deduction) for k in never_empty(deduction, x)}:
        yield told_bottom(deduction, kind)
    for relation in deduction.relations.values():
        if is_told(relation):
            for s, o in pairs(relation.out):
                yield from told_link(deduction, s, relation, o)


def told_types(deduction: Deduction, x: int, shown: Iterable[int]) -> Iterator[Triple]:
    """Of what kinds a thing is, by what is stated of it."""
    terms, term = deduction.terms, deduction.terms[x]
    if isinstance(term, URIRef):
        for kind in shown:
            if kind != x:
                yield term, RDF.type, terms[kind]  # type: ignore[misc]


def told_classes(deduction: Deduction, kind: int, ups: Iterable[int]) -> Iterator[Triple]:
    """What a named class is a kind of."""
    term = deduction.terms[kind]
    if isinstance(term, URIRef):
        for above in ups:
            if above != kind and deduction.named(above):
                yield term, RDFS.subClassOf, deduction.terms[above]  # type: ignore[misc]


def declared(deduction: Deduction) -> Iterator[int]:
    """Everything that is declared a class."""
    owl_class = deduction.owl_class
    return (x for x, sort in enumerate(deduction.sort) if owl_class in sort.classes)


def never_empty(deduction: Deduction, x: int) -> Iterator[int]:
    """A declared class and what it is a kind of, as far as anybody is told of it (scm-cls)."""
    return (kind for kind in {x, *deduction.tree.up(x)} if deduction.named(kind))


def told_bottom(deduction: Deduction, kind: int) -> Triple:
    """That what is nothing at all is a kind of a class (scm-cls)."""
    return OWL.Nothing, RDFS.subClassOf, deduction.terms[kind]  # type: ignore[return-value]


def is_told(relation: Relation) -> bool:
    """Whether anybody is told of links."""
    return relation.shown and not relation.use


def told_link(deduction: Deduction, s: int, relation: Relation, o: int) -> Iterator[Triple]:
    """A link between things with names, or to a value."""
    terms = deduction.terms
    subject, value = terms[s], terms[o]
    if s != o and isinstance(subject, URIRef) and not isinstance(value, BNode):
        yield subject, terms[relation.name], value  # type: ignore[misc]


def is_link(deduction: Deduction, triple: Triple) -> bool:
    """Whether a statement is told as a link."""
    s, p, o = triple
    relation, ids = deduction.relations.get(p), deduction.ids
    if relation is None or not is_told(relation) or s not in ids or o not in ids:
        return False
    one, other = ids[s], ids[o]
    return has(relation.out, one, other) and any(told_link(deduction, one, relation, other))


def is_class(deduction: Deduction, triple: Triple) -> bool:
    """Whether a statement is told of classes; not that nothing at all is a kind of one."""
    s, _, o = triple
    tree, ids = deduction.tree, deduction.ids
    kind = ids.get(s)
    if kind is None or o not in ids or kind not in tree.above or ids[o] not in tree.up(kind):
        return False
    return any(told_classes(deduction, kind, (ids[o],)))
