"""Turtle, TriG and JSON-LD as they are: statements without a graph are on the file's source."""

from __future__ import annotations

import re
from pathlib import Path

import pyoxigraph as ox
from rdflib import URIRef
from rdflib.term import BNode, Node

from ..quads import from_store
from .faults import FaultList, FileRefused
from .guard import BOUNDS
from .statements import Statements

RDF_SUFFIXES = {
    ".ttl": ox.RdfFormat.TURTLE,
    ".trig": ox.RdfFormat.TRIG,
    ".jsonld": ox.RdfFormat.JSON_LD,
    ".nq": ox.RdfFormat.N_QUADS,
}
"""File names' endings and what they are. RDF/XML is not read: it may pull in other files."""


def read_rdf(
    path: Path, at: int, statements: Statements, source: URIRef | None, faults: FaultList
) -> int:
    """State what a file, the `at`th, states; returns how many statements it has.

    Raises:
        FileRefused: it is too large, not UTF-8, or does not parse (says where).
    """
    try:
        text = path.read_bytes()[: BOUNDS.packed].decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileRefused(path.name, "is not UTF-8 text") from None
    blanks: dict[str, BNode] = {}

    def term(node: object) -> Node:
        if isinstance(node, ox.BlankNode):
            return blanks.setdefault(node.value, BNode(f"kf{at:04}x{len(blanks):06}"))
        return from_store(node)

    count = 0
    try:
        for quad in ox.parse(text, format=RDF_SUFFIXES[path.suffix.lower()]):
            count += 1
            named = isinstance(quad.graph_name, ox.NamedNode)
            graph = URIRef(quad.graph_name.value) if named else source
            if graph is None:
                faults.add(
                    "",
                    0,
                    "",
                    f"{path.name} states <{quad.subject}> outside the graph of any source; "
                    "name the source for the whole file",
                )
                return count
            statements.say(
                term(quad.subject), URIRef(quad.predicate.value), term(quad.object), graph
            )
    except SyntaxError as error:
        why = re.sub(r"^Parser error .*?: ", "", str(error.msg), flags=re.DOTALL)
        where = f"line {error.lineno}: " if error.lineno else ""
        raise FileRefused(path.name, f"{where}{why}") from None
    return count
