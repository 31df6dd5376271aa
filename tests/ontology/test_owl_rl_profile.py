"""The vocabulary and the demo stay inside OWL 2 RL, and the check of it has teeth.

Section and table numbers are those of the recommendations named in `owl_rl`.
"""

from __future__ import annotations

import pytest
from rdflib import Graph

from .owl_rl import violations

PREFIXES = """
@prefix : <https://example.org/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
:p a owl:ObjectProperty . :q a owl:ObjectProperty . :d a owl:DatatypeProperty .
"""

R = "[ a owl:Restriction ; owl:onProperty :p ; "

OUTSIDE = {
    "4.2.1 a literal of owl:rational": ':x :d "1/3"^^owl:rational .',
    "4.2.3 Table 2 owl:Thing as a subclass": "owl:Thing rdfs:subClassOf :A .",
    "4.2.3 Table 2 owl:Thing as a superclass": ":A rdfs:subClassOf owl:Thing .",
    "4.2.3 Table 2 some values from on the right": f":A rdfs:subClassOf {R} owl:someValuesFrom :B ] .",
    "4.2.3 Table 2 union on the right": ":A rdfs:subClassOf [ owl:unionOf ( :B :C ) ] .",
    "4.2.3 Table 2 one of on the right": ":A rdfs:subClassOf [ owl:oneOf ( :x :y ) ] .",
    "4.2.3 Table 2 all values from on the left": f"{R} owl:allValuesFrom :B ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 complement on the left": "[ owl:complementOf :B ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 at most one on the left": f"{R} owl:maxCardinality 1 ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 at most two": f":A rdfs:subClassOf {R} owl:maxCardinality 2 ] .",
    "4.2.3 Table 2 at least one": f":A rdfs:subClassOf {R} owl:minCardinality 1 ] .",
    "4.2.3 Table 2 exactly one": f":A rdfs:subClassOf {R} owl:cardinality 1 ] .",
    "4.2.3 Table 2 has self": f":A rdfs:subClassOf {R} owl:hasSelf true ] .",
    "4.2.3 Table 2 a union inside an intersection on the right":
        ":A rdfs:subClassOf [ owl:intersectionOf ( :B [ owl:unionOf ( :C :D ) ] ) ] .",
    "4.2.3 equivalent to all values from": f":A owl:equivalentClass {R} owl:allValuesFrom :B ] .",
    "4.2.3 equivalent to a union": ":A owl:equivalentClass [ owl:unionOf ( :B :C ) ] .",
    "4.2.4 a data range that lists values": ":d rdfs:range [ a rdfs:Datatype ; owl:oneOf ( 1 2 ) ] .",
    "4.2.5 disjoint with all values from": f":A owl:disjointWith {R} owl:allValuesFrom :B ] .",
    "4.2.5 a disjoint union": ":A owl:disjointUnionOf ( :B :C ) .",
    "4.2.5 a reflexive property": ":p a owl:ReflexiveProperty .",
    "4.2.5 a domain that is a union": ":p rdfs:domain [ owl:unionOf ( :A :B ) ] .",
    "11.2 transitive and irreflexive": ":p a owl:TransitiveProperty , owl:IrreflexiveProperty .",
    "11.2 transitive and functional": ":p a owl:TransitiveProperty , owl:FunctionalProperty .",
    "11.2 wider than a chain and asymmetric":
        ":q a owl:AsymmetricProperty . :p owl:propertyChainAxiom ( :p :q ) ; rdfs:subPropertyOf :q .",
    "11.2 a chain disjoint with another": ":p owl:propertyChainAxiom ( :q :q ) ; owl:propertyDisjointWith :q .",
}  # fmt: skip

INSIDE = {
    "4.2.1 a decimal": ":x :d 1.5 .",
    "4.2.3 Table 2 a union on the left": "[ owl:unionOf ( :B :C ) ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 some values from on the left": f"{R} owl:someValuesFrom owl:Thing ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 has value on both sides": f":A rdfs:subClassOf {R} owl:hasValue :x ] . {R} owl:hasValue :y ] rdfs:subClassOf :A .",
    "4.2.3 Table 2 all values from on the right": f":A rdfs:subClassOf {R} owl:allValuesFrom :B ] .",
    "4.2.3 Table 2 at most one of a kind": f":A rdfs:subClassOf {R} owl:maxQualifiedCardinality 1 ; owl:onClass :B ] .",
    "4.2.3 Table 2 complement on the right": ":A rdfs:subClassOf [ owl:complementOf :B ] .",
    "4.2.3 equivalent to has value": f":A owl:equivalentClass {R} owl:hasValue :x ] .",
    "4.2.5 a key": ":A owl:hasKey ( :d ) .",
    "11.2 a transitive property with a chain that ends in itself":
        ":p a owl:TransitiveProperty ; owl:propertyChainAxiom ( :q :p ) .",
}  # fmt: skip


def _graph(text: str) -> Graph:
    return Graph().parse(data=PREFIXES + text, format="turtle")


@pytest.mark.parametrize("text", OUTSIDE.values(), ids=OUTSIDE.keys())
def test_what_the_profile_leaves_out_is_found(text: str) -> None:
    assert list(violations(_graph(text)))


@pytest.mark.parametrize("text", INSIDE.values(), ids=INSIDE.keys())
def test_what_the_profile_allows_is_left_alone(text: str) -> None:
    assert list(violations(_graph(text))) == []


def test_the_vocabulary_stays_inside_owl_2_rl(vocabulary: Graph) -> None:
    assert sorted(violations(vocabulary)) == []


def test_the_demo_stays_inside_owl_2_rl(everything: Graph) -> None:
    assert sorted(violations(everything)) == []
