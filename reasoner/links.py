"""Statements as tables, for checks that look at one property of many things at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType
from typing import Final, TypeAlias

from rdflib import RDF, RDFS
from rdflib.term import BNode, Node

from .reading import Triple

Table: TypeAlias = dict[Node, list[Node]]
"""Of one property: what each subject has under it, nothing twice."""

_NOTHING: Final[Mapping[Node, list[Node]]] = MappingProxyType({})


class Links:
    """What is stated and derived under the properties that somebody will ask for.

    A record has no name to misspell, so how it is used says what it is: the object of a property
    with a range is of that kind if it is a blank node (`ranges`).
    """

    def __init__(
        self, wanted: Iterable[Node], ranges: Mapping[Node, Collection[Node]] = _NOTHING
    ) -> None:
        asked = (*wanted, RDF.type, RDFS.subClassOf)
        self._tables: dict[Node, Table] = {p: {} for p in asked}
        self._ranges = ranges
        self._above: dict[Node, frozenset[Node]] = {}

    def add(self, triples: Iterable[Triple]) -> None:
        """Take in statements, none of which is there already."""
        tables, ranges, types = self._tables, self._ranges, self._tables[RDF.type]
        self._above.clear()
        for s, p, o in triples:
            table = tables.get(p)
            if table is not None:
                had = table.get(s)
                if had is None:
                    table[s] = [o]
                else:
                    had.append(o)
            if type(o) is BNode and p in ranges:
                kinds = types.setdefault(o, [])
                kinds += [kind for kind in ranges[p] if kind not in kinds]

    def remove(self, triples: Iterable[Triple]) -> None:
        """Take out statements that are there. What a record is by its use it remains."""
        self._above.clear()
        for s, p, o in triples:
            table = self._tables.get(p)
            if table is not None and o in table.get(s, ()):
                table[s].remove(o)
                if not table[s]:
                    del table[s]

    def table(self, predicate: Node) -> Mapping[Node, list[Node]]:
        """Who has what under a property that was asked for at the start."""
        return self._tables.get(predicate, _NOTHING)

    def predicates(self) -> Collection[Node]:
        """The properties that are kept."""
        return self._tables.keys()

    def objects(self, subject: Node, predicate: Node) -> list[Node]:
        """What one thing has under a property."""
        return self.table(predicate).get(subject, [])

    def kinds_above(self, kind: Node) -> frozenset[Node]:
        """A class and every class that it is below of."""
        found = self._above.get(kind)
        if found is None:
            reached: set[Node] = set()
            waiting = [kind]
            while waiting:
                here = waiting.pop()
                if here not in reached:
                    reached.add(here)
                    waiting += self.objects(here, RDFS.subClassOf)
            found = self._above[kind] = frozenset(reached)
        return found

    def is_a(self, node: Node, kind: Node) -> bool:
        """Whether a thing is of a class, or of one below it."""
        types = self._tables[RDF.type].get(node, ())
        return kind in types or any(kind in self.kinds_above(t) for t in types)
