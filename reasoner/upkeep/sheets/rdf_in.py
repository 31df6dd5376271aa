"""Turtle, TriG, N-Quads and JSON-LD as they are: what stands in no graph is on the file's source.

RDF/XML is not read: it may pull in other files.
"""

from __future__ import annotations

from pathlib import Path

from rdflib import URIRef

from ..changes import ChangeRefused
from ..quads import is_record
from ..text import statements_in
from .faults import FaultList, FileRefused
from .statements import Statements

RDF_SUFFIXES = (".ttl", ".trig", ".nq", ".jsonld")
"""File names' endings that stand for statements and not for sheets."""

_NOBODY = "urn:knockon:nobody"


def read_rdf(path: Path, statements: Statements, source: URIRef | None, faults: FaultList) -> int:
    """State what a file states; returns how many statements it has.

    Raises:
        FileRefused: it is not UTF-8, or does not parse (says where).
    """
    try:
        found = statements_in(path, str(source or _NOBODY))
    except ChangeRefused as error:
        raise FileRefused(path.name, str(error).removeprefix(str(path)).lstrip(":, ")) from None
    for s, p, o, graph in found:
        if str(graph) == _NOBODY:
            what = f"{path.name} states <{s}> outside any graph, and no source is named for it"
            faults.add("", 0, "", what)
            break
        if is_record(s) or is_record(o):
            statements.added[(s, p, o, graph)] = None
        else:
            statements.say(s, URIRef(str(p)), o, URIRef(str(graph)))
    return len(found)
