"""Check closed facts against the shapes and by the plain checks, and say what is wrong in words.

All things are screened (`screen.py`); whoever is suspected of breaking a shape is put to the SHACL
engine, which decides and gives the words.
"""

from __future__ import annotations

import warnings
from collections.abc import Collection, Iterable, Iterator
from itertools import islice
from typing import Final

from pyshacl import validate
from rdflib import RDF, RDFS, SH, Graph, Literal, Variable
from rdflib.term import BNode, Node

from .collecting import without_collecting
from .errors import CatalogueRefused, Fault
from .grouped import by_property
from .links import Links
from .nearest_name import did_you_mean
from .reading import Facts, Triple
from .screen import ShapeBook, Suspects, find_suspects, shape_book, surroundings
from .sense import check_sense
from .shapes import TARGETS
from .statements import Finding, check_statements
from .terms import SCHEMA, local_name

_MOST: Final = 1000
"""How many things are told of in words at a time; nobody mends more before checking again."""


def check_shapes(facts: Facts, derived: Collection[Triple]) -> None:
    """Refuse data that breaks a shape, that no source vouches for, or that makes no sense.

    Raises:
        CatalogueRefused: names every node, the shape or rule it breaks and what that asks for.
    """
    with without_collecting():
        stated, follows = by_property(facts.sources), by_property(derived)
        book = shape_book(facts)
        links = book.links(stated, follows)
        broken = list(broken_by(find_suspects(book, links), book, links, facts))
        del links
        senseless = check_sense(facts, follows.get(SCHEMA.manufacturer, ()), stated)
        refuse(facts, broken, check_statements(facts, stated), senseless)


def refuse(
    facts: Facts,
    broken: Collection[Finding],
    statements: Iterable[Finding],
    senseless: Iterable[Fault],
) -> None:
    """Refuse with all that was found, each thing told once. Raises `CatalogueRefused`."""
    told = {(f.subject, f.predicate) for f in broken} | {(None, f.value) for f in broken}
    faults = {f.fault for f in broken} | set(islice(senseless, 3 * _MOST))
    for finding in statements:
        owner = None if finding.subject is None else facts.owner(finding.subject)
        if (owner, finding.predicate) not in told and (None, finding.value) not in told:
            faults.add(finding.fault)
        if len(faults) > 3 * _MOST:
            faults.add(_AND_MORE)
            break
    if faults:
        raise CatalogueRefused(
            "The catalogue breaks its shapes; nothing is served from it.",
            tuple(sorted(faults, key=lambda f: (f.place, f.node, f.rule, f.what))),
        )


def broken_by(suspects: Suspects, book: ShapeBook, links: Links, facts: Facts) -> Iterator[Finding]:
    """What the suspects break indeed, in words."""
    nodes = suspects.nodes()
    if len(nodes) > _MOST:
        yield _many_more(len(nodes) - _MOST)
        nodes = set(sorted(nodes, key=str)[:_MOST])
    if not nodes:
        return
    graph = surroundings(book, links, nodes)
    words = Words(facts)
    try:
        report = engines_report(graph, _aimed_at(suspects, nodes, book.shapes))
        yield from words.of_report(report)
    except Exception:  # the engine compares values, and gives up where two cannot be compared
        yield from _one_by_one(suspects, nodes, book, graph, words)
    for (shape, constraint), found in suspects.of_queries.items():
        select = str(book.queries.value(constraint, SH.select))
        rows = {binding[Variable("this")] for binding in graph.query(select).bindings}
        message = str(book.queries.value(constraint, SH.message) or "breaks the shape")
        for node in sorted(rows & nodes & set(found), key=str):
            fault = Fault(facts.name(node), facts.place(node), words.shape_name(shape), message)
            yield Finding(fault, facts.owner(node))


def _one_by_one(
    suspects: Suspects, nodes: Collection[Node], book: ShapeBook, graph: Graph, words: Words
) -> Iterator[Finding]:
    """What the engine finds of each thing, and of those it cannot cope with that it cannot."""
    for node in sorted(nodes, key=str):
        try:
            report = engines_report(graph, _aimed_at(suspects, (node,), book.shapes))
            yield from words.of_report(report)
        except Exception:
            for shape, found in suspects.of_shapes.items():
                if node in found:
                    yield words.not_comparable(node, shape)


def engines_report(graph: Graph, shapes: Graph) -> Graph:
    """What the SHACL engine finds in a graph."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pyshacl warns of features this data does not use
        _, report, _ = validate(graph, shacl_graph=shapes, inference="none", inplace=True)
    assert isinstance(report, Graph)
    return report


_AND_MORE: Final = Fault(
    "more things", "unknown file", "shapes", "are wrong too; mend these first and check again"
)


def _many_more(count: int) -> Finding:
    what = "break their shapes too, or might; mend the others first and check again"
    return Finding(Fault(f"{count} more things", "unknown file", "shapes", what))


def _aimed_at(suspects: Suspects, nodes: Collection[Node], shapes: Graph) -> Graph:
    """The same shapes, each for its suspects and nobody else."""
    aimed = Graph()
    for s, p, o in shapes:
        implicit = s in suspects.of_shapes and (p, o) == (RDF.type, RDFS.Class)
        if p not in TARGETS and not implicit:
            aimed.add((s, p, o))
    for shape, found in suspects.of_shapes.items():
        for node in found:
            if node in nodes:
                aimed.add((shape, SH.targetNode, node))
    return aimed


def _is_told_elsewhere(result: Node, report: Graph) -> bool:
    """Of a record that breaks its shape the details tell more; of a plain value they tell less."""
    focus = report.value(result, SH.focusNode)
    details = (report.value(detail, SH.focusNode) for detail in report.objects(result, SH.detail))
    return isinstance(focus, Literal) or any(isinstance(node, BNode) for node in details)


class Words:
    """Findings of the SHACL engine as sentences about things of the catalogue."""

    def __init__(self, facts: Facts) -> None:
        self._facts = facts
        self._names: dict[str, list[str]] = {}

    def of_report(self, report: Graph) -> Iterator[Finding]:
        """All that a report has to tell, each thing where it tells most."""
        for result in report.subjects(RDF.type, SH.ValidationResult):
            if not _is_told_elsewhere(result, report):
                yield self._finding(report, result)

    def _finding(self, report: Graph, result: Node) -> Finding:
        facts = self._facts
        focus = report.value(result, SH.focusNode)
        path = report.value(result, SH.resultPath)
        value = report.value(result, SH.value)
        messages = sorted(str(m) for m in report.objects(result, SH.resultMessage))
        shape = report.value(result, SH.sourceShape)
        about = f"{local_name(path)}: " if path is not None and not isinstance(path, BNode) else ""
        said = ""
        if value is not None and not isinstance(value, BNode):
            said = f" (it says {self._show(value)})"
        fault = Fault(
            node=facts.name(focus) if focus is not None else "something",
            place=facts.place(focus) if focus is not None else "unknown file",
            rule=self.shape_name(shape),
            what=f"{about}{messages[0] if messages else 'breaks the shape'}{said}",
        )
        return Finding(fault, None if focus is None else facts.owner(focus), path, value)

    def not_comparable(self, node: Node, shape: Node) -> Finding:
        """A thing with values that nothing can be said of but that they are odd."""
        facts = self._facts
        what = "has a value of another kind than the shape compares it with"
        fault = Fault(facts.name(node), facts.place(node), self.shape_name(shape), what)
        return Finding(fault, facts.owner(node))

    def shape_name(self, shape: Node | None) -> str:
        """What a shape is called, or the shape that it is a part of."""
        owner = self._facts.owner(shape) if shape is not None else None
        return (
            "shape" if owner is None or isinstance(owner, BNode) else f"shape {local_name(owner)}"
        )

    def _show(self, value: Node) -> str:
        if not isinstance(value, Literal):
            if value in self._facts.files:
                return local_name(value)
            return f"{local_name(value)}, which is stated nowhere{self._nearest(value)}"
        text = str(value)
        return f"“{text if len(text) <= 60 else text[:57] + '…'}”"

    def _nearest(self, value: Node) -> str:
        """Names are near to one another only where they stand for things of the same sort."""
        space = str(value).removesuffix(local_name(value))
        names = self._names.get(space)
        if names is None:
            known = (str(node) for node in self._facts.files if not isinstance(node, BNode))
            names = sorted({local_name(node) for node in known if node.startswith(space)})
            self._names[space] = names
        return did_you_mean(local_name(value), names)
