"""What the SHACL engine says of a whole catalogue when nothing is screened, and how to compare.

pyshacl validates every thing against every shape, with its SPARQL constraints left in place.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterable

from knockon.reasoner.closure import close
from knockon.reasoner.errors import Fault
from knockon.reasoner.files import TextFile
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.terms import local_name
from pyshacl import validate
from rdflib import RDF, RDFS, SH, Graph, Literal, URIRef
from rdflib.term import BNode, Node

Told = set[tuple[str, str, str]]
"""Name of the thing, name of the shape, message."""


def _owner(node: Node, graph: Graph) -> Node:
    while isinstance(node, BNode) and (above := next(graph.subjects(None, node), None)):
        node = above
    return node


def whole_graph(facts: Facts) -> Graph:
    """All that is stated and follows, and what records are by their use."""
    graph = facts.graph()
    for triple in close(facts):
        graph.add(triple)
    return with_records(graph)


def with_records(graph: Graph) -> Graph:
    """The same graph, with what records are by their use."""
    ranges = [
        (p, kind) for p, kind in graph.subject_objects(RDFS.range) if isinstance(kind, URIRef)
    ]
    for p, kind in ranges:
        for record in graph.objects(None, p):
            if isinstance(record, BNode):
                graph.add((record, RDF.type, kind))
    return graph


def reported(files: tuple[TextFile, ...]) -> tuple[bool, Told]:
    """What the engine reports of a catalogue at top level, and of records in detail."""
    return reported_of(whole_graph(read_facts(files)))


def reported_of(graph: Graph) -> tuple[bool, Told]:
    """The same of a graph that is closed, with the shapes in it."""
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


def told_of_shapes(faults: Iterable[Fault]) -> Told:
    """Our faults as the engine's: what is told, of whom, by which shape."""
    return {
        (fault.node, fault.rule.removeprefix("shape "), fault.what)
        for fault in faults
        if fault.rule.startswith("shape ")
    }


def same(ours: tuple[str, str, str], theirs: tuple[str, str, str]) -> bool:
    """Whether two tell the same; ours have the path in front and the value behind."""
    return ours[:2] == theirs[:2] and theirs[2] in ours[2]
