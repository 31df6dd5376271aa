"""Every kind of the vocabulary has a rule, each rule keeps to it, and more kinds may come."""

from __future__ import annotations

from decimal import Decimal

import pyshacl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.interfaces.kind import (
    EndValues,
    Finding,
    Kind,
    MissingToleranceError,
    Outcome,
    Tolerances,
    overall,
    within,
)
from knockon.reasoner.interfaces.registry import (
    UnknownKindError,
    compare,
    kind_named,
    kinds,
    registered,
)
from rdflib import RDF, RDFS, SH, XSD, Graph, Namespace

from .house import KO, POOL, SIDES, Watched, ends, local, of, ontology_kinds, quantities_of
from .house import house_tolerances as house
from .house import vocabulary as vocab

QUDT = Namespace("http://qudt.org/schema/qudt/")
SKOS = Namespace("http://www.w3.org/2004/02/skos/core#")
KINDS = tuple(kinds())


def test_every_kind_of_the_vocabulary_has_a_rule_and_the_other_way_round() -> None:
    assert ontology_kinds() == KINDS
    assert len(KINDS) == 12


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_says_in_words_what_its_rule_is_and_how_people_call_it(kind: str) -> None:
    assert vocab().value(KO[kind], KO.kindRule)
    assert vocab().value(KO[kind], SKOS.prefLabel)
    assert len(list(vocab().objects(KO[kind], SKOS.altLabel))) >= 3
    assert kinds()[kind].remedies


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_a_rule_asks_only_for_quantities_that_are_declared_for_its_kind(
    kind: str, data: st.DataObject
) -> None:
    asked: set[str] = set()
    pair = [data.draw(ends(kind)) for _ in range(2)]
    watched = [EndValues(e.side, Watched(e.values, asked), e.sign) for e in pair]
    findings = compare(kind, watched, of(kind))
    assert asked <= quantities_of(kind)
    assert {f.quantity for f in findings} <= quantities_of(kind) | {"side"}
    assert {f.needs for f in findings} <= quantities_of(kind) | {"side", ""}


@pytest.mark.parametrize("kind", KINDS)
def test_the_tests_try_every_quantity_and_side_of_a_kind(kind: str) -> None:
    assert set(POOL[kind]) == quantities_of(kind)
    path_of_side = [
        shape
        for shape in vocab().objects(KO[f"{kind}Shape"], SH.property)
        if vocab().value(shape, SH.path) == KO.side
    ]
    assert bool(path_of_side) == (SIDES[kind] != ("",))


def test_every_quantity_says_how_to_measure_it_and_every_number_its_unit() -> None:
    quantities = {
        *vocab().subjects(KO.quantityOf, None),
        *vocab().subjects(KO.fieldOf, None),
    }
    assert len(quantities) > 45
    for quantity in sorted(quantities):
        assert vocab().value(quantity, RDFS.label), quantity
        assert vocab().value(quantity, KO.measureBy), quantity
        if vocab().value(quantity, RDFS.range) in {XSD.decimal, XSD.integer}:
            assert len(list(vocab().objects(quantity, QUDT.hasUnit))) == 1, quantity


def test_every_constraint_says_what_it_wants() -> None:
    for shape in vocab().subjects(SH.path, None):
        assert vocab().value(shape, SH.message), list(vocab().objects(shape, SH.path))


def test_every_house_tolerance_is_a_name_that_the_vocabulary_knows() -> None:
    for kind, amounts in house().items():
        names = {local(n) for n in vocab().subjects(RDF.type, KO.ToleranceName)}
        assert set(amounts) <= quantities_of(kind) | names


@pytest.mark.parametrize("kind", sorted(house()))
def test_every_house_tolerance_is_one_its_rule_looks_up_and_misses_by_name(kind: str) -> None:
    for name in house()[kind]:
        without = {k: v for k, v in of(kind).items() if k != name}
        full = _full_ends(kind)
        caught = []
        for pair in full:
            try:
                compare(kind, pair, without)
            except MissingToleranceError as error:
                caught.append(str(error))
        assert caught, f"{kind} never looks {name} up"
        assert all(f"'{name}'" in text and f"ko:{kind}" in text for text in caught)


def _full_ends(kind: str) -> list[list[EndValues]]:
    """Pairs of ends that state everything, once with the first and once with the last values."""
    sides = SIDES[kind] if len(SIDES[kind]) == 2 else ("", "")
    return [
        [
            EndValues(side, {name: pool[at] for name, pool in POOL[kind].items()}, sign)
            for side, sign in zip(sides, (1, -1), strict=True)
        ]
        for at in (0, -1)
    ]


def test_an_unknown_kind_is_answered_with_the_nearest_name() -> None:
    with pytest.raises(UnknownKindError, match="did you mean Spline"):
        kind_named("Splin")


def test_a_joint_of_two_ends_refuses_a_third() -> None:
    three = [EndValues("external"), EndValues("internal"), EndValues("internal")]
    with pytest.raises(ValueError, match="two ends"):
        compare("Spline", three, of("Spline"))


HOSE_BORE = """
@prefix ko: <https://knockon.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
ko:HoseBore a owl:Class ; rdfs:subClassOf ko:End ; rdfs:label "hose bore"@en ;
    ko:kindRule "The hose is as wide as the stub."@en .
ko:bore a owl:DatatypeProperty , ko:ValueProperty ; rdfs:label "bore"@en ;
    ko:quantityOf ko:HoseBore ; ko:measureBy "Calliper."@en .
ko:HoseBoreShape a sh:NodeShape ; sh:targetClass ko:HoseBore ;
    sh:property ko:ExternalInternalPropertyShape ;
    sh:property [ sh:path ko:bore ; sh:node ko:NumberShape ; sh:minExclusive 0 ;
        sh:message "Bore: more than 0." ] .
<urn:a> a ko:HoseBore ; ko:side ko:External ; ko:bore 32.0 .
<urn:b> a ko:HoseBore ; ko:side ko:Internal ; ko:bore -1 .
"""


def _hose_rule(found: list[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    return (within("bore", found[0], found[1], tolerances["bore"]),)


def test_a_thirteenth_kind_needs_its_own_turtle_and_rule_and_no_edit_elsewhere() -> None:
    hose = Kind("HoseBore", _hose_rule)  # type: ignore[arg-type]
    graph = Graph().parse(data=HOSE_BORE)
    conforms, report, _ = pyshacl.validate(
        graph, shacl_graph=vocab() + graph, ont_graph=vocab() + graph
    )
    assert not conforms
    assert "Bore: more than 0." in {str(m) for m in report.objects(None, SH.resultMessage)}
    pair = [EndValues("external", {"bore": 32}), EndValues("internal", {"bore": 33})]
    with registered(hose):
        assert len(kinds()) == 13
        found = compare("HoseBore", pair, {"bore": Decimal(1)})
        assert overall(found) is Outcome.MATES
    assert tuple(kinds()) == KINDS


def test_two_kinds_of_one_name_are_refused() -> None:
    twin = Kind("Spline", kinds()["Spline"].rule)
    with pytest.raises(ValueError, match="there already"), registered(twin):
        pass
    assert tuple(kinds()) == KINDS


ENDS = """
@prefix ko: <https://knockon.example/ns#> .
@prefix role: <https://knockon.example/role/> .
<urn:disputed> a ko:Spline ; ko:role role:x ; ko:side ko:External ; ko:teeth 27 , 28 ; ko:module 1 .
<urn:silent> a ko:Spline ; ko:role role:x ; ko:side ko:Internal .
<urn:inch> a ko:BoltCircle ; ko:role role:x ; ko:side ko:External ; ko:thread "1/2-20 UNF" .
<urn:bad-side> a ko:Spline ; ko:role role:x ; ko:side ko:Plug .
<urn:no-role> a ko:Spline ; ko:side ko:External .
<urn:half-tooth> a ko:Spline ; ko:role role:x ; ko:side ko:External ; ko:teeth 27.5 .
<urn:bad-thread> a ko:BoltCircle ; ko:role role:x ; ko:side ko:External ; ko:thread "M12 fine" .
<urn:other-role> a ko:Spline ; ko:role role:wheel ; ko:side ko:External .
role:wheel ko:kind ko:BoltCircle .
<urn:backwards> a ko:Envelope ; ko:role role:x ; ko:side ko:Outer ;
    ko:step [ ko:from 40 ; ko:to 0 ; ko:radius 95 ] .
<urn:bad-use> a ko:Connector ; ko:role role:x ; ko:side ko:Plug ;
    ko:contact [ ko:way 1 ; ko:use "wants" ] .
<urn:bad-code> a ko:BoreSeat ; ko:role role:x ; ko:side ko:External ; ko:fitCode "Q7" .
"""


def test_shapes_pass_gaps_and_disputes_and_stop_what_cannot_be() -> None:
    graph = Graph().parse(data=ENDS)
    _, report, _ = pyshacl.validate(graph, shacl_graph=vocab(), ont_graph=vocab())
    faulty = {str(f) for f in report.objects(None, SH.focusNode) if str(f).startswith("urn:")}
    assert faulty == {
        "urn:bad-side",
        "urn:no-role",
        "urn:half-tooth",
        "urn:bad-thread",
        "urn:other-role",
        "urn:backwards",
        "urn:bad-use",
        "urn:bad-code",
    }
