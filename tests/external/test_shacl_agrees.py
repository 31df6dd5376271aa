"""What is refused for breaking a shape is what a SHACL engine reports, no more and no less.

Source: pyshacl, validating against W3C Recommendation "Shapes Constraint Language (SHACL)", 20 July
2017, with its SPARQL constraints (section 5) left in place; ours takes those out and puts each query
to the graph once, names records by what they belong to, and tells the details of a record instead
of the fact that it has some.
"""

from __future__ import annotations

import warnings

import pytest
from knockon.reasoner.closure import close
from knockon.reasoner.files import TextFile, catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.terms import local_name
from pyshacl import validate
from rdflib import RDF, RDFS, SH, Graph, Literal, URIRef
from rdflib.term import BNode, Node

from ..conftest import tiny_files
from ..reasoner.broken import BROKEN_SHAPES, broken_files, faults_of

Told = set[tuple[str, str, str]]


def _owner(node: Node, graph: Graph) -> Node:
    while isinstance(node, BNode) and (above := next(graph.subjects(None, node), None)):
        node = above
    return node


def _whole_graph(facts: Facts) -> Graph:
    graph = facts.graph()
    for triple in close(facts):
        graph.add(triple)
    ranges = [
        (p, kind) for p, kind in graph.subject_objects(RDFS.range) if isinstance(kind, URIRef)
    ]
    for p, kind in ranges:
        for record in graph.objects(None, p):
            if isinstance(record, BNode):
                graph.add((record, RDF.type, kind))
    return graph


def _reported(files: tuple[TextFile, ...]) -> tuple[bool, Told]:
    """What the engine reports at top level, and of records what it reports in detail."""
    graph = _whole_graph(read_facts(files))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        conforms, report, _ = validate(graph, shacl_graph=graph, inference="none", advanced=True)
    assert isinstance(report, Graph)
    told: Told = set()
    waiting = list(report.objects(None, SH.result))
    while waiting:
        result = waiting.pop()
        details = [
            d for d in report.objects(result, SH.detail)
            if isinstance(report.value(d, SH.focusNode), BNode)
        ]  # fmt: skip
        waiting += details
        focus, shape = report.value(result, SH.focusNode), report.value(result, SH.sourceShape)
        assert focus is not None
        assert shape is not None
        if not details and not isinstance(focus, Literal):
            message = min(str(m) for m in report.objects(result, SH.resultMessage))
            told.add((local_name(_owner(focus, graph)), local_name(_owner(shape, graph)), message))
    return bool(conforms), told


def _refused(files: tuple[TextFile, ...]) -> Told:
    """Our faults without the path in front of the message and the value behind it."""
    return {
        (fault.node, fault.rule.removeprefix("shape "), fault.what)
        for fault in faults_of(files)
        if fault.rule.startswith("shape ")
    }


def _same(ours: tuple[str, str, str], theirs: tuple[str, str, str]) -> bool:
    return ours[:2] == theirs[:2] and theirs[2] in ours[2]


def test_every_refusal_is_in_the_engines_report_and_every_report_is_a_refusal() -> None:
    files = broken_files(BROKEN_SHAPES)
    conforms, theirs = _reported(files)
    ours = _refused(files)
    assert not conforms
    assert [o for o in ours if not any(_same(o, t) for t in theirs)] == []
    assert [t for t in theirs if not any(_same(o, t) for o in ours)] == []


@pytest.mark.parametrize("name", ["a part with two prices", "a joint of mixed kinds"])
def test_one_bad_thing_alone_is_refused_as_the_engine_reports_it(name: str) -> None:
    files = broken_files({name: BROKEN_SHAPES[name]})
    _, theirs = _reported(files)
    ours = _refused(files)
    assert len(ours) == len(theirs) == 1
    assert _same(ours.pop(), theirs.pop())


def test_a_sound_catalogue_conforms() -> None:
    assert _reported(tiny_files()) == (True, set())


def test_the_demo_conforms() -> None:
    assert _reported(catalogue_files(ontology_folder(), demo_folder())) == (True, set())
