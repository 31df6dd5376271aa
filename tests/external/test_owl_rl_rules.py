"""The rules of OWL 2 RL that the vocabulary relies on, each with a small case of its own.

Source: W3C Recommendation "OWL 2 Web Ontology Language Profiles (Second Edition)", 11 December 2012,
section 4.3, Tables 4 to 9. Each case is written from the row of the table that its name gives: the
premises of the row, and what the row concludes; rows that conclude `false` must be objected to.
Cases go through the engine as it is used for catalogues.
"""

from __future__ import annotations

import pytest
from knockon.reasoner.closure import close
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.files import TextFile
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.reference_closure import closure_of
from rdflib import Graph
from rdflib.term import BNode

PREFIXES = """
@prefix : <https://example.org/> .
@prefix ko: <https://knockon.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
R = "a owl:Restriction ; owl:onProperty :p ;"

FOLLOWS = {
    # ---------------------------------------------------------------- Table 4: equality
    "Table 4 eq-sym": (":x owl:sameAs :y .", ":y owl:sameAs :x ."),
    "Table 4 eq-trans": (":x owl:sameAs :y . :y owl:sameAs :z .", ":x owl:sameAs :z ."),
    "Table 4 eq-rep-s": (":x owl:sameAs :y ; :p :o .", ":y :p :o ."),
    "Table 4 eq-rep-p": (":p owl:sameAs :q . :x :p :o .", ":x :q :o ."),
    "Table 4 eq-rep-o": (":o owl:sameAs :y . :x :p :o .", ":x :p :y ."),
    # ---------------------------------------------------------------- Table 5: properties
    "Table 5 prp-dom": (":p rdfs:domain :C . :x :p :y .", ":x a :C ."),
    "Table 5 prp-rng": (":p rdfs:range :C . :x :p :y .", ":y a :C ."),
    "Table 5 prp-fp": (
        ":p a owl:FunctionalProperty . :x :p :y1 , :y2 .", ":y1 owl:sameAs :y2 ."),
    "Table 5 prp-ifp": (
        ":p a owl:InverseFunctionalProperty . :x1 :p :y . :x2 :p :y .", ":x1 owl:sameAs :x2 ."),
    "Table 5 prp-symp": (":p a owl:SymmetricProperty . :x :p :y .", ":y :p :x ."),
    "Table 5 prp-trp": (":p a owl:TransitiveProperty . :x :p :y . :y :p :z .", ":x :p :z ."),
    "Table 5 prp-trp, four in a row": (
        ":p a owl:TransitiveProperty . :a :p :b . :b :p :c . :c :p :d . :d :p :e .",
        ":a :p :c , :d , :e . :b :p :d , :e . :c :p :e ."),
    "Table 5 prp-spo1": (":p rdfs:subPropertyOf :q . :x :p :y .", ":x :q :y ."),
    "Table 5 prp-spo2, two links": (
        ":q owl:propertyChainAxiom ( :p1 :p2 ) . :a :p1 :b . :b :p2 :c .", ":a :q :c ."),
    "Table 5 prp-spo2, three links": (
        ":q owl:propertyChainAxiom ( :p1 :p2 :p3 ) . :a :p1 :b . :b :p2 :c . :c :p3 :d .",
        ":a :q :d ."),
    "Table 5 prp-spo2, a chain that ends in itself": (
        ":q owl:propertyChainAxiom ( :p :q ) . :a :p :b . :b :p :c . :c :q :d .",
        ":b :q :d . :a :q :d ."),
    "Table 5 prp-eqp1": (":p owl:equivalentProperty :q . :x :p :y .", ":x :q :y ."),
    "Table 5 prp-eqp2": (":p owl:equivalentProperty :q . :x :q :y .", ":x :p :y ."),
    "Table 5 prp-inv1": (":p owl:inverseOf :q . :x :p :y .", ":y :q :x ."),
    "Table 5 prp-inv2": (":p owl:inverseOf :q . :x :q :y .", ":y :p :x ."),
    # ---------------------------------------------------------------- Table 6: classes
    "Table 6 cls-int1": (
        ":C owl:intersectionOf ( :A :B ) . :x a :A , :B .", ":x a :C ."),
    "Table 6 cls-int2": (":C owl:intersectionOf ( :A :B ) . :x a :C .", ":x a :A , :B ."),
    "Table 6 cls-uni": (":C owl:unionOf ( :A :B ) . :x a :B .", ":x a :C ."),
    "Table 6 cls-svf1": (f":C {R} owl:someValuesFrom :D . :x :p :y . :y a :D .", ":x a :C ."),
    "Table 6 cls-svf2": (f":C {R} owl:someValuesFrom owl:Thing . :x :p :y .", ":x a :C ."),
    "Table 6 cls-avf": (f":C {R} owl:allValuesFrom :D . :x a :C ; :p :y .", ":y a :D ."),
    "Table 6 cls-hv1": (f":C {R} owl:hasValue :v . :x a :C .", ":x :p :v ."),
    "Table 6 cls-hv1, a number": (f":C {R} owl:hasValue 1.5 . :x a :C .", ":x :p 1.5 ."),
    "Table 6 cls-hv2": (f":C {R} owl:hasValue :v . :x :p :v .", ":x a :C ."),
    "Table 6 cls-maxc2": (
        f":C {R} owl:maxCardinality 1 . :x a :C ; :p :y1 , :y2 .", ":y1 owl:sameAs :y2 ."),
    "Table 6 cls-maxqc3": (
        f":C {R} owl:maxQualifiedCardinality 1 ; owl:onClass :D ."
        " :x a :C ; :p :y1 , :y2 . :y1 a :D . :y2 a :D .", ":y1 owl:sameAs :y2 ."),
    "Table 6 cls-oo": (":C owl:oneOf ( :x :y ) .", ":x a :C . :y a :C ."),
    # ---------------------------------------------------------------- Table 7: class axioms
    "Table 7 cax-sco": (":A rdfs:subClassOf :B . :x a :A .", ":x a :B ."),
    "Table 7 cax-eqc1": (":A owl:equivalentClass :B . :x a :A .", ":x a :B ."),
    "Table 7 cax-eqc2": (":A owl:equivalentClass :B . :x a :B .", ":x a :A ."),
    # ---------------------------------------------------------------- Table 9: schema vocabulary
    "Table 9 scm-cls": (":A a owl:Class .", ":A rdfs:subClassOf :A , owl:Thing ."),
    "Table 9 scm-sco": (
        ":A rdfs:subClassOf :B . :B rdfs:subClassOf :C .", ":A rdfs:subClassOf :C ."),
    "Table 9 scm-eqc1": (
        ":A owl:equivalentClass :B .", ":A rdfs:subClassOf :B . :B rdfs:subClassOf :A ."),
    "Table 9 scm-eqc2": (
        ":A rdfs:subClassOf :B . :B rdfs:subClassOf :A .", ":A owl:equivalentClass :B ."),
    "Table 9 scm-op": (
        ":p a owl:ObjectProperty .", ":p rdfs:subPropertyOf :p ; owl:equivalentProperty :p ."),
    "Table 9 scm-spo": (
        ":p rdfs:subPropertyOf :q . :q rdfs:subPropertyOf :r .", ":p rdfs:subPropertyOf :r ."),
    "Table 9 scm-dom1": (":p rdfs:domain :A . :A rdfs:subClassOf :B .", ":p rdfs:domain :B ."),
    "Table 9 scm-dom2": (":q rdfs:domain :A . :p rdfs:subPropertyOf :q .", ":p rdfs:domain :A ."),
    "Table 9 scm-rng1": (":p rdfs:range :A . :A rdfs:subClassOf :B .", ":p rdfs:range :B ."),
    "Table 9 scm-rng2": (":q rdfs:range :A . :p rdfs:subPropertyOf :q .", ":p rdfs:range :A ."),
    "Table 9 scm-hv": (
        f":C {R} owl:hasValue :v . :D a owl:Restriction ; owl:onProperty :q ; owl:hasValue :v ."
        " :p rdfs:subPropertyOf :q .", ":C rdfs:subClassOf :D ."),
    "Table 9 scm-svf1": (
        f":C {R} owl:someValuesFrom :A . :D {R} owl:someValuesFrom :B . :A rdfs:subClassOf :B .",
        ":C rdfs:subClassOf :D ."),
    "Table 9 scm-avf1": (
        f":C {R} owl:allValuesFrom :A . :D {R} owl:allValuesFrom :B . :A rdfs:subClassOf :B .",
        ":C rdfs:subClassOf :D ."),
    "Table 9 scm-int": (
        ":C owl:intersectionOf ( :A :B ) .", ":C rdfs:subClassOf :A , :B ."),
    "Table 9 scm-uni": (":C owl:unionOf ( :A :B ) .", ":A rdfs:subClassOf :C . :B rdfs:subClassOf :C ."),
}  # fmt: skip

FALSE = {
    "Table 4 eq-diff1": ":x owl:sameAs :y ; owl:differentFrom :y .",
    "Table 4 eq-diff3, the first two": (
        "[] a owl:AllDifferent ; owl:distinctMembers ( :x :y :z ) . :x owl:sameAs :y ."),
    "Table 4 eq-diff3, the first and the last": (
        "[] a owl:AllDifferent ; owl:distinctMembers ( :x :y :z ) . :x owl:sameAs :z ."),
    "Table 5 prp-irp": ":p a owl:IrreflexiveProperty . :x :p :x .",
    "Table 5 prp-asyp": ":p a owl:AsymmetricProperty . :x :p :y . :y :p :x .",
    "Table 5 prp-pdw": ":p owl:propertyDisjointWith :q . :x :p :y ; :q :y .",
    "Table 5 prp-pdw, one of them by its inverse": (
        ":p owl:propertyDisjointWith :q . :q a owl:SymmetricProperty . :x :p :y . :y :q :x ."),
    "Table 5 prp-adp, the first and the last": (
        "[] a owl:AllDisjointProperties ; owl:members ( :p :q :r ) . :x :p :y ; :r :y ."),
    "Table 5 prp-npa1": (
        "[] owl:sourceIndividual :x ; owl:assertionProperty :p ; owl:targetIndividual :y . :x :p :y ."),
    "Table 6 cls-nothing2": ":x a owl:Nothing .",
    "Table 6 cls-com": ":A owl:complementOf :B . :x a :A , :B .",
    "Table 6 cls-maxc1": f":C {R} owl:maxCardinality 0 . :x a :C ; :p :y .",
    "Table 7 cax-dw": ":A owl:disjointWith :B . :x a :A , :B .",
    "Table 7 cax-dw, one of them by a wider kind": (
        ":A owl:disjointWith :B . :D rdfs:subClassOf :B . :x a :A , :D ."),
    "Table 7 cax-adc, the last two": (
        "[] a owl:AllDisjointClasses ; owl:members ( :A :B :C ) . :x a :B , :C ."),
}  # fmt: skip

NOT = {
    "Table 5 prp-trp asks for the same property": (
        ":p a owl:TransitiveProperty . :x :p :y . :y :q :z .", ":x :p :z ."),
    "Table 5 prp-spo2 goes one way": (
        ":q owl:propertyChainAxiom ( :p1 :p2 ) . :a :p1 :b . :c :p2 :b .", ":a :q :c ."),
    "Table 5 prp-spo1 goes one way": (":p rdfs:subPropertyOf :q . :x :q :y .", ":x :p :y ."),
    "Table 6 cls-int1 asks for all": (":C owl:intersectionOf ( :A :B ) . :x a :A .", ":x a :C ."),
    "Table 6 cls-hv1 gives to members only": (f":C {R} owl:hasValue :v . :x a :D .", ":x :p :v ."),
    "Table 6 cls-avf gives no value": (f":C {R} owl:allValuesFrom :D . :x a :C .", ":x a :D ."),
    "Table 7 cax-sco goes one way": (":A rdfs:subClassOf :B . :x a :B .", ":x a :A ."),
}  # fmt: skip


def _facts(text: str) -> Facts:
    return read_facts([TextFile("ontology/case.ttl", PREFIXES + text, True)])


def _stated(text: str) -> set[tuple[str, ...]]:
    graph = Graph().parse(data=PREFIXES + text, format="turtle")
    return {tuple(map(str, t)) for t in graph if not any(isinstance(n, BNode) for n in t)}


def _closed(text: str) -> set[tuple[str, ...]]:
    facts = _facts(text)
    closed, _ = closure_of(facts.sources)
    same = {(str(s), "http://www.w3.org/2002/07/owl#sameAs", str(s)) for s in facts.files}
    return {tuple(map(str, t)) for t in closed} | same


@pytest.mark.parametrize(("premises", "conclusion"), FOLLOWS.values(), ids=FOLLOWS.keys())
def test_what_the_rule_concludes_follows(premises: str, conclusion: str) -> None:
    assert _stated(conclusion) <= _closed(premises)


@pytest.mark.parametrize(("premises", "conclusion"), FOLLOWS.values(), ids=FOLLOWS.keys())
def test_without_its_first_premise_the_rule_concludes_nothing(
    premises: str, conclusion: str
) -> None:
    head, _, rest = premises.partition(" . ")
    if rest:
        assert not _stated(conclusion) <= _closed(rest), head


@pytest.mark.parametrize(("premises", "conclusion"), NOT.values(), ids=NOT.keys())
def test_what_no_rule_concludes_does_not_follow(premises: str, conclusion: str) -> None:
    assert not _stated(conclusion) & _closed(premises)


@pytest.mark.parametrize("premises", FALSE.values(), ids=FALSE.keys())
def test_what_the_rule_calls_false_is_refused(premises: str) -> None:
    with pytest.raises(CatalogueRefused, match="contradicts itself"):
        close(_facts(premises))


@pytest.mark.parametrize("premises", FALSE.values(), ids=FALSE.keys())
def test_without_its_last_premise_nothing_is_refused(premises: str) -> None:
    kept = premises.rstrip(" .").rpartition(" . ")[0]
    if kept:
        close(_facts(kept + " ."))


def test_the_vocabulary_uses_only_rules_that_have_a_case_here() -> None:
    """What ontology/ says in OWL, and the rows that give it its meaning."""
    from knockon.reasoner.load import ontology_folder

    rows = {
        "subClassOf": "cax-sco", "subPropertyOf": "prp-spo1", "domain": "prp-dom",
        "range": "prp-rng", "inverseOf": "prp-inv1", "disjointWith": "cax-dw",
        "propertyDisjointWith": "prp-pdw", "propertyChainAxiom": "prp-spo2",
        "TransitiveProperty": "prp-trp", "SymmetricProperty": "prp-symp",
        "FunctionalProperty": "prp-fp", "InverseFunctionalProperty": "prp-ifp",
        "IrreflexiveProperty": "prp-irp", "AllDifferent": "eq-diff3", "Class": "scm-cls",
        "ObjectProperty": "scm-op",
    }  # fmt: skip
    silent = {
        "Ontology", "versionInfo", "AnnotationProperty", "DatatypeProperty", "NamedIndividual",
        "distinctMembers", "label", "comment",
    }  # fmt: skip
    used = set()
    for path in ontology_folder().rglob("*.ttl"):
        for triple in Graph().parse(path, format="turtle"):
            for node in triple[1:]:
                for space in (
                    "http://www.w3.org/2002/07/owl#",
                    "http://www.w3.org/2000/01/rdf-schema#",
                ):
                    if str(node).startswith(space):
                        used.add(str(node).removeprefix(space))
    assert used - silent <= set(rows)
    cases = " ".join((*FOLLOWS, *FALSE))
    assert [row for word, row in rows.items() if word in used and row not in cases] == []
