"""Read ontology and catalogue files into facts that remember their source and their file.

Oxigraph's strict parser reads (rdflib's takes `12.3.4` for 12.3 and says nothing). Blank nodes are
numbered in the order in which a file states them, so that the same text gives the same facts.
Of equal terms and of equal lists of sources there is one object each: a catalogue repeats itself.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final, TypeAlias

import pyoxigraph as ox
from rdflib import OWL, PROV, RDF, RDFS, SH, SKOS, XSD, Graph, URIRef
from rdflib.term import BNode, Literal, Node

from .collecting import without_collecting
from .errors import CatalogueFileError
from .files import TextFile
from .places_in_text import line_of
from .terms import ONTOLOGY_GRAPH, local_name

Triple = tuple[Node, Node, Node]
_Sources: TypeAlias = tuple[str, ...]
_Term: TypeAlias = ox.NamedNode | ox.BlankNode | ox.Literal | ox.Triple

_FORMATS = {".ttl": ox.RdfFormat.TURTLE, ".trig": ox.RdfFormat.TRIG}
# A number that is none is told as a fault with its file and line; rdflib would log a traceback too.
logging.getLogger("rdflib.term").addFilter(
    lambda record: not str(record.msg).startswith("Failed to convert Literal")
)

_XSD_STRING: Final = "http://www.w3.org/2001/XMLSchema#string"
_NOBODY: Final = ("",)


@dataclass(slots=True)
class Facts:
    """Every asserted triple with the sources (named graphs) that assert it.

    `sources[triple]` is sorted; the ontology's own graph counts as a source of its axioms. Triples
    come in the order in which the files state them first.
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
        line = None if isinstance(owner, BNode) else line_of(str(owner), self.texts.get(file, ""))
        return file if line is None else f"{file}, line {line}"


class _Terms:
    """One object for each distinct term of all files, and for each distinct list of sources."""

    def __init__(self) -> None:
        # The words of the shared vocabularies are those that the code names, so that looking one up
        # is settled by its being the same object.
        self._iris: dict[URIRef, URIRef] = {
            word: word
            for space in (OWL, PROV, RDF, RDFS, SH, SKOS, XSD)
            for word in dir(space)
            if isinstance(word, URIRef)
        }
        self._literals: dict[ox.Literal, Literal] = {}
        self._sources: dict[_Sources, _Sources] = {}

    def iri(self, text: str) -> URIRef:
        # The parser has refused every IRI that is none; the check of rdflib's own costs more than
        # all the rest of the reading.
        made = str.__new__(URIRef, text)
        return self._iris.setdefault(made, made)

    def literal(self, node: ox.Literal) -> Literal:
        made = self._literals.get(node)
        if made is None:
            kind = node.datatype.value
            if node.language:
                made = Literal(node.value, lang=node.language)
            else:
                datatype = None if kind == _XSD_STRING else self.iri(kind)
                made = Literal(node.value, datatype=datatype, normalize=False)
            self._literals[node] = made
        return made

    def sources(self, *names: str) -> _Sources:
        made = tuple(sorted(set(names)))
        return self._sources.setdefault(made, made)


def read_facts(files: Iterable[TextFile]) -> Facts:
    """Parse all files.

    Raises:
        CatalogueFileError: a file does not parse; names file, line and what was found.
    """
    facts, terms = Facts(), _Terms()
    with without_collecting():
        for at, file in enumerate(files):
            facts.texts[file.name] = file.text
            _read(file, at, facts, terms)
    return facts


def _read(file: TextFile, at: int, facts: Facts, terms: _Terms) -> None:
    """Add what one file states. Everything here happens millions of times."""
    sources, places, owners = facts.sources, facts.files, facts.owners
    known: dict[_Term, Node] = {}
    blanks = 0
    said: dict[object, _Sources] = {}
    last: Node | None = None

    def met(node: _Term) -> Node:
        nonlocal blanks
        term: Node
        if isinstance(node, ox.NamedNode):
            term = terms.iri(node.value)
        elif isinstance(node, ox.BlankNode):
            term = BNode(f"b{at:04}x{blanks:06}")
            blanks += 1
        else:
            assert isinstance(node, ox.Literal), "quoted triples are not part of Turtle 1.1"
            term = terms.literal(node)
        known[node] = term
        return term

    try:
        for subject, predicate, obj, graph in _quads(file):
            s = known.get(subject) or met(subject)
            p = known.get(predicate) or met(predicate)
            o = known.get(obj)
            if o is None:  # a text may be empty, and is a term all the same
                o = met(obj)
            source = said.get(graph)
            if source is None:
                named = graph.value if isinstance(graph, ox.NamedNode) else ""
                source = terms.sources(named or (str(ONTOLOGY_GRAPH) if file.ontology else ""))
                said[graph] = source
            triple = (s, p, o)
            had = sources.setdefault(triple, source)
            if had is not source:
                sources[triple] = terms.sources(*had, *source)
            if s is not last:
                last = s
                places.setdefault(s, file.name)
            if type(o) is BNode:
                owners.setdefault(o, s)
            if source == _NOBODY:
                facts.unsourced.append((triple, file.name))
    except SyntaxError as error:
        raise CatalogueFileError(file.name, error.lineno, _plain(error, file.text)) from None


def _quads(file: TextFile) -> Iterable[tuple[_Term, _Term, _Term, object]]:
    suffix = file.name[file.name.rfind(".") :]
    return ox.parse(file.text, format=_FORMATS[suffix])


def _plain(error: SyntaxError, text: str) -> str:
    """The parser's words without its own account of the place, and what stands there."""
    why = re.sub(r"^Parser error .*?: ", "", str(error.msg), flags=re.DOTALL)
    lines = text.splitlines()
    at = (error.lineno or 1) - 1
    around = lines[at][(error.offset or 1) - 1 :].strip()[:40] if at < len(lines) else ""
    return f"{why} (near “{around}”)" if around else f"{why} at the end of the file"
