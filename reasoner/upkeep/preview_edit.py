"""The facts and the catalogue as they would be after an edit, before it goes live."""

from __future__ import annotations

from collections.abc import Iterable

from rdflib.term import BNode, Node

from ..assemble import assemble
from ..catalogue import Catalogue
from ..closure import close
from ..reading import Facts, Triple
from ..terms import ONTOLOGY_GRAPH
from ..validate import check_shapes
from .changes import ChangeSet, apply
from .quads import Quad, is_record, quads_of, version_of

THE_EDIT = "the edit"
"""Where things are stated that no file of the catalogue states yet."""


def version_of_facts(facts: Facts) -> str:
    """The version on which an edit of `facts` is based."""
    return version_of(quads_of(facts))


def facts_after(facts: Facts, changes: Iterable[ChangeSet]) -> Facts:
    """The facts with the changes made, one after the other. What stays keeps its file and line.

    Raises:
        NotAStatement: the facts cannot be told as statements of sources.
    """
    quads = quads_of(facts)
    for change in changes:
        quads = apply(quads, change)
    return facts_of(quads, facts)


def facts_of(quads: Iterable[Quad], facts: Facts) -> Facts:
    """What `quads` state, and the vocabulary of `facts`, with the files and lines known there."""
    gathered: dict[Triple, set[str]] = {}
    found = Facts(texts=dict(facts.texts))
    for triple, sources in facts.sources.items():
        if str(ONTOLOGY_GRAPH) in sources:
            gathered.setdefault(triple, set()).add(str(ONTOLOGY_GRAPH))
            if isinstance(triple[2], BNode):
                found.owners.setdefault(triple[2], triple[0])
            found.files.setdefault(triple[0], facts.files[triple[0]])
    for s, p, o, graph in quads:
        subject, value = as_read(s), as_read(o)
        gathered.setdefault((subject, p, value), set()).add(str(graph))
        if isinstance(value, BNode):
            found.owners[value] = subject
        found.files.setdefault(subject, facts.files.get(s, THE_EDIT))
    for triple in sorted(gathered, key=lambda t: tuple(map(str, t))):
        found.sources[triple] = tuple(sorted(gathered[triple]))
    return found


def catalogue_of(facts: Facts) -> Catalogue:
    """The catalogue of `facts`, closed and checked as for going live.

    Raises:
        CatalogueRefused: the facts break a shape or contradict themselves.
    """
    derived = close(facts)
    check_shapes(facts, derived)
    return assemble(version_of_facts(facts), facts, derived)


def as_read(node: Node) -> Node:
    """A term as the reader of files gives it: a record is blank."""
    return BNode(f"r{str(node).rsplit('/', 1)[1]}") if is_record(node) else node
