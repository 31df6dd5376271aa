"""Requirements, supersession and interchange are as transitive as a graph library says.

Source: networkx, `transitive_closure` and `connected_components`; and the definition of transitive
closure in any textbook of discrete mathematics (a path of one step or more).
"""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.closure import close
from knockon.reasoner.files import TextFile, catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.terms import KO, local_name
from rdflib import OWL, RDFS, URIRef
from rdflib.term import Node

from ..conftest import PREFIXES, vocabulary


@pytest.fixture(scope="module")
def demo_facts() -> Facts:
    """What the demo states, before anything is derived."""
    return read_facts(catalogue_files(ontology_folder(), demo_folder()))


def _links(facts: Facts, link: Node) -> list[tuple[str, str]]:
    return [(str(s), str(o)) for s, p, o in facts.sources if p == link]


def _families(facts: Facts) -> dict[str, set[str]]:
    """Each part with its families and theirs, walked as a graph of rdf:type and rdfs:subClassOf."""
    graph = nx.DiGraph(_links(facts, RDFS.subClassOf))
    types = nx.DiGraph()
    for s, p, o in facts.sources:
        if local_name(p) == "type":
            types.add_edge(str(s), str(o))
    wider = nx.transitive_closure(graph, reflexive=True)
    return {
        part: {
            f for t in types.successors(part) for f in (wider.successors(t) if t in wider else [t])
        }
        for part in types
    }


def test_the_demos_requirements_are_their_transitive_closure(
    demo: Catalogue, demo_facts: Facts
) -> None:
    stated = nx.DiGraph(_links(demo_facts, KO.requires))
    assert stated.number_of_edges() > 0
    restricted = {s: o for s, p, o in demo_facts.sources if p == OWL.onProperty}
    assert KO.requires not in restricted.values(), "requirements are stated, not restricted"
    families = _families(demo_facts)
    for iri, part in demo.parts.items():
        askers = {iri} | families[iri]
        wanted = {r for a in askers if a in stated for r in nx.descendants(stated, a)}
        assert set(part.requires) == wanted, part.number


def test_the_demos_families_require_what_their_requirements_require(
    demo: Catalogue, demo_facts: Facts
) -> None:
    closed = nx.transitive_closure(nx.DiGraph(_links(demo_facts, KO.requires)))
    wider = nx.transitive_closure(nx.DiGraph(_links(demo_facts, RDFS.subClassOf)), reflexive=True)
    for iri, family in demo.families.items():
        line = set(wider.successors(iri)) if iri in wider else {iri}
        wanted = {r for f in line if f in closed for r in closed.successors(f)}
        assert set(family.requires) == wanted, family.label


def test_the_demos_supersessions_are_their_transitive_closure(
    demo: Catalogue, demo_facts: Facts
) -> None:
    closed = nx.transitive_closure(nx.DiGraph(_links(demo_facts, KO.supersededBy)))
    for iri, part in demo.parts.items():
        wanted = set(closed.successors(iri)) if iri in closed else set()
        assert set(part.superseded_by) == wanted, part.number


def test_the_demos_interchanges_are_whole_groups(demo: Catalogue, demo_facts: Facts) -> None:
    groups = list(nx.connected_components(nx.Graph(_links(demo_facts, KO.interchangesWith))))
    for iri, part in demo.parts.items():
        group = next((g for g in groups if iri in g), {iri})
        assert set(part.interchanges) == group - {iri}, part.number


NODES = st.integers(0, 7)


def _closed(link: str, pairs: set[tuple[int, int]]) -> set[tuple[str, str]]:
    text = "".join(f"part:x{a} ko:{link} part:x{b} .\n" for a, b in sorted(pairs))
    core = next(f for f in vocabulary() if f.name == "ontology/core.ttl")
    facts = read_facts((core, TextFile("data/x.trig", f"{PREFIXES}src:s {{ {text} }}", False)))
    derived = {(s, p, o) for s, p, o in close(facts) if p == KO[link]}
    both = {(s, o) for s, p, o in facts.sources if p == KO[link]} | {(s, o) for s, _, o in derived}
    return {(local_name(s), local_name(o)) for s, o in both if isinstance(s, URIRef) and s != o}


@settings(max_examples=8, deadline=None)
@given(st.sets(st.tuples(NODES, NODES), max_size=14))
def test_any_requirements_are_closed_as_the_library_closes_them(
    pairs: set[tuple[int, int]],
) -> None:
    graph = nx.transitive_closure(nx.DiGraph(sorted(pairs)))
    wanted = {(f"x{a}", f"x{b}") for a, b in graph.edges if a != b}
    assert _closed("requires", pairs) == wanted


@settings(max_examples=8, deadline=None)
@given(st.sets(st.tuples(NODES, NODES), max_size=10))
def test_any_interchanges_are_grouped_as_the_library_groups_them(
    pairs: set[tuple[int, int]],
) -> None:
    groups = nx.connected_components(nx.Graph(sorted(pairs)))
    wanted = {(f"x{a}", f"x{b}") for g in groups for a in g for b in g if a != b}
    assert _closed("interchangesWith", pairs) == wanted
