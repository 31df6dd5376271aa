"""Every word of the vocabulary is declared, said in words, and measured in a way one can follow."""

from __future__ import annotations

import logging
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pyoxigraph as ox
import pytest
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.terms import KO, QUDT, local_name
from rdflib import OWL, RDF, RDFS, SH, XSD, Dataset, Graph, Literal, URIRef
from rdflib.compare import isomorphic
from rdflib.namespace import SKOS
from rdflib.term import Node

FILES = [
    path
    for folder in (ontology_folder(), demo_folder())
    for path in sorted(folder.rglob("*"))
    if path.suffix in (".ttl", ".trig")
]


def _of(graph: Graph, kind: Node) -> list[URIRef]:
    return sorted(s for s in graph.subjects(RDF.type, kind) if isinstance(s, URIRef))


def _labels(graph: Graph, node: Node) -> list[Literal]:
    found = (*graph.objects(node, SKOS.prefLabel), *graph.objects(node, RDFS.label))
    return [o for o in found if isinstance(o, Literal) and str(o).strip()]


@pytest.mark.parametrize(
    "kind",
    [OWL.Class, OWL.ObjectProperty, OWL.DatatypeProperty, KO.Station, KO.Role, KO.Joint, KO.Side],
    ids=local_name,
)
def test_everything_can_be_said_in_words(vocabulary: Graph, kind: URIRef) -> None:
    things = [n for n in _of(vocabulary, kind) if n.startswith("https://knockon.example/")]
    assert things
    assert [local_name(n) for n in things if not _labels(vocabulary, n)] == []


def test_every_quantity_says_how_to_measure_it(vocabulary: Graph) -> None:
    for kind in (KO.ValueProperty, KO.RecordProperty):
        silent = [p for p in _of(vocabulary, kind) if not vocabulary.value(p, KO.measureBy)]
        assert [local_name(p) for p in silent] == []


def test_every_number_has_one_unit_and_no_word_has_any(vocabulary: Graph) -> None:
    for p in _of(vocabulary, KO.ValueProperty):
        units = list(vocabulary.objects(p, QUDT.hasUnit))
        number = vocabulary.value(p, RDFS.range) in (XSD.decimal, XSD.integer)
        assert len(units) == (1 if number else 0), local_name(p)


def test_every_quantity_has_one_kind_of_value(vocabulary: Graph) -> None:
    for p in _of(vocabulary, KO.ValueProperty):
        assert len(list(vocabulary.objects(p, RDFS.range))) == 1, local_name(p)


def test_no_two_quantities_have_one_name(vocabulary: Graph) -> None:
    """Within one interface kind, and among what parts state beside their ends."""
    quantities = [*_of(vocabulary, KO.ValueProperty), *_of(vocabulary, KO.RecordProperty)]
    assert len(set(map(local_name, quantities))) == len(quantities)
    said = Counter(
        (str(kind), str(label).casefold())
        for p in quantities
        for label in set(map(str, _labels(vocabulary, p)))
        for kind in (*vocabulary.objects(p, KO.quantityOf), None)
        if kind or not list(vocabulary.objects(p, KO.quantityOf))
    )
    assert [name for name, times in said.items() if times > 1] == []


def test_every_quantity_is_declared_in_one_file_only(ontology_files: tuple[Path, ...]) -> None:
    declared: Counter[Node] = Counter()
    for path in ontology_files:
        graph = Graph().parse(path, format="turtle")
        declared.update(set(graph.subjects(RDF.type, KO.ValueProperty)))
    assert [local_name(p) for p, times in declared.items() if times > 1] == []


def test_every_interface_kind_has_its_rule_in_words(vocabulary: Graph) -> None:
    kinds = list(vocabulary.subjects(RDFS.subClassOf, KO.End))
    assert len(kinds) == 12
    assert [local_name(k) for k in kinds if not vocabulary.value(k, KO.kindRule)] == []


def test_no_property_is_both_a_link_and_a_value(vocabulary: Graph) -> None:
    kinds = (OWL.ObjectProperty, OWL.DatatypeProperty, OWL.AnnotationProperty)
    declared = Counter(p for kind in kinds for p in _of(vocabulary, kind))
    assert [local_name(p) for p, times in declared.items() if times > 1] == []


def test_no_word_is_used_that_is_not_declared(everything: Graph, vocabulary: Graph) -> None:
    declared = set(vocabulary.subjects(RDF.type, None))
    used: dict[str, str] = {}
    for s, p, o in everything:
        for node in (p, o):
            plain = (
                isinstance(node, URIRef) and node.startswith(str(KO)) and node != URIRef(str(KO))
            )
            if plain and p != SH.prefixes and node not in declared:
                used.setdefault(local_name(node), local_name(s))
    assert used == {}


def test_every_link_between_named_things_leads_somewhere(everything: Graph) -> None:
    """No station, role, part, end, family or source is named that nobody describes."""
    described = {s for s in everything.subjects() if isinstance(s, URIRef)}
    spaces = ("station", "role", "joint", "part", "end", "family", "generation", "car", "line")
    lost = {
        str(o)
        for _, p, o in everything
        if isinstance(o, URIRef) and o not in described
        and o.startswith(tuple(f"https://knockon.example/{space}/" for space in spaces))
    }  # fmt: skip
    assert lost == set()


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_a_file_reads_the_same_in_two_libraries(
    path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    ours, theirs = Graph(), Graph()
    with caplog.at_level(logging.WARNING, logger="rdflib"):
        if path.suffix == ".trig":
            dataset = Dataset()
            dataset.parse(path, format="trig")
            for s, p, o, _ in dataset.quads():
                ours.add((s, p, o))
        else:
            ours.parse(path, format="turtle")
    assert caplog.text == "", "every literal must be valid for its datatype"
    kind = ox.RdfFormat.TRIG if path.suffix == ".trig" else ox.RdfFormat.TURTLE
    store = ox.Store()
    store.bulk_load(path=path, format=kind)
    flat = [ox.Triple(q.subject, q.predicate, q.object) for q in store]
    text = ox.serialize(flat, format=ox.RdfFormat.N_TRIPLES)
    assert text is not None
    theirs.parse(data=text.decode(), format="nt")
    assert isomorphic(_told_exactly(ours), _told_exactly(theirs))


def _told_exactly(graph: Graph) -> Graph:
    """The same graph with each literal as one text, so that only what it says is compared.

    The two libraries write one number in different ways (3.0 and 3) and one language too (en-GB
    and en-gb).
    """
    told = Graph()
    for s, p, o in graph:
        if isinstance(o, Literal):
            value = o.value.normalize() if isinstance(o.value, Decimal) else str(o)
            o = Literal(f"{value} {o.datatype} {(o.language or '').lower()}")
        told.add((s, p, o))
    return told
