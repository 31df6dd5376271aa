"""Statements as tables, for checks that look at one property of many things at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType
from typing import Final, TypeAlias

from rdflib import RDF, RDFS
from rdflib.term import BNode, Node

from .grouped import Grouped
from .reached import reached

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

    def add(self, statements: Grouped) -> None:
        """Take in statements, none of which is there already."""
        self._above.clear()
        for predicate, table in self._tables.items():
            for s, _, o in statements.get(predicate, ()):
                had = table.get(s)
                if had is None:
                    table[s] = [o]
                else:
                    had.append(o)
        types = self._tables[RDF.type]
        for predicate, ranges in self._ranges.items():
            for _, _, o in statements.get(predicate, ()):
                if isinstance(o, BNode):
                    kinds = types.setdefault(o, [])
                    kinds += [kind for kind in ranges if kind not in kinds]

    def remove(self, statements: Grouped) -> None:
        """Take out statements that are there. A record that nobody uses is nothing any more."""
        self._above.clear()
        for predicate, table in self._tables.items():
            gone: dict[Node, list[Node]] = {}
            for s, _, o in statements.get(predicate, ()):
                gone.setdefault(s, []).append(o)
            for s, objects in gone.items():
                left = list((Counter(table.get(s, ())) - Counter(objects)).elements())
                if left:
                    table[s] = left
                else:
                    table.pop(s, None)
        for predicate in self._ranges:
            for _, _, o in statements.get(predicate, ()):
                if isinstance(o, BNode):
                    self._tables[RDF.type].pop(o, None)

    def table(self, predicate: Node) -> Mapping[Node, list[Node]]:
        """Who has what under a property that was asked for at the start."""
        return self._tables.get(predicate, _NOTHING)

    def types(self) -> Table:
        """What everything is; for who keeps no table of that himself."""
        return self._tables[RDF.type]

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
            above = reached([kind], lambda here: self.objects(here, RDFS.subClassOf))
            found = self._above[kind] = frozenset(above)
        return found

    def is_a(self, node: Node, kind: Node) -> bool:
        """Whether a thing is of a class, or of one below it."""
        return any(kind in self.kinds_above(t) for t in self._tables[RDF.type].get(node, ()))
