"""Who says something of a thing: the few links that are followed backwards when a thing changes."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from rdflib.term import Node

from .reading import Triple
from .terms import KO, SCHEMA

_WATCHED = (KO.form, KO.basedOn, KO.body, KO.ofGeneration, SCHEMA.manufacturer)


class Backward:
    """By a watched property and by what stands under it: who has it, stated or derived."""

    def __init__(self, *triples: Iterable[Triple]) -> None:
        self._tables: dict[Node, dict[object, set[Node]]] = {p: {} for p in _WATCHED}
        self._tables[SCHEMA.mpn] = {}
        for group in triples:
            self.add(group)

    def add(self, triples: Iterable[Triple]) -> None:
        """Take in statements."""
        tables = self._tables
        for s, p, o in triples:
            table = tables.get(p)
            if table is not None:
                table.setdefault(_key(p, o), set()).add(s)

    def remove(self, triples: Iterable[Triple]) -> None:
        """Take out statements that nobody makes, and that do not follow, any more."""
        for s, p, o in triples:
            table = self._tables.get(p)
            if table is not None and s in table.get(key := _key(p, o), ()):
                table[key].discard(s)
                if not table[key]:
                    del table[key]

    def who(self, predicate: Node, obj: Node) -> Collection[Node]:
        """Everything that has `obj` under a watched property."""
        return self._tables[predicate].get(obj, ())

    def numbered(self, number: str) -> Collection[Node]:
        """Everything with a part number, its letters folded."""
        return self._tables[SCHEMA.mpn].get(number, ())


def _key(predicate: Node, obj: Node) -> object:
    return str(obj).casefold() if predicate == SCHEMA.mpn else obj
