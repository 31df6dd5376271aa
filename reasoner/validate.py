"""Check closed facts against the shapes and by the plain checks, and say what is wrong in words."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Iterator

from pyshacl import validate
from rdflib import RDF, RDFS, SH, Graph, Literal, URIRef, Variable
from rdflib.term import BNode, Node

from .errors import CatalogueRefused, Fault
from .reading import Facts, Triple
from .sense import check_sense
from .statements import Finding, check_statements, nearest
from .terms import ONTOLOGY_GRAPH, local_name


def check_shapes(facts: Facts, derived: Iterable[Triple]) -> None:
    """Refuse data that breaks a shape, that no source vouches for, or that makes no sense.

    Raises:
        CatalogueRefused: names every node, the shape or rule it breaks and what that asks for.
    """
    derived = tuple(derived)
    broken = list(_broken_shapes(facts, derived))
    told = {(f.subject, f.predicate) for f in broken} | {(None, f.value) for f in broken}
    faults = {f.fault for f in broken} | set(check_sense(facts, derived))
    for finding in check_statements(facts):
        owner = None if finding.subject is None else facts.owner(finding.subject)
        if (owner, finding.predicate) not in told and (None, finding.value) not in told:
            faults.add(finding.fault)
    if faults:
        raise CatalogueRefused(
            "The catalogue breaks its shapes; nothing is served from it.",
            tuple(sorted(faults, key=lambda f: (f.place, f.node, f.rule, f.what))),
        )


def _broken_shapes(facts: Facts, derived: Iterable[Triple]) -> Iterator[Finding]:
    graph = facts.graph()
    for triple in (*derived, *_records_by_use(facts)):
        graph.add(triple)
    shapes, queries = _shapes(facts)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pyshacl warns of features this data does not use
        conforms, report, _ = validate(graph, shacl_graph=shapes, inference="none", inplace=True)
    if not conforms:
        assert isinstance(report, Graph)
        for result in report.subjects(RDF.type, SH.ValidationResult):
            if not _is_told_elsewhere(result, report):
                yield _finding(report, result, facts)
    for shape, constraint in queries:
        yield from _broken_query(shape, constraint, graph, facts)


def _shapes(facts: Facts) -> tuple[Graph, list[tuple[Node, Node]]]:
    """The vocabulary with its shapes, and the query constraints taken out of them.

    A query constraint is put to the whole graph once instead of to each thing (`_broken_query`);
    a test holds the outcome against the SHACL engine's own.
    """
    shapes, queries = Graph(), []
    for triple, sources in facts.sources.items():
        if triple[1] == SH.sparql:
            queries.append((triple[0], triple[2]))
        elif str(ONTOLOGY_GRAPH) in sources:
            shapes.add(triple)
    return shapes, queries


def _records_by_use(facts: Facts) -> Iterator[Triple]:
    """A record has no name to misspell, so how it is used says what it is."""
    ranges = {s: o for s, p, o in facts.sources if p == RDFS.range and isinstance(o, URIRef)}
    for _, p, o in facts.sources:
        if isinstance(o, BNode) and p in ranges:
            yield o, RDF.type, ranges[p]


def _broken_query(shape: Node, constraint: Node, graph: Graph, facts: Facts) -> Iterator[Finding]:
    select = str(graph.value(constraint, SH.select))
    message = str(graph.value(constraint, SH.message) or "breaks the shape")
    targets = {
        node
        for kind in graph.objects(shape, SH.targetClass)
        for sub in graph.transitive_subjects(RDFS.subClassOf, kind)
        for node in graph.subjects(RDF.type, sub)
    }
    for link in graph.objects(shape, SH.targetSubjectsOf):
        targets |= set(graph.subjects(link, None))
    for link in graph.objects(shape, SH.targetObjectsOf):
        targets |= set(graph.objects(None, link))
    rows = {binding[Variable("this")] for binding in graph.query(select).bindings}
    for node in sorted(rows & targets, key=str):
        fault = Fault(facts.name(node), facts.place(node), _shape_name(shape, facts), message)
        yield Finding(fault, facts.owner(node))


def _is_told_elsewhere(result: Node, report: Graph) -> bool:
    """Of a record that breaks its shape the details tell more; of a plain value they tell less."""
    focus = report.value(result, SH.focusNode)
    details = (report.value(detail, SH.focusNode) for detail in report.objects(result, SH.detail))
    return isinstance(focus, Literal) or any(isinstance(node, BNode) for node in details)


def _finding(report: Graph, result: Node, facts: Facts) -> Finding:
    focus = report.value(result, SH.focusNode)
    path = report.value(result, SH.resultPath)
    value = report.value(result, SH.value)
    messages = sorted(str(m) for m in report.objects(result, SH.resultMessage))
    shape = report.value(result, SH.sourceShape)
    said = "" if value is None or isinstance(value, BNode) else f" (it says {_show(value, facts)})"
    about = f"{local_name(path)}: " if path is not None and not isinstance(path, BNode) else ""
    fault = Fault(
        node=facts.name(focus) if focus is not None else "something",
        place=facts.place(focus) if focus is not None else "unknown file",
        rule=_shape_name(shape, facts),
        what=f"{about}{messages[0] if messages else 'breaks the shape'}{said}",
    )
    return Finding(fault, None if focus is None else facts.owner(focus), path, value)


def _show(value: Node, facts: Facts) -> str:
    if not isinstance(value, Literal):
        if value in facts.files:
            return local_name(value)
        space = str(value).removesuffix(local_name(value))
        known = [node for node in facts.files if str(node).startswith(space)]
        return f"{local_name(value)}, which is stated nowhere{nearest(value, known)}"
    text = str(value)
    return f"“{text if len(text) <= 60 else text[:57] + '…'}”"


def _shape_name(shape: Node | None, facts: Facts) -> str:
    owner = facts.owner(shape) if shape is not None else None
    return "shape" if owner is None or isinstance(owner, BNode) else f"shape {local_name(owner)}"
