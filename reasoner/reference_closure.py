"""The closure by `owlrl`, the reference engine that decides what follows.

It is only spared what cannot matter. Numbers, texts and labels take no part in any rule the
vocabulary uses; restrictions that say the same are one class; and a triple that starts no rule is
not put to the rules. Tests hold the outcome against the engine left to itself on everything. The
fast engine (`deduction`) is held against it, and what that engine does not know is closed here: in
seconds for a thousand parts, in hours for a hundred thousand.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from typing import Any

from owlrl.OWLRL import OWLRL_Semantics
from rdflib import OWL, RDF, RDFS, SH, Graph, Literal, URIRef
from rdflib.collection import Collection
from rdflib.term import BNode, Node

from .contradictions import contradictions, refuse
from .domain_facts import about_the_trade, not_by_use
from .reading import Facts, Triple

_LITERALS_THAT_MATTER = (OWL.hasValue, OWL.maxCardinality, OWL.maxQualifiedCardinality)
_WORDS_THAT_START_A_RULE = (str(OWL), str(RDFS))
_TYPES_THAT_START_NONE = (OWL.Thing, OWL.Restriction, OWL.NamedIndividual, OWL.AnnotationProperty)


def close_by_reference(facts: Facts) -> frozenset[Triple]:
    """As `closure.close`, by the reference engine."""
    graph, messages = closure_of(facts.sources)
    closed = ClosedGraph(graph)
    refuse(contradictions(closed, facts, messages))
    stated = _stated_kinds(facts, graph)
    return frozenset(
        triple
        for triple in graph
        if triple not in facts.sources and about_the_trade(triple) and not_by_use(triple, stated)
    )


def closure_of(triples: Iterable[Triple]) -> tuple[Graph, tuple[str, ...]]:
    """All that follows from `triples` by OWL 2 RL, and what the engine objects to."""
    graph = Graph(store="SimpleMemory")
    for triple in _with_equal_restrictions_merged(that_matter(tuple(triples))):
        graph.add(triple)
    engine = _Engine(graph, axioms=False, daxioms=False, rdfs=False)
    engine.closure()
    return graph, tuple(sorted(set(map(str, engine.error_messages))))


class _Engine(OWLRL_Semantics):  # type: ignore[misc]
    """The reference engine, asked only about triples that can start a rule."""

    def rules(self, t: Triple, cycle_num: int) -> None:
        """Every rule starts from an axiom: a word of OWL or RDFS as predicate or as type."""
        _, predicate, obj = t
        word = obj if predicate == RDF.type else predicate
        if str(word).startswith(_WORDS_THAT_START_A_RULE) and word not in _TYPES_THAT_START_NONE:
            # In its first round the engine would list all blank nodes, one by one against all.
            super().rules(t, cycle_num + 1)

    def _equality(self, triple: Triple, cycle_num: int) -> None:
        """Without eq-ref: that each thing is the same as itself starts nothing."""
        s, p, o = triple
        if (p == OWL.sameAs and s != o) or o == OWL.AllDifferent:
            super()._equality(triple, cycle_num)

    def post_process(self) -> None:
        """Nothing to remove: blank predicates are left out with all that is not of the trade."""

    def store_triple(self, t: Any) -> None:
        """As the engine, but eq-ref's own triples are not kept."""
        if not (t[1] == OWL.sameAs and t[0] == t[2]):
            super().store_triple(t)


def that_matter(triples: tuple[Triple, ...]) -> Iterable[Triple]:
    """The triples that some rule may start from, or end at."""
    # A number under a property with a domain still says what kind of thing its subject is.
    telling = {s for s, p, _ in triples if p in (RDFS.domain, RDFS.subPropertyOf)}
    for triple in triples:
        _, predicate, obj = triple
        if isinstance(obj, Literal):
            if predicate in _LITERALS_THAT_MATTER or predicate in telling:
                yield triple
        elif not str(predicate).startswith(str(SH)):
            yield triple


def _with_equal_restrictions_merged(triples: Iterable[Triple]) -> Iterable[Triple]:
    """Families at one station each carry the same restriction; one class serves them all."""
    triples = tuple(triples)
    same = equal_restrictions(triples)
    for s, p, o in triples:
        yield same.get(s, s), p, same.get(o, o)


def equal_restrictions(triples: Iterable[Triple]) -> dict[Node, Node]:
    """Each blank restriction to a value, with the first of which all the same is said."""
    said: dict[Node, set[tuple[Node, Node]]] = {}
    for s, p, o in triples:
        if isinstance(s, BNode):
            said.setdefault(s, set()).add((p, o))
    first: dict[frozenset[tuple[Node, Node]], Node] = {}
    same: dict[Node, Node] = {}
    for node, pairs in said.items():
        if any(p == OWL.hasValue for p, _ in pairs):
            same[node] = first.setdefault(frozenset(pairs), node)
    return same


def _stated_kinds(facts: Facts, closed: Graph) -> dict[Node, set[Node]]:
    """Per thing: the kinds somebody states, with all that those are kinds of."""
    kinds: dict[Node, set[Node]] = {}
    for s, p, o in facts.sources:
        if p == RDF.type:
            kinds.setdefault(s, set()).update((o, *closed.objects(o, RDFS.subClassOf)))
    return kinds


class ClosedGraph:
    """What the search for contradictions asks, answered from a closed graph."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph

    def of_type(self, kind: URIRef) -> list[Node]:
        """The properties of a kind, in order."""
        return sorted(self._graph.subjects(RDF.type, kind), key=str)

    def some_are_the_same(self) -> bool:
        """Whether two nodes may have to be one."""
        return True

    def same(self) -> Iterable[tuple[Node, Node]]:
        """Nodes that would have to be one, both ways round."""
        return self._graph.subject_objects(OWL.sameAs)

    def exclusive_kinds(self) -> set[tuple[Node, Node]]:
        """Classes that have nothing in common."""
        return self._exclusive(OWL.disjointWith, OWL.AllDisjointClasses)

    def exclusive_links(self) -> set[tuple[Node, Node]]:
        """Properties that have nothing in common."""
        return self._exclusive(OWL.propertyDisjointWith, OWL.AllDisjointProperties)

    def _exclusive(self, pairwise: URIRef, among: URIRef) -> set[tuple[Node, Node]]:
        pairs = {(a, b) for a, b in self._graph.subject_objects(pairwise) if a != b}
        for group in self._graph.subjects(RDF.type, among):
            for head in self._graph.objects(group, OWL.members):
                pairs |= set(combinations(list(Collection(self._graph, head)), 2))
        return {(min(a, b, key=str), max(a, b, key=str)) for a, b in pairs}

    def of_both(self, one: Node, other: Node) -> set[Node]:
        """What is of both classes."""
        return set(self._graph.subjects(RDF.type, one)) & set(self._graph.subjects(RDF.type, other))

    def links(self, p: Node) -> set[tuple[Node, Node]]:
        """What is linked by a property."""
        return set(self._graph.subject_objects(p))

    def kind_of(self, kind: Node, other: Node) -> bool:
        """Whether a class is another or a kind of it."""
        return kind == other or (kind, RDFS.subClassOf, other) in self._graph

    def domains(self, p: Node) -> Iterable[Node]:
        """The classes of what has a property."""
        return self._graph.objects(p, RDFS.domain)

    def ranges(self, p: Node) -> Iterable[Node]:
        """The classes of the values of a property."""
        return self._graph.objects(p, RDFS.range)

    def narrower(self, p: Node, other: Node) -> bool:
        """Whether a property is another or implies it."""
        return p == other or (p, RDFS.subPropertyOf, other) in self._graph

    def restricts(self, node: Node) -> Iterable[Node]:
        """The properties that a restriction is on."""
        return self._graph.objects(node, OWL.onProperty)
