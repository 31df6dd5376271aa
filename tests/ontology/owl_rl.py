"""The OWL 2 RL profile as a checker over RDF: what a graph says that the profile does not allow.

Source: W3C Recommendation "OWL 2 Web Ontology Language Profiles (Second Edition)", 11 December 2012,
section 4.2 (4.2.1 entities, 4.2.3 class expressions, 4.2.4 data ranges, 4.2.5 axioms), and, because
an OWL 2 RL ontology is an OWL 2 DL ontology first, "OWL 2 Structural Specification and
Functional-Style Syntax (Second Edition)", section 11.2 (simple properties).
"""

from __future__ import annotations

from collections.abc import Iterator

from rdflib import OWL, RDF, RDFS, XSD, Graph, URIRef
from rdflib.collection import Collection
from rdflib.term import BNode, Node

DATATYPES = {
    RDF.PlainLiteral, RDF.XMLLiteral, RDFS.Literal,
    XSD.decimal, XSD.integer, XSD.nonNegativeInteger, XSD.nonPositiveInteger, XSD.positiveInteger,
    XSD.negativeInteger, XSD.long, XSD.int, XSD.short, XSD.byte, XSD.unsignedLong, XSD.unsignedInt,
    XSD.unsignedShort, XSD.unsignedByte, XSD.float, XSD.double, XSD.string, XSD.normalizedString,
    XSD.token, XSD.language, XSD.Name, XSD.NCName, XSD.NMTOKEN, XSD.boolean, XSD.hexBinary,
    XSD.base64Binary, XSD.anyURI, XSD.dateTime, XSD.dateTimeStamp,
}  # fmt: skip
"""Section 4.2.1: owl:real and owl:rational are left out of OWL 2's datatype map."""

_MAX = (OWL.maxCardinality, OWL.maxQualifiedCardinality)
_NEVER = (OWL.minCardinality, OWL.cardinality, OWL.minQualifiedCardinality,
          OWL.qualifiedCardinality, OWL.hasSelf)  # fmt: skip


def violations(graph: Graph) -> Iterator[str]:
    """Each statement that steps outside the profile, in words with the section."""
    yield from _axioms(graph)
    yield from _ranges(graph)
    yield from _composite_properties(graph)


def _axioms(graph: Graph) -> Iterator[str]:
    for s, o in graph.subject_objects(RDFS.subClassOf):
        if not is_sub(graph, s):
            yield f"4.2.3: {_name(s)} may not stand on the left of rdfs:subClassOf"
        if not is_super(graph, o):
            yield f"4.2.3: {_name(o)} may not stand on the right of rdfs:subClassOf"
    for s, o in graph.subject_objects(OWL.equivalentClass):
        for side in (s, o):
            if not is_equivalent(graph, side):
                yield f"4.2.3: {_name(side)} may not stand in owl:equivalentClass"
    for s, o in graph.subject_objects(OWL.disjointWith):
        for side in (s, o):
            if not is_sub(graph, side):
                yield f"4.2.5: {_name(side)} may not stand in owl:disjointWith"
    for head in graph.subjects(RDF.type, OWL.AllDisjointClasses):
        for side in _items(graph, head, OWL.members):
            if not is_sub(graph, side):
                yield f"4.2.5: {_name(side)} may not stand in owl:AllDisjointClasses"
    for s in graph.subjects(OWL.hasKey, None):
        if not is_sub(graph, s):
            yield f"4.2.5: {_name(s)} may not have a key"
    for s in graph.subjects(OWL.disjointUnionOf, None):
        yield f"4.2.5: {_name(s)} is a disjoint union, which the profile has not"
    for s in graph.subjects(RDF.type, OWL.ReflexiveProperty):
        yield f"4.2.5: {_name(s)} is reflexive, which the profile has not"


def _ranges(graph: Graph) -> Iterator[str]:
    values = set(graph.subjects(RDF.type, OWL.DatatypeProperty))
    for link in (RDFS.domain, RDFS.range):
        for p, o in graph.subject_objects(link):
            if p in values and link == RDFS.range:
                if o not in DATATYPES:
                    yield f"4.2.4: {_name(o)} is no data range of the profile ({_name(p)})"
            elif not is_super(graph, o):
                yield f"4.2.5: {_name(o)} may not be a domain or range ({_name(p)})"
    for node in set(graph.objects(None, None)):
        kind = getattr(node, "datatype", None)
        if kind is not None and kind not in DATATYPES:
            yield f"4.2.1: a literal of datatype {_name(kind)}"


def _composite_properties(graph: Graph) -> Iterator[str]:
    """Structural Specification 11.2: these axioms are for simple properties only."""
    composite = set(graph.subjects(RDF.type, OWL.TransitiveProperty))
    composite |= set(graph.subjects(OWL.propertyChainAxiom, None))
    links = [(s, o) for p in (RDFS.subPropertyOf, OWL.inverseOf, OWL.equivalentProperty)
             for s, o in graph.subject_objects(p)]  # fmt: skip
    both_ways = {(o, s) for p in (OWL.inverseOf, OWL.equivalentProperty)
                 for s, o in graph.subject_objects(p)}  # fmt: skip
    while True:
        found = {o for s, o in (*links, *both_ways) if s in composite} - composite
        if not found:
            break
        composite |= found
    for kind in (OWL.FunctionalProperty, OWL.InverseFunctionalProperty,
                 OWL.IrreflexiveProperty, OWL.AsymmetricProperty):  # fmt: skip
        for p in set(graph.subjects(RDF.type, kind)) & composite:
            yield f"11.2: {_name(p)} is composite (transitive or a chain) and {_name(kind)}"
    for s, o in graph.subject_objects(OWL.propertyDisjointWith):
        for p in {s, o} & composite:
            yield f"11.2: {_name(p)} is composite and disjoint with another"


def is_sub(graph: Graph, node: Node) -> bool:
    """Table 2, left column: subClassExpression."""
    if isinstance(node, URIRef):
        return node != OWL.Thing
    for p, o in graph.predicate_objects(node):
        if p in (OWL.intersectionOf, OWL.unionOf):
            return all(is_sub(graph, n) for n in Collection(graph, o))
        if p == OWL.someValuesFrom:
            return o == OWL.Thing or o in DATATYPES or is_sub(graph, o)
        if p in (OWL.hasValue, OWL.oneOf):
            return True
    return False


def is_super(graph: Graph, node: Node) -> bool:
    """Table 2, right column: superClassExpression."""
    if isinstance(node, URIRef):
        return node != OWL.Thing
    if any((node, p, None) in graph for p in _NEVER):
        return False
    for p, o in graph.predicate_objects(node):
        if p == OWL.intersectionOf:
            return all(is_super(graph, n) for n in Collection(graph, o))
        if p == OWL.complementOf:
            return is_sub(graph, o)
        if p == OWL.allValuesFrom:
            return o in DATATYPES or is_super(graph, o)
        if p == OWL.hasValue:
            return True
        if p in _MAX:
            fillers = graph.objects(node, OWL.onClass)
            return str(o) in ("0", "1") and all(f == OWL.Thing or is_sub(graph, f) for f in fillers)
    return False


def is_equivalent(graph: Graph, node: Node) -> bool:
    """Section 4.2.3: equivClassExpression."""
    if isinstance(node, URIRef):
        return node != OWL.Thing
    for p, o in graph.predicate_objects(node):
        if p == OWL.intersectionOf:
            return all(is_equivalent(graph, n) for n in Collection(graph, o))
        if p == OWL.hasValue:
            return True
    return False


def _items(graph: Graph, node: Node, link: URIRef) -> Iterator[Node]:
    for head in graph.objects(node, link):
        yield from Collection(graph, head)


def _name(node: Node) -> str:
    return "an anonymous class" if isinstance(node, BNode) else str(node).rsplit("#", 1)[-1]
