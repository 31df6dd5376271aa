"""Close the facts under OWL 2 RL and find contradictions.

`owlrl` is the reference engine. Only statements between things go in: numbers, texts and labels
take no part in any rule the vocabulary uses and would only cost time (a test holds the closure of
everything against this one).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from owlrl.OWLRL import OWLRL_Semantics
from rdflib import OWL, RDF, RDFS, XSD, Graph, Literal, URIRef
from rdflib.term import BNode, Node

from .errors import CatalogueRefused, Fault
from .reading import Facts, Triple
from .terms import KO, ONTOLOGY_GRAPH, local_name

_RULES_OF_MESSAGES = (
    ("isjoint classes", "cax-dw"),
    ("rreflexive", "prp-irp"),
    ("symmetric", "prp-asyp"),
    ("isjoint propert", "prp-pdw"),
    ("different", "eq-diff"),
    ("not a valid", "dt-not-type"),
    ("exical", "dt-not-type"),
)


def close(facts: Facts) -> frozenset[Triple]:
    """The domain triples that follow from `facts` and are not among them.

    Raises:
        CatalogueRefused: the facts contradict themselves; each contradiction is named with the
            facts that make it.
    """
    graph = Graph()
    for triple in facts.sources:
        if _takes_part(triple):
            graph.add(triple)
    engine = OWLRL_Semantics(graph, axioms=False, daxioms=False, rdfs=False)
    engine.closure()
    if engine.error_messages:
        raise CatalogueRefused(
            "The catalogue contradicts itself; nothing is served from it.",
            _contradictions(engine.error_messages, graph, facts),
        )
    return frozenset(t for t in graph if t not in facts.sources and _about_the_trade(t))


def _takes_part(triple: Triple) -> bool:
    _, predicate, obj = triple
    if isinstance(obj, Literal):
        return predicate in (OWL.minCardinality, OWL.maxCardinality)
    return predicate not in (RDFS.isDefinedBy, RDFS.seeAlso)


def _about_the_trade(triple: Triple) -> bool:
    subject, predicate, obj = triple
    if subject == obj or isinstance(obj, BNode) or isinstance(subject, (Literal, BNode)):
        return False
    if predicate == RDF.type:
        return str(obj).startswith("https://") and obj not in (OWL.Thing, RDFS.Resource)
    return str(predicate).startswith(str(KO))


def _contradictions(messages: Iterable[object], graph: Graph, facts: Facts) -> tuple[Fault, ...]:
    faults = {}
    for message in sorted(str(m) for m in messages):
        nodes = [URIRef(iri) for iri in re.findall(r"https?://[^\s'\",<>()]+", message)]
        rule = next((name for mark, name in _RULES_OF_MESSAGES if mark in message), "OWL 2 RL")
        things = [n for n in nodes if not _is_schema(n, graph)]
        kinds = [n for n in nodes if n not in things]
        node = things[0] if things else (nodes[0] if nodes else None)
        name = local_name(node) if node is not None else "catalogue"
        place = facts.place(node) if node is not None else "unknown file"
        because = tuple(sorted(_causes(things, kinds, graph, facts)))
        faults[(name, message)] = Fault(name, place, rule, _in_words(rule, things, kinds), because)
    return tuple(faults.values())


def _in_words(rule: str, things: list[URIRef], kinds: list[URIRef]) -> str:
    what = " and ".join(local_name(t) for t in things) or "something"
    which = " and ".join(local_name(k) for k in kinds)
    sentences = {
        "cax-dw": f"{what} cannot be both {which}",
        "prp-irp": f"{what} cannot stand in “{which}” to itself, not even in a ring",
        "prp-asyp": f"{what} stand in “{which}” both ways round, which cannot be",
        "prp-pdw": f"{what} are said to be both “{which}”, which exclude each other",
        "eq-diff": f"{what} are different things but would have to be one and the same",
    }
    return sentences.get(rule, f"{what} {which}: the statements cannot all be true".strip())


def _is_schema(node: URIRef, graph: Graph) -> bool:
    if any(str(node).startswith(str(n)) for n in (OWL, RDF, RDFS, XSD)):
        return True
    return any(
        (node, RDF.type, t) in graph
        for t in (OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty, OWL.AnnotationProperty)
    )


def _causes(things: list[URIRef], kinds: list[URIRef], graph: Graph, facts: Facts) -> Iterable[str]:
    """Asserted statements about the things that lead to the kinds (types) or use them (links)."""
    for (s, p, o), sources in facts.sources.items():
        if sources == (str(ONTOLOGY_GRAPH),) or not ({s, o} & set(things)):
            continue
        leads = (
            (p == RDF.type and any(_reaches(o, k, graph) for k in kinds))
            or (s in things and _any_type(p, RDFS.domain, kinds, graph))
            or (o in things and _any_type(p, RDFS.range, kinds, graph))
            or p in kinds
            or any((p, RDFS.subPropertyOf, k) in graph for k in kinds)
            or p in (OWL.sameAs, OWL.differentFrom)
        )
        if leads:
            names = " ".join(local_name(n) for n in (s, p, o))
            yield f"{names} (says {', '.join(local_name(x) or 'no source' for x in sources)})"


def _reaches(cls: Node, kind: Node, graph: Graph) -> bool:
    return cls == kind or (cls, RDFS.subClassOf, kind) in graph


def _any_type(prop: Node, link: URIRef, kinds: list[URIRef], graph: Graph) -> bool:
    return any(_reaches(c, k, graph) for c in graph.objects(prop, link) for k in kinds)
