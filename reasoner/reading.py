"""Read ontology and catalogue files into facts that remember their source and their file.

Oxigraph's strict parser reads (rdflib's takes `12.3.4` for 12.3 and says nothing). Blank nodes are
numbered in the order in which a file states them, so that the same text gives the same facts.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

import pyoxigraph as ox
from rdflib import Graph, URIRef
from rdflib.term import BNode, Literal, Node

from .errors import CatalogueFileError
from .files import TextFile
from .terms import ONTOLOGY_GRAPH, local_name

Triple = tuple[Node, Node, Node]

_FORMATS = {".ttl": ox.RdfFormat.TURTLE, ".trig": ox.RdfFormat.TRIG}
# A number that is none is told as a fault with its file and line; rdflib would log a traceback too.
logging.getLogger("rdflib.term").addFilter(
    lambda record: not str(record.msg).startswith("Failed to convert Literal")
)

_XSD_STRING = "http://www.w3.org/2001/XMLSchema#string"


@dataclass(slots=True)
class Facts:
    """Every asserted triple with the sources (named graphs) that assert it.

    `sources[triple]` is sorted; the ontology's own graph counts as a source of its axioms.
    `files[subject]` says where a thing was stated first. `unsourced` holds what data files state
    outside any named graph, with the file.
    """

    sources: dict[Triple, tuple[str, ...]] = field(default_factory=dict)
    files: dict[Node, str] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    unsourced: list[tuple[Triple, str]] = field(default_factory=list)
    owners: dict[Node, Node] = field(default_factory=dict)

    def graph(self) -> Graph:
        """All asserted triples as one plain graph."""
        graph = Graph()
        for triple in self.sources:
            graph.add(triple)
        return graph

    def owner(self, node: Node) -> Node:
        """The named thing that a record belongs to; a thing with a name is its own owner."""
        seen: set[Node] = set()
        while isinstance(node, BNode) and node in self.owners and node not in seen:
            seen.add(node)
            node = self.owners[node]
        return node

    def name(self, node: Node) -> str:
        """What to call a node in a sentence: its local name, or the name of what it belongs to."""
        owner = self.owner(node)
        return "a record" if isinstance(owner, BNode) else local_name(owner)

    def place(self, node: Node) -> str:
        """File and, where the name can be found in it, line at which `node` is stated."""
        owner = self.owner(node)
        file = self.files.get(owner, "unknown file")
        line = None if isinstance(owner, BNode) else _line_of(owner, self.texts.get(file, ""))
        return file if line is None else f"{file}, line {line}"


def _line_of(node: Node, text: str) -> int | None:
    """The line where a statement about `node` starts, else the first that mentions it."""
    iri = str(node)
    ways = [re.escape(f"<{iri}>")]
    for prefix, space in re.findall(r"prefix\s+([\w-]*):\s*<([^>]+)>", text, re.IGNORECASE):
        if iri.startswith(space):
            ways.append(rf"(?<![\w-]){prefix}:{re.escape(iri[len(space) :])}")
    name = rf"(?:{'|'.join(ways)})(?![\w-]|\.\w)"
    starts, mentions = re.compile(rf"(?:^|[.{{])\s*{name}"), re.compile(name)
    mentioned: int | None = None
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("#"):
            continue
        if starts.search(line):
            return number
        if mentioned is None and mentions.search(line):
            mentioned = number
    return mentioned


def read_facts(files: Iterable[TextFile]) -> Facts:
    """Parse all files.

    Raises:
        CatalogueFileError: a file does not parse; names file, line and what was found.
    """
    facts = Facts()
    gathered: dict[Triple, set[str]] = {}
    for at, file in enumerate(files):
        facts.texts[file.name] = file.text
        for triple, graph in _parse(file, at):
            s, _, o = triple
            source = graph or (str(ONTOLOGY_GRAPH) if file.ontology else "")
            gathered.setdefault(triple, set()).add(source)
            facts.files.setdefault(s, file.name)
            if isinstance(o, BNode):
                facts.owners.setdefault(o, s)
            if not source:
                facts.unsourced.append((triple, file.name))
    for triple in sorted(gathered, key=lambda t: tuple(map(str, t))):
        facts.sources[triple] = tuple(sorted(gathered[triple]))
    return facts


def _parse(file: TextFile, at: int) -> Iterable[tuple[Triple, str]]:
    suffix = file.name[file.name.rfind(".") :]
    blanks: dict[str, BNode] = {}

    def term(node: object) -> Node:
        if isinstance(node, ox.NamedNode):
            return URIRef(node.value)
        if isinstance(node, ox.BlankNode):
            return blanks.setdefault(node.value, BNode(f"b{at:04}x{len(blanks):06}"))
        assert isinstance(node, ox.Literal), "quoted triples are not part of Turtle 1.1"
        if node.language:
            return Literal(node.value, lang=node.language)
        kind = node.datatype.value
        return Literal(
            node.value, datatype=None if kind == _XSD_STRING else URIRef(kind), normalize=False
        )

    try:
        for quad in ox.parse(file.text, format=_FORMATS[suffix]):
            graph = quad.graph_name
            named = graph.value if isinstance(graph, ox.NamedNode) else ""
            yield (term(quad.subject), term(quad.predicate), term(quad.object)), named
    except SyntaxError as error:
        raise CatalogueFileError(file.name, error.lineno, _plain(error, file.text)) from None


def _plain(error: SyntaxError, text: str) -> str:
    """The parser's words without its own account of the place, and what stands there."""
    why = re.sub(r"^Parser error .*?: ", "", str(error.msg), flags=re.DOTALL)
    lines = text.splitlines()
    at = (error.lineno or 1) - 1
    around = lines[at][(error.offset or 1) - 1 :].strip()[:40] if at < len(lines) else ""
    return f"{why} (near “{around}”)" if around else f"{why} at the end of the file"
