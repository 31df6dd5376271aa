"""Close the facts under OWL 2 RL and refuse contradictions.

`owlrl`, the reference engine, decides what follows; it is only spared what cannot matter. Numbers,
texts and labels take no part in any rule the vocabulary uses; restrictions that say the same are
one class; and a triple that starts no rule is not put to the rules. Tests hold the outcome against
the engine left to itself on everything.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from owlrl.OWLRL import OWLRL_Semantics
from rdflib import OWL, RDF, RDFS, SH, Graph, Literal
from rdflib.term import BNode, Node

from .contradictions import contradictions
from .errors import CatalogueRefused
from .reading import Facts, Triple
from .terms import KO

_LITERALS_THAT_MATTER = (OWL.hasValue, OWL.maxCardinality, OWL.maxQualifiedCardinality)
_WORDS_THAT_START_A_RULE = (str(OWL), str(RDFS))
_TYPES_THAT_START_NONE = (OWL.Thing, OWL.Restriction, OWL.NamedIndividual, OWL.AnnotationProperty)


def close(facts: Facts) -> frozenset[Triple]:
    """The domain triples that follow from `facts` and are not among them.

    That something is used as a station (rdfs:domain, rdfs:range) serves to find contradictions but
    does not make it one: a misspelt name would become a station by being sat at.

    Raises:
        CatalogueRefused: the facts contradict themselves; each contradiction is named with the
            facts that make it.
    """
    closed, messages = closure_of(facts.sources)
    faults = contradictions(closed, facts, messages)
    if faults:
        raise CatalogueRefused(
            "The catalogue contradicts itself; nothing is served from it.", faults
        )
    stated = _stated_kinds(facts, closed)
    return frozenset(
        triple
        for triple in closed
        if triple not in facts.sources and about_the_trade(triple) and _not_by_use(triple, stated)
    )


def closure_of(triples: Iterable[Triple]) -> tuple[Graph, tuple[str, ...]]:
    """All that follows from `triples` by OWL 2 RL, and what the engine objects to."""
    graph = Graph(store="SimpleMemory")
    for triple in _with_equal_restrictions_merged(_that_matter(tuple(triples))):
        graph.add(triple)
    engine = _Engine(graph, axioms=False, daxioms=False, rdfs=False)
    engine.closure()
    return graph, tuple(sorted(set(map(str, engine.error_messages))))


def about_the_trade(triple: Triple) -> bool:
    """Whether a triple says something of named things in knockon's own words."""
    subject, predicate, obj = triple
    if subject == obj or isinstance(obj, BNode) or isinstance(subject, (Literal, BNode)):
        return False
    if predicate in (RDF.type, RDFS.subClassOf):
        return str(obj).startswith("https://")
    return str(predicate).startswith(str(KO))


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


def _that_matter(triples: tuple[Triple, ...]) -> Iterable[Triple]:
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
    said: dict[Node, set[tuple[Node, Node]]] = {}
    for s, p, o in triples:
        if isinstance(s, BNode):
            said.setdefault(s, set()).add((p, o))
    first: dict[frozenset[tuple[Node, Node]], Node] = {}
    same: dict[Node, Node] = {}
    for node, pairs in said.items():
        if any(p == OWL.hasValue for p, _ in pairs):
            same[node] = first.setdefault(frozenset(pairs), node)
    for s, p, o in triples:
        yield same.get(s, s), p, same.get(o, o)


def _stated_kinds(facts: Facts, closed: Graph) -> dict[Node, set[Node]]:
    """Per thing: the kinds somebody states, with all that those are kinds of."""
    kinds: dict[Node, set[Node]] = {}
    for s, p, o in facts.sources:
        if p == RDF.type:
            kinds.setdefault(s, set()).update((o, *closed.objects(o, RDFS.subClassOf)))
    return kinds


def _not_by_use(triple: Triple, stated: dict[Node, set[Node]]) -> bool:
    subject, predicate, obj = triple
    return predicate != RDF.type or obj in stated.get(subject, ())
