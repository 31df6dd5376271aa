"""How a store lays its statements out for Oxigraph: facts, history, and a page about itself.

Facts stand in the graphs of their sources. Oxigraph rewrites numbers and dates (`100.0` comes back
as `100`), and a catalogue keeps them as they were stated; so typed values are kept under stand-in
types that the engine leaves alone. Everything the store says of itself is in graphs of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Final, Protocol

import pyoxigraph as ox
from rdflib import Literal, URIRef

from .quads import KEPT_GRAPHS, Quad, from_store, to_store

FORMAT: Final = 2
"""The layout that this code writes; `upgrade.py` brings older ones here."""

WORDS: Final = f"{KEPT_GRAPHS}ns#"
ABOUT: Final = ox.NamedNode(f"{KEPT_GRAPHS}about")
HISTORY: Final = ox.NamedNode(f"{KEPT_GRAPHS}history")

_CHANGES = f"{KEPT_GRAPHS}change/"
_XSD = "http://www.w3.org/2001/XMLSchema#"
_STAND_IN = f"{KEPT_GRAPHS}as-stated#"


class Asked(Protocol):
    """Whatever keeps statements and finds those of one graph by their terms."""

    def quads_for_pattern(
        self,
        subject: ox.NamedNode | None,
        predicate: ox.NamedNode | None,
        object: ox.NamedNode | ox.Literal | None,  # noqa: A002
        graph_name: ox.NamedNode,
    ) -> Iterator[ox.Quad]:
        """The statements of one graph that are so; None stands for any term."""
        ...


def word(name: str) -> ox.NamedNode:
    """One of the store's own properties."""
    return ox.NamedNode(WORDS + name)


def change_node(number: int) -> ox.NamedNode:
    """The node of the history's entry `number`."""
    return ox.NamedNode(f"{_CHANGES}{number}")


def number_of(node: object) -> int:
    """The number in a node of the history; 0 for any other node."""
    text = node.value.removeprefix(_CHANGES) if isinstance(node, ox.NamedNode) else ""
    return int(text) if text.isdecimal() else 0


def said_of_itself(store: Asked, name: str) -> str:
    """What a store says of itself under this name, or ""."""
    found = store.quads_for_pattern(ABOUT, word(name), None, ABOUT)
    return next((q.object.value for q in found if isinstance(q.object, ox.Literal)), "")


def format_of(store: Asked) -> int:
    """The number of a store's layout; 0 if it is no store of ours."""
    text = said_of_itself(store, "format")
    return int(text) if text.isdecimal() else 0


def about(**said: str) -> list[ox.Quad]:
    """Statements of the store about itself."""
    return [ox.Quad(ABOUT, word(name), ox.Literal(text), ABOUT) for name, text in said.items()]


def packed(quad: Quad) -> ox.Quad:
    """A fact as it is kept.

    >>> from rdflib import XSD
    >>> a = URIRef("https://knockon.example/ns#a")
    >>> fact = (a, a, Literal("100.0", datatype=XSD.decimal, normalize=False), a)
    >>> unpacked(packed(fact)) == fact
    True
    """
    s, p, o, g = quad
    obj = to_store(o)
    if isinstance(obj, ox.Literal) and not obj.language:
        kind = obj.datatype.value
        if kind.startswith(_XSD) and kind != f"{_XSD}string":
            obj = ox.Literal(obj.value, datatype=_stand_in(kind))
    subject, predicate, graph = to_store(s), to_store(p), to_store(g)
    assert isinstance(subject, ox.NamedNode)
    assert isinstance(predicate, ox.NamedNode)
    assert isinstance(graph, ox.NamedNode)
    return ox.Quad(subject, predicate, obj, graph)


@lru_cache(maxsize=64)
def _stand_in(kind: str) -> ox.NamedNode:
    return ox.NamedNode(_STAND_IN + kind.removeprefix(_XSD))


def unpacked(quad: ox.Quad) -> Quad:
    """A kept fact as it was stated."""
    obj = from_store(quad.object)
    if isinstance(obj, Literal) and obj.datatype and obj.datatype.startswith(_STAND_IN):
        datatype = URIRef(_XSD + obj.datatype.removeprefix(_STAND_IN))
        obj = Literal(str(obj), datatype=datatype, normalize=False)
    assert isinstance(obj, (URIRef, Literal))
    assert isinstance(quad.graph_name, ox.NamedNode)
    terms = from_store(quad.subject), from_store(quad.predicate)
    return URIRef(terms[0]), URIRef(terms[1]), obj, URIRef(quad.graph_name.value)


def is_fact(quad: ox.Quad) -> bool:
    """Whether a kept statement is a fact, and not the store's own."""
    graph = quad.graph_name
    return isinstance(graph, ox.NamedNode) and not graph.value.startswith(KEPT_GRAPHS)


def update_text(added: Iterable[ox.Quad], removed: Iterable[ox.Quad]) -> str:
    """One SPARQL update, hence one transaction: what goes, then what comes."""
    halves = (("DELETE", removed), ("INSERT", added))
    return " ;\n".join(
        f"{verb} DATA {{\n{body}}}"
        for verb, quads in halves
        if (body := "".join(f"GRAPH {q.graph_name} {{ {_spo(q)} }}\n" for q in quads))
    )


def _spo(quad: ox.Quad) -> str:
    return f"{quad.subject} {quad.predicate} {quad.object}"
