"""What a store asks of whatever keeps its statements: an embedded database, or an endpoint."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol, TypeAlias

import pyoxigraph as ox

from .changes import ChangeRefused
from .layout import Asked, is_fact, update_text

Place: TypeAlias = tuple[ox.NamedNode, ox.NamedNode | None]
"""A subject, and one of its properties or all of them."""


class Outrun(ChangeRefused):
    """Another editor's change was accepted first; nothing of this one was. Look again and retry."""


class Shelf(Asked, Protocol):
    """Statements of one store, as `layout` lays them out. Not for use after `close`."""

    def facts(self) -> Iterator[ox.Quad]:
        """Every fact, in no order; nothing that the store says of itself."""
        ...

    def facts_at(self, places: Sequence[Place]) -> Iterator[ox.Quad]:
        """The facts at these places, in no order."""
        ...

    def change(self, added: Iterable[ox.Quad], removed: Iterable[ox.Quad]) -> None:
        """One transaction that lasts when this returns: what goes, then what comes.

        What goes from the store's page about itself must still stand there, or nothing is done.

        Raises:
            Outrun: it stood there no more.
            StoreError: it could not be done, or nobody can tell whether it was.
        """
        ...

    def settled(self) -> bool:
        """Whether all that was read so far is of one version."""
        ...

    def close(self) -> None:
        """Let go of it."""
        ...


class EmbeddedShelf:
    """An Oxigraph database on this machine; a lock keeps writer and readers apart."""

    def __init__(self, store: ox.Store) -> None:
        self._store: ox.Store | None = store

    @property
    def _open(self) -> ox.Store:
        assert self._store is not None, "closed"
        return self._store

    def quads_for_pattern(
        self,
        subject: ox.NamedNode | None,
        predicate: ox.NamedNode | None,
        object: ox.NamedNode | ox.Literal | None,  # noqa: A002
        graph_name: ox.NamedNode,
    ) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        return self._open.quads_for_pattern(subject, predicate, object, graph_name)

    def facts(self) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        return filter(is_fact, self._open)

    def facts_at(self, places: Sequence[Place]) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        for subject, predicate in places:
            yield from filter(is_fact, self._open.quads_for_pattern(subject, predicate, None, None))

    def change(self, added: Iterable[ox.Quad], removed: Iterable[ox.Quad]) -> None:
        """See `Shelf`."""
        self._open.update(update_text(added=added, removed=removed))
        self._open.flush()

    def settled(self) -> bool:
        """See `Shelf`."""
        return True

    def close(self) -> None:
        """See `Shelf`."""
        self._store = None
