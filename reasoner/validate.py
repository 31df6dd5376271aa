"""Check closed facts against the SHACL shapes, and say what is wrong in words."""

from __future__ import annotations

import warnings
from collections.abc import Iterable

from pyshacl import validate
from rdflib import RDF, SH, Graph, Literal
from rdflib.term import BNode, Node

from .errors import CatalogueRefused, Fault
from .reading import Facts, Triple
from .terms import local_name


def check_shapes(facts: Facts, derived: Iterable[Triple]) -> None:
    """Refuse data that breaks a shape, or that no source vouches for.

    Raises:
        CatalogueRefused: names every node, the shape it breaks and what the shape asks for.
    """
    faults = [*_unsourced(facts), *_broken_shapes(facts, derived)]
    if faults:
        raise CatalogueRefused(
            "The catalogue breaks its shapes; nothing is served from it.", tuple(faults)
        )


def _unsourced(facts: Facts) -> Iterable[Fault]:
    seen: set[str] = set()
    for (subject, _, _), file in facts.unsourced:
        place = facts.place(subject)
        if not file.startswith("ontology/") and place not in seen:
            seen.add(place)
            yield Fault(
                local_name(subject),
                place,
                "every fact has a source",
                "stated outside any named graph, so nobody vouches for it; "
                "put it inside the graph of its source",
            )


def _broken_shapes(facts: Facts, derived: Iterable[Triple]) -> list[Fault]:
    graph = facts.graph()
    for triple in derived:
        graph.add(triple)
    shapes = Graph()
    for triple in graph:
        shapes.add(triple)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pyshacl warns of features this data does not use
        conforms, report, _ = validate(graph, shacl_graph=shapes, inference="none", advanced=True)
    if conforms:
        return []
    assert isinstance(report, Graph)
    found = {
        _fault(report, result, graph, facts)
        for result in report.subjects(RDF.type, SH.ValidationResult)
    }
    return sorted(found, key=lambda f: (f.place, f.node, f.what))


def _fault(report: Graph, result: Node, graph: Graph, facts: Facts) -> Fault:
    focus = report.value(result, SH.focusNode)
    path = report.value(result, SH.resultPath)
    value = report.value(result, SH.value)
    messages = sorted(str(m) for m in report.objects(result, SH.resultMessage))
    shape = report.value(result, SH.sourceShape)
    owner = _named_owner(focus, graph)
    said = f" (it says {_show(value)})" if isinstance(value, Literal) else ""
    about = f"{local_name(path)}: " if path is not None and not isinstance(path, BNode) else ""
    return Fault(
        node=local_name(owner) if owner is not None else "something",
        place=facts.place(owner) if owner is not None else "unknown file",
        rule=_shape_name(shape, graph),
        what=f"{about}{messages[0] if messages else 'breaks the shape'}{said}",
    )


def _show(value: Literal) -> str:
    text = str(value)
    return f"“{text if len(text) <= 60 else text[:57] + '…'}”"


def _named_owner(node: Node | None, graph: Graph) -> Node | None:
    """A blank node is known by the thing it belongs to."""
    seen = set()
    while isinstance(node, BNode) and node not in seen:
        seen.add(node)
        node = min(graph.subjects(None, node), key=str, default=node)
    return node


def _shape_name(shape: Node | None, graph: Graph) -> str:
    owner = _named_owner(shape, graph)
    return f"shape {local_name(owner)}" if owner is not None else "shape"
