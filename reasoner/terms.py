"""The names of the vocabulary, in one place."""

from __future__ import annotations

from rdflib import Namespace
from rdflib.term import Node, URIRef


class _Words(Namespace):
    """A vocabulary whose terms are made once: they are asked for millions of times."""

    def __getattr__(self, name: str) -> URIRef:
        found: URIRef = super().__getattr__(name)
        if not name.startswith("_"):
            self.__dict__[name] = found
        return found


KO = _Words("https://knockon.example/ns#")
STATION = _Words("https://knockon.example/station/")
SCHEMA = _Words("https://schema.org/")
QUDT = _Words("http://qudt.org/schema/qudt/")

ONTOLOGY_GRAPH = URIRef("https://knockon.example/ns")
"""The graph that holds the vocabulary itself."""


def local_name(node: Node | str) -> str:
    """The last segment of an IRI: the name a person would say.

    >>> local_name("https://knockon.example/ns#BoltCircle")
    'BoltCircle'
    """
    text = str(node)
    for mark in ("#", "/"):
        if mark in text:
            text = text.rsplit(mark, 1)[1]
    return text


def code_name(node: Node | str) -> str:
    """A local name with its first letter small, as rules write sides: `ko:External` → `external`.

    >>> code_name("https://knockon.example/ns#SignalSource")
    'signalSource'
    """
    name = local_name(node)
    return name[:1].lower() + name[1:]
