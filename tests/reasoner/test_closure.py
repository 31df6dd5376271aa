"""What follows from the facts, what does not, and what cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.closure import close
from knockon.reasoner.domain_facts import about_the_trade
from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.files import TextFile
from knockon.reasoner.reading import Facts, Triple, read_facts
from knockon.reasoner.reference_closure import closure_of
from knockon.reasoner.terms import local_name
from owlrl.OWLRL import OWLRL_Semantics

from ..conftest import PREFIXES, TINY_DATA, TINY_STATIONS, family, part, tiny_files


def _facts(more: str = "", vocabulary: str = "") -> Facts:
    data = TINY_DATA + "src:drawings {\n" + more + "\n}\n"
    return read_facts(tiny_files(data, TINY_STATIONS + vocabulary))


def _follows(more: str = "", vocabulary: str = "") -> set[tuple[str, str, str]]:
    derived = close(_facts(more, vocabulary))
    return {(local_name(s), local_name(p), local_name(o)) for s, p, o in derived}


def _refused(more: str, vocabulary: str = "") -> tuple[Fault, ...]:
    with pytest.raises(CatalogueRefused, match="contradicts itself") as refused:
        close(_facts(more, vocabulary))
    return refused.value.faults


# ---------------------------------------------------------------- what follows


def test_a_part_has_the_ends_and_the_station_of_its_family() -> None:
    found = _follows()
    assert ("TH-30", "hasEnd", "hub-30") in found
    assert ("hub-30", "endOf", "TH-30") in found
    assert ("TH-30", "sitsAt", "hub") in found
    assert ("TH-30", "ofFamily", "hd-hub") in found
    assert ("TH-30", "hasEnd", "hub-27") not in found


def test_a_part_has_the_ends_of_its_familys_family_too() -> None:
    child = "fam:late-hub a ko:Family , owl:Class ; rdfs:subClassOf fam:hd-hub .\n"
    found = _follows(child + part("TH-31", "late-hub", "late hub"))
    assert ("TH-31", "hasEnd", "hub-30") in found
    assert ("TH-31", "ofFamily", "hd-hub") in found
    assert ("TH-31", "type", "Part") in found


def test_a_plain_value_given_by_the_family_reaches_its_parts() -> None:
    heavy = "fam:hd-hub rdfs:subClassOf [ a owl:Restriction ; owl:onProperty ko:oneUse ; owl:hasValue true ] ."
    assert ("TH-30", "oneUse", "true") in _follows(heavy)


def test_interchange_goes_both_ways_and_through_others() -> None:
    found = _follows(
        part("TH-28", "light-hub", "b", " ; ko:interchangesWith part:TH-27")
        + part("TH-29", "light-hub", "c", " ; ko:interchangesWith part:TH-28")
    )
    assert ("TH-27", "interchangesWith", "TH-28") in found
    assert ("TH-27", "interchangesWith", "TH-29") in found
    assert ("TH-29", "interchangesWith", "TH-27") in found


def test_supersession_goes_through_and_never_back() -> None:
    found = _follows(
        part("TH-28", "light-hub", "b", " ; ko:supersededBy part:TH-29")
        + part("TH-29", "light-hub", "c")
        + "part:TH-27 ko:supersededBy part:TH-28 ."
    )
    assert ("TH-27", "supersededBy", "TH-29") in found
    assert ("TH-29", "supersededBy", "TH-27") not in found


def test_requirements_go_through_families_and_come_down_to_parts() -> None:
    found = _follows(
        "fam:hd-shaft ko:requires fam:wheel-120 . fam:light-hub ko:requires fam:hd-shaft ."
    )
    assert ("TH-30", "requires", "wheel-120") in found
    assert ("TH-27", "requires", "hd-shaft") in found
    assert ("TH-27", "requires", "wheel-120") in found
    assert ("light-hub", "requires", "wheel-120") in found
    assert ("TW-120", "requires", "hd-shaft") not in found


def test_a_part_offers_the_forms_of_its_ends() -> None:
    form = "@prefix form: <https://knockon.example/form/> .\n"
    data = form + TINY_DATA + "src:drawings { form:s30 a ko:Form . end:hub-30 ko:form form:s30 . }"
    derived = close(read_facts(tiny_files(data)))
    found = {(local_name(s), local_name(p), local_name(o)) for s, p, o in derived}
    assert ("TH-30", "offersForm", "s30") in found
    assert ("TH-27", "offersForm", "s30") not in found


def test_a_trial_fit_is_a_mate_both_ways_and_offers_one_part_to_the_other() -> None:
    found = _follows("end:hub-30 ko:triedWith end:shaft-30 .")
    assert ("hub-30", "mates", "shaft-30") in found
    assert ("shaft-30", "triedWith", "hub-30") in found
    assert ("TH-30", "offersMateTo", "TS-30") in found


def test_a_misspelt_station_does_not_become_one_by_being_sat_at() -> None:
    found = _follows(part("TH-28", "light-hub", "b", " ; ko:sitsAt st:hubb"))
    assert ("hubb", "type", "Station") not in found
    assert ("TH-28", "type", "Part") in found


def test_a_part_that_excludes_a_family_does_not_become_a_family() -> None:
    found = _follows("part:TH-30 ko:excludes fam:wheel-100 .")
    assert ("wheel-100", "excludes", "TH-30") in found
    assert ("TH-30", "type", "Family") not in found


def test_what_is_stated_is_not_said_to_follow() -> None:
    facts = _facts()
    assert not close(facts) & set(facts.sources)


# ---------------------------------------------------------------- nothing is lost by leaving out


def _by_the_engine_alone(facts: Facts) -> set[Triple]:
    graph = facts.graph()
    OWLRL_Semantics(graph, axioms=False, daxioms=False, rdfs=False).closure()
    return {t for t in graph if about_the_trade(t)}


def _by_ours(facts: Facts) -> set[Triple]:
    closed, _ = closure_of(facts.sources)
    stated = {t for t in facts.sources if about_the_trade(t)}
    return stated | {t for t in closed if about_the_trade(t)}


EVERYTHING = (
    family("late-hub", "hub", "hub-30", "face-5x100")
    + "fam:late-hub rdfs:subClassOf fam:hd-hub , [ a owl:Restriction ; owl:onProperty ko:oneUse ; owl:hasValue true ] ."
    + part("TH-31", "late-hub", "c", " ; ko:supersededBy part:TH-30 ; ko:excludes fam:wheel-100")
    + "part:TH-27 ko:interchangesWith part:TH-31 ; ko:supersededBy part:TH-31 ; ko:price 10.0 ."
    "end:hub-30 ko:triedWith end:shaft-30 . fam:hd-shaft ko:requires fam:wheel-120 ."
)


def test_the_closure_of_everything_is_the_closure_of_what_matters() -> None:
    """Labels, numbers, shapes and equal restrictions left in or out: the same facts follow."""
    facts = _facts(EVERYTHING)
    assert _by_ours(facts) == _by_the_engine_alone(facts)


LINKS = ("supersededBy", "interchangesWith", "requires", "excludes", "ofFamily", "hasEnd", "mates")


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 4), st.sampled_from(LINKS), st.integers(0, 4)), max_size=12),
    st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=4),
)
def test_the_same_facts_follow_whatever_is_linked_to_whatever(
    links: list[tuple[int, str, int]], kinds: list[tuple[int, int]]
) -> None:
    more = "".join(f"part:x{a} ko:{p} part:x{b} .\n" for a, p, b in links)
    more += "".join(f"part:x{a} rdfs:subClassOf part:x{b} .\n" for a, b in kinds)
    core = next(f for f in tiny_files() if f.name == "ontology/core.ttl")
    data = PREFIXES + "src:s {" + more + "part:y a part:x0 ; ko:price 3.0 . }"
    facts = read_facts((core, TextFile("data/x.trig", data, False)))
    assert _by_ours(facts) == _by_the_engine_alone(facts)


def test_closing_what_is_closed_adds_nothing() -> None:
    facts = _facts(EVERYTHING)
    derived = close(facts)
    for triple in derived:
        facts.sources.setdefault(triple, ("closed",))
    assert close(facts) == frozenset()


def test_another_fact_never_takes_one_away() -> None:
    assert _follows() <= _follows(EVERYTHING)


# ---------------------------------------------------------------- what cannot be


def test_a_part_that_is_also_a_station_is_refused_with_what_makes_it_so() -> None:
    (fault,) = _refused("part:TH-27 a ko:Station .")
    assert (fault.node, fault.rule) == ("TH-27", "cax-dw")
    assert fault.what == "TH-27 cannot be both Part and Station"
    assert fault.facts == (
        "TH-27 is a Station (says drawings)",
        "TH-27 is a light-hub (says drawings)",
        "tiny part TH-27 (says drawings)",
    )
    assert fault.place.startswith("data/tiny.trig, line ")


def test_a_part_used_as_a_station_is_refused_with_its_use() -> None:
    (fault,) = _refused(part("TH-28", "light-hub", "b", " ; ko:sitsAt part:TW-100"))
    assert fault.what == "TW-100 cannot be both Part and Station"
    assert "TH-28 sitsAt TW-100 (says drawings)" in fault.facts


def test_a_family_that_gives_its_parts_a_part_for_a_station_is_named() -> None:
    wrong = family("odd", "hub").replace("st:hub", "part:TW-100")
    (fault,) = _refused(wrong + part("TH-28", "odd", "b"))
    assert "every odd sitsAt TW-100 (says drawings)" in fault.facts


RING = (
    "ko:over a owl:ObjectProperty , owl:TransitiveProperty , owl:IrreflexiveProperty .",
    "part:TH-27 ko:over part:TH-30 . part:TH-30 ko:over part:TW-100 . part:TW-100 ko:over part:TH-27 .",
    "part:TS-27 ko:over part:TS-30 . part:TS-30 ko:over part:TS-27 .",
)


def test_a_ring_that_cannot_be_is_refused_with_the_whole_ring() -> None:
    (fault,) = _refused(RING[1], RING[0])
    assert fault.rule == "prp-irp"
    assert fault.what == "TH-27, TH-30 and TW-100 stand in “over” to one another in a ring"
    assert fault.facts == (
        "TH-27 over TH-30 (says drawings)",
        "TH-30 over TW-100 (says drawings)",
        "TW-100 over TH-27 (says drawings)",
    )


def test_a_car_based_on_itself_is_refused() -> None:
    (fault,) = _refused("car:tiny ko:basedOn car:tiny .")
    assert fault.what == "tiny cannot stand in “basedOn” to itself"


def test_two_rings_are_told_apart() -> None:
    assert [f.node for f in _refused(RING[1] + RING[2], RING[0])] == ["TH-27", "TS-27"]


def test_ends_that_mate_and_clash_are_refused_with_both_claims() -> None:
    more = (
        'src:yard { src:yard a ko:Source ; skos:prefLabel "yard" ; ko:standing ko:Reported ;'
        " prov:wasAttributedTo maker:nobody . end:shaft-30 ko:triedWith end:hub-27 . }"
        "src:drawings { end:hub-27 ko:clashes end:shaft-30 . }"
    )
    with pytest.raises(CatalogueRefused) as refused:
        close(read_facts(tiny_files(TINY_DATA + more)))
    (fault,) = refused.value.faults
    assert fault.rule == "prp-pdw"
    assert "hub-27 and shaft-30 are said to be both “clashes” and “mates”" in fault.what
    assert fault.facts == (
        "hub-27 clashes shaft-30 (says drawings)",
        "shaft-30 triedWith hub-27 (says yard)",
    )


def test_an_end_with_two_roles_is_told_by_itself_and_not_by_all_it_confuses() -> None:
    (fault,) = _refused("end:hub-27 ko:role role:hub-face .")
    assert (fault.node, fault.rule) == ("hub-27", "prp-fp")
    assert fault.what == "role can be one thing only, not hub-face and hub-spline"
    assert fault.facts == (
        "hub-27 role hub-face (says drawings)",
        "hub-27 role hub-spline (says drawings)",
    )


@pytest.mark.parametrize("other", ["Measured", "Presumed", "Disputed"])
def test_a_source_with_two_standings_is_refused(other: str) -> None:
    (fault,) = _refused(f"src:drawings ko:standing ko:{other} .")
    assert fault.node == "drawings"
    assert "standing can be one thing only" in fault.what


def test_two_parts_are_never_one_and_the_same() -> None:
    (fault,) = _refused("part:TH-27 owl:sameAs part:TH-30 .")
    assert fault.rule == "eq-diff"
    assert "TH-27 and TH-30 are different things" in fault.what
    assert "ko:interchangesWith" in fault.what
    assert fault.facts == ("TH-27 sameAs TH-30 (says drawings)",)


def test_one_open_value_cannot_be_two_ends_own() -> None:
    (fault,) = _refused(
        "end:hub-27 ko:madeToSuit end:open . end:hub-30 ko:madeToSuit end:open . end:open a ko:OpenValue ."
    )
    assert fault.rule == "prp-ifp"
    assert fault.what == "only one thing can have it as “madeToSuit”, not hub-27 and hub-30"


def test_a_link_that_may_not_go_both_ways_is_refused_both_ways() -> None:
    (fault,) = _refused(
        "part:TH-27 ko:over part:TH-30 . part:TH-30 ko:over part:TH-27 .",
        "ko:over a owl:ObjectProperty , owl:AsymmetricProperty .",
    )
    assert fault.rule == "prp-asyp"
    assert len(fault.facts) == 2


def test_what_only_the_engine_objects_to_is_passed_on() -> None:
    never = (
        "[] owl:sourceIndividual part:TH-27 ; owl:assertionProperty ko:supersededBy ;"
        " owl:targetIndividual part:TH-30 . part:TH-27 ko:supersededBy part:TH-30 ."
    )
    (fault,) = _refused(never)
    assert (fault.node, fault.rule) == ("TH-27", "OWL 2 RL")
    assert "(TH-27, supersededBy, TH-30)" in fault.what


def test_a_number_under_a_property_with_a_domain_still_says_what_its_subject_is() -> None:
    (fault,) = _refused("part:TH-27 ko:fixed true .")
    assert fault.what == "TH-27 cannot be both Part and Station"
    assert fault.facts[0] == "TH-27 fixed true (says drawings)"


def test_all_disjoint_kinds_are_kept_apart_pair_by_pair() -> None:
    group = (
        "ko:A a owl:Class . ko:B a owl:Class . ko:C a owl:Class ."
        "[] a owl:AllDisjointClasses ; owl:members ( ko:A ko:B ko:C ) ."
    )
    (fault,) = _refused("end:odd a ko:A , ko:C .", group)
    assert fault.what == "odd cannot be both A and C"


def test_a_contradiction_does_not_depend_on_the_order_of_statements() -> None:
    one = "part:TH-27 a ko:Station , ko:Role . end:hub-27 a ko:Car ."
    other = "end:hub-27 a ko:Car . part:TH-27 a ko:Role , ko:Station ."
    assert _refused(one) == _refused(other)
