"""Change facts in place: who states what, where a thing is stated, and whose a record is."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, MutableMapping
from typing import TypeVar

from rdflib.term import BNode, Node

from .index import FactIndex
from .index import Said as About
from .reading import Facts, Triple

K = TypeVar("K")
V = TypeVar("V")

Said = tuple[Node, Node, Node, str]
"""A statement and the IRI of the source that makes it."""


class FactsChange:
    """A change of `facts` that was made, and can be taken back.

    `added` are statements that nobody made before, `removed` those that nobody makes any more, and
    `resaid` those that are made by others than before. `things` are the named things concerned.

    `index` shows the facts as they were. `homes` remembers in which file things were stated that
    are stated no more; what is new is stated in `file`.
    """

    def __init__(
        self,
        facts: Facts,
        index: FactIndex,
        added: Iterable[Said],
        removed: Iterable[Said],
        homes: MutableMapping[Node, str],
        file: str,
    ) -> None:
        self._facts = facts
        self._sources: dict[Triple, tuple[str, ...] | None] = {}
        self._owners: dict[Node, Node | None] = {}
        self._files: dict[Node, str | None] = {}
        for s, p, o, source in removed:
            self._say((s, p, o), source, is_said=False)
        for s, p, o, source in added:
            self._say((s, p, o), source, is_said=True)
        now = facts.sources
        before = self._sources
        self.added = [t for t, by in before.items() if by is None and t in now]
        self.removed = [t for t, by in before.items() if by is not None and t not in now]
        self.resaid = [t for t, by in before.items() if by and t in now and now[t] != by]
        self.things = {facts.owner(s) for s, _, _ in (*self.removed, *self.resaid)}
        self._own()
        self.things |= {facts.owner(s) for s, _, _ in (*self.added, *self.resaid)}
        self._settle(index, homes, file)

    def undo(self) -> None:
        """Take the change back."""
        _restore(self._facts.sources, self._sources)
        _restore(self._facts.owners, self._owners)
        _restore(self._facts.files, self._files)

    def _say(self, triple: Triple, source: str, *, is_said: bool) -> None:
        held = self._facts.sources.get(triple)
        self._sources.setdefault(triple, held)
        by = {*(held or ()), source} if is_said else {*(held or ())} - {source}
        if by:
            self._facts.sources[triple] = tuple(sorted(by))
        elif held is not None:
            del self._facts.sources[triple]

    def _own(self) -> None:
        owners = self._facts.owners
        for is_said, group in ((False, self.removed), (True, self.added)):
            for s, _, o in group:
                if isinstance(o, BNode):
                    self._owners.setdefault(o, owners.get(o))
                    if is_said:
                        owners[o] = s
                    elif owners.get(o) == s:
                        del owners[o]

    def _settle(self, index: FactIndex, homes: MutableMapping[Node, str], file: str) -> None:
        files = self._facts.files
        gone: dict[Node, set[tuple[str, Node]]] = {}
        for s, p, o in self.removed:
            gone.setdefault(s, set()).add((str(p), o))
        for s, said in gone.items():
            if s in files and not _says_more(index.about(s), said):
                self._files.setdefault(s, files[s])
                homes[s] = files.pop(s)
        for s, _, _ in self.added:
            if s not in files:
                self._files.setdefault(s, None)
                files[s] = homes.get(s, file)


def _says_more(stated: About, gone: Collection[tuple[str, Node]]) -> bool:
    """Whether anything is stated of a thing but for what goes."""
    return any(
        by and (word, o) not in gone for word, objects in stated.items() for o, by in objects
    )


def _restore(table: dict[K, V], was: Mapping[K, V | None]) -> None:
    for key, value in was.items():
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value
