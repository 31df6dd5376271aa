"""What the catalogue exports means the same to another RDF library, in three standard syntaxes.

Sources: W3C Recommendations RDF 1.1 TriG and RDF 1.1 N-Quads (25 February 2014) and JSON-LD 1.1
(16 July 2020) define the syntaxes; RDF 1.1 Concepts (25 February 2014), §3.6, defines when two
graphs with blank nodes are the same. The other library is rdflib: it shares no code with Oxigraph,
which reads and writes for knockon.
"""

from __future__ import annotations

from collections.abc import Iterator

import pyoxigraph as ox
import pytest
import rdflib
from knockon.reasoner.files import TextFile, folder_files
from knockon.reasoner.load import demo_folder
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.quads import LooseQuad, Quad, from_store, named, quads_of
from knockon.reasoner.upkeep.text import quads_in, text_files
from rdflib.compare import to_canonical_graph

SYNTAXES = {
    "trig": (ox.RdfFormat.TRIG, "trig"),
    "N-Quads": (ox.RdfFormat.N_QUADS, "nquads"),
    "JSON-LD": (ox.RdfFormat.JSON_LD, "json-ld"),
}


@pytest.fixture(autouse=True)
def _to_the_letter(monkeypatch: pytest.MonkeyPatch) -> None:
    # rdflib would otherwise take "007" for 7; the comparison is of what was written.
    monkeypatch.setattr(rdflib, "NORMALIZE_LITERALS", False)


@pytest.fixture(scope="module")
def stated() -> frozenset[Quad]:
    """All that the demo states."""
    return quads_in(demo_folder())


def _seen_by_rdflib(text: str, syntax: str) -> frozenset[Quad]:
    dataset = rdflib.Dataset()
    dataset.parse(data=text, format=syntax)
    return named(_quads(dataset))


def _quads(dataset: rdflib.Dataset) -> Iterator[LooseQuad]:
    for s, p, o, g in dataset.quads():
        assert g is not None
        yield s, p, o, rdflib.URIRef(str(g))


def _without_drawings(quads: frozenset[Quad]) -> frozenset[Quad]:
    """What the smaller sources state, which is enough for each syntax."""
    return frozenset(quad for quad in quads if "maker-drawings" not in quad[3])


def _loose(quads: frozenset[Quad]) -> rdflib.Dataset:
    """The statements with their records as blank nodes again."""
    dataset = rdflib.Dataset()
    blank: dict[rdflib.term.Node, rdflib.BNode] = {}

    def back(node: rdflib.term.Node) -> rdflib.term.Node:
        record = str(node).startswith("https://knockon.example/.well-known/genid/")
        return blank.setdefault(node, rdflib.BNode()) if record else node

    for s, p, o, g in quads:
        dataset.graph(g).add((back(s), p, back(o)))
    return dataset


def test_exported_text_means_the_same_to_rdflib(stated: frozenset[Quad]) -> None:
    seen: set[Quad] = set()
    for file in text_files(stated):
        seen |= _seen_by_rdflib(file.text, "trig")
    assert seen == stated


def test_the_demo_as_written_by_hand_means_the_same_to_rdflib() -> None:
    for file in folder_files(demo_folder()):
        ours = quads_of(read_facts([file]))
        assert (
            _seen_by_rdflib(file.text, "trig" if file.name.endswith(".trig") else "turtle") == ours
        )


@pytest.mark.parametrize("name", SYNTAXES)
def test_what_rdflib_writes_is_read_the_same(stated: frozenset[Quad], name: str) -> None:
    ours, theirs = SYNTAXES[name]
    few = _without_drawings(stated)
    text = _loose(few).serialize(format=theirs)
    read = ((q.subject, q.predicate, q.object, q.graph_name) for q in ox.parse(text, format=ours))
    assert named(tuple(map(from_store, quad)) for quad in read) == few  # type: ignore[misc]


@pytest.mark.parametrize("name", SYNTAXES)
def test_what_oxigraph_writes_is_read_the_same_by_rdflib(
    stated: frozenset[Quad], name: str
) -> None:
    ours, theirs = SYNTAXES[name]
    few = _without_drawings(stated)
    text = "\n".join(file.text for file in text_files(few))
    quads = list(ox.parse(text, format=ox.RdfFormat.TRIG))
    written = ox.serialize(quads, format=ours)
    assert written is not None
    assert _seen_by_rdflib(written.decode(), theirs) == few


def test_records_are_the_same_by_rdflibs_own_comparison_of_blank_nodes() -> None:
    (file,) = (f for f in folder_files(demo_folder()) if f.name.endswith("/rear-brakes.trig"))
    exported = text_files(quads_of(read_facts([file])))
    before, after = rdflib.Dataset(), rdflib.Dataset()
    before.parse(data=file.text, format="trig")
    for each in exported:
        after.parse(data=each.text, format="trig")
    graphs = {str(g.identifier) for g in before.graphs() if len(g)}
    assert graphs == {str(g.identifier) for g in after.graphs() if len(g)}
    for graph in graphs:
        one, other = (rdflib.Graph(), rdflib.Graph())
        for source, target in ((before, one), (after, other)):
            for triple in source.graph(rdflib.URIRef(graph)):
                target.add(triple)
        assert set(to_canonical_graph(one)) == set(to_canonical_graph(other))


def test_numbers_and_odd_texts_survive_to_the_letter() -> None:
    text = """@prefix ko: <https://knockon.example/ns#> .
    @prefix src: <https://knockon.example/source/> .
    src:bench { ko:x ko:p 100.50 , 007 , 1e3 , "1"^^<http://www.w3.org/2001/XMLSchema#boolean> ,
        "tab\\tnew\\nline \\"quoted\\" back\\\\slash ½ \\u0007" , "chassis"@en-GB , "é"@fr . }"""
    quads = quads_of(read_facts([TextFile("data/odd.trig", text, ontology=False)]))
    (file,) = text_files(quads)
    assert _seen_by_rdflib(file.text, "trig") == quads
