"""Small graphs at random that use every rule of the closure, contradictions among them."""

from __future__ import annotations

from random import Random

from knockon.reasoner.reading import Triple
from knockon.reasoner.terms import KO
from rdflib import OWL, RDF, RDFS, XSD, Literal, URIRef
from rdflib.term import BNode, Node

THINGS: tuple[Node, ...] = tuple(URIRef(f"https://knockon.example/part/n{i}") for i in range(5))
LINKS: tuple[Node, ...] = tuple(KO[f"p{i}"] for i in range(5))
KINDS: tuple[Node, ...] = tuple(URIRef(f"https://knockon.example/family/c{i}") for i in range(5))
RESTRICTIONS: tuple[Node, ...] = (BNode("r0"), BNode("r1"), BNode("r2"), KO.restriction)
VALUES: tuple[Node, ...] = (
    Literal("1", datatype=XSD.integer, normalize=False),
    Literal("1.5", datatype=XSD.decimal, normalize=False),
    Literal("x"),
    Literal("true", datatype=XSD.boolean),
)
NO_NUMBER = Literal("zz", datatype=XSD.integer, normalize=False)

_LOOSE = (OWL.SymmetricProperty, OWL.TransitiveProperty)
_STRICT = (
    OWL.IrreflexiveProperty,
    OWL.AsymmetricProperty,
    OWL.FunctionalProperty,
    OWL.InverseFunctionalProperty,
)


def axioms(random: Random) -> list[Triple]:
    """A vocabulary: what is said of properties and classes."""
    chance, pick = random.random, random.choice
    found: list[Triple] = [(p, RDF.type, OWL.ObjectProperty) for p in LINKS]
    found += [(c, RDF.type, OWL.Class) for c in KINDS if chance() < 0.5]
    for p in LINKS:
        found += [(p, RDF.type, kind) for kind in _LOOSE if chance() < 0.3]
        found += [(p, RDF.type, kind) for kind in _STRICT if chance() < 0.05]
        for word, among in (
            (OWL.inverseOf, LINKS),
            (RDFS.subPropertyOf, LINKS),
            (RDFS.domain, KINDS),
            (RDFS.range, (*KINDS, XSD.integer)),
        ):
            if chance() < 0.2:
                found.append((p, word, pick(among)))
    if chance() < 0.3:
        first, second = BNode("l0"), BNode("l1")
        found.append((pick(LINKS), OWL.propertyChainAxiom, first))
        found += [(first, RDF.first, pick(LINKS)), (first, RDF.rest, second)]
        found += [(second, RDF.first, pick(LINKS)), (second, RDF.rest, RDF.nil)]
    if chance() < 0.25:
        found.append((pick(KINDS), OWL.disjointWith, pick(KINDS)))
    if chance() < 0.15:
        found.append((pick(LINKS), OWL.propertyDisjointWith, pick(LINKS)))
    for node in RESTRICTIONS[: random.randint(0, 4)]:
        found += [(node, RDF.type, OWL.Restriction), (node, OWL.onProperty, pick(LINKS))]
        found.append((node, OWL.hasValue, pick((*THINGS, *KINDS, *VALUES))))
    return found


def statement(random: Random) -> Triple:
    """One statement: mostly of things, now and then of classes, seldom of the vocabulary."""
    pick = random.choice
    p = pick(LINKS)
    values = VALUES if random.random() < 0.97 else (NO_NUMBER,)
    ways: tuple[tuple[int, Triple], ...] = (
        (450, (pick(THINGS), p, pick(THINGS))),
        (100, (pick(THINGS), p, pick(values))),
        (200, (pick(THINGS), RDF.type, pick((*KINDS, *RESTRICTIONS)))),
        (150, (pick((*KINDS, KO.restriction)), RDFS.subClassOf, pick((*KINDS, *RESTRICTIONS * 2)))),
        (20, (pick(KINDS), OWL.equivalentClass, pick((*KINDS, *RESTRICTIONS)))),
        (20, (pick(RESTRICTIONS), RDFS.subClassOf, pick((*KINDS, *RESTRICTIONS)))),
        (15, (pick(RESTRICTIONS), OWL.onProperty, p)),
        (15, (pick(RESTRICTIONS), OWL.hasValue, pick((*THINGS, *KINDS, *VALUES)))),
        (15, (pick(KINDS), RDF.type, OWL.Class)),
        (2, (pick(THINGS), OWL.sameAs, pick(THINGS))),
        (3, pick(axioms(random))),
        (10, (pick(KINDS), p, pick((*KINDS, *THINGS)))),
    )
    return random.choices([way for _, way in ways], [often for often, _ in ways])[0]
