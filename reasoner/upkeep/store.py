"""A catalogue in a store: every edit is one transaction together with its history.

A store is a folder, whose `quads` are an Oxigraph database, or a SPARQL endpoint. Once a catalogue
is in a store, the store is the one place of truth: text is exported from it, and edits reach it as
change sets. In a folder one process writes at a time, or any number read; each waits for the others
for a while. How writers on an endpoint keep apart stands in `endpoint_shelf.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import pyoxigraph as ox

from ..errors import KnockonError
from ..files import TextFile, is_store
from .changes import (
    ChangeConflicts,
    ChangeRefused,
    ChangeSet,
    State,
    conflicts,
    draft,
    effective,
)
from .history import Entry, change_at, entry_at, entry_of, entry_quads, numbers_where, state_quad
from .kept import KeptCatalogue
from .layout import FORMAT, about, packed
from .opening import PATIENCE, StoreBusy, StoreError, build_store, opened
from .quads import NotAStatement, Quad, moved, version_of, whole
from .shelf import Outrun
from .text import quads_in, text_files

T = TypeVar("T")

_TRIES = 5


class CatalogueStore(KeptCatalogue):
    """An open store, to be asked and edited; made by `reading` and `writing`."""

    def conflicts_of(self, change: ChangeSet) -> tuple[ChangeSet, Collection[Quad]]:
        """The change as it would be accepted now, and what is stated now at the places it touches.

        Raises:
            ChangeConflicts: others changed the same places since the change's base.
            ChangeRefused: the base is unknown here, or all of the change is so already.
            NotAStatement: a record is changed in part.
        """
        for quads in (change.added, change.removed):
            if whole(quads) != set(quads):
                raise NotAStatement("the change set's records do not have the names they should")
        points = self._points(change.base)
        if not points:
            raise ChangeRefused(
                f"the edit was made on version {change.base[:12]}, which this store never had"
            )
        added, removed = self.between(points[-1], self.edits)
        now = self._at(change.touched)
        met = conflicts(change, now, added, removed)
        if met:
            raise ChangeConflicts(
                f"{len(met)} places were changed by others since version {change.base[:12]}; "
                "nothing was accepted.",
                met,
            )
        left = effective(change, now)
        if not left.added and not left.removed:
            raise ChangeRefused("all that the edit says is so already; nothing was accepted")
        return left, now

    def accept(self, change: ChangeSet) -> Entry:
        """Make an edit part of the catalogue, whole, with its record; it lasts from then on.

        An edit made on an older version is merged, unless others touched the same places.

        Raises:
            ChangeConflicts, ChangeRefused, NotAStatement: nothing was changed; see `conflicts_of`.
        """
        have = numbers_where(self._store, "id", change.id)
        if have:
            raise ChangeRefused(f"change {change.id} is accepted already, as number {have[0]}")
        self._must_undo_what_it_says(change)
        left, _ = self.conflicts_of(change)
        before, edits = self.version, self.edits
        after = moved(before, left.added, left.removed)
        made = entry_of(edits + 1, left, before, after, "accepted")
        old, new = self._states_after(made)
        self._store.change(
            added=[
                *map(packed, left.added),
                *entry_quads(made, left),
                *new,
                *about(version=after, edits=str(edits + 1)),
            ],
            removed=[
                *map(packed, left.removed),
                *old,
                *about(version=before, edits=str(edits)),
            ],
        )
        return made

    def undo(self, name: str, who: str, when: datetime, why: str) -> Entry:
        """Take back an accepted change, as a change of its own.

        Raises:
            ChangeConflicts: later changes touched the same places.
            ChangeRefused: it is undone already.
            NoSuch: there is no such change.
        """
        entry = self.entry(name)
        if entry.state == "undone":
            raise ChangeRefused(f"change {entry.number} is undone already")
        change = self.change(entry)
        return self.accept(
            draft(who, when, why, entry.source, change.removed, change.added, entry.after, entry.id)
        )

    def _must_undo_what_it_says(self, change: ChangeSet) -> None:
        found = numbers_where(self._store, "id", change.undoes) if change.undoes else []
        if found:
            target = change_at(self._store, found[0])
            if (target.added, target.removed) != (change.removed, change.added):
                raise ChangeRefused(f"the edit says that it takes back {target.id}, and does not")

    def _states_after(self, made: Entry) -> tuple[list[ox.Quad], list[ox.Quad]]:
        """How the states of earlier entries turn: what is undone, and what is in force again."""
        old: list[ox.Quad] = []
        new: list[ox.Quad] = []
        state: State = "undone"
        target = made.undoes
        while found := numbers_where(self._store, "id", target) if target else []:
            entry = entry_at(self._store, found[0])
            old.append(state_quad(entry.number, entry.state))
            new.append(state_quad(entry.number, state))
            state = "accepted" if state == "undone" else "undone"
            target = entry.undoes
        return old, new


def create(folder: Path, quads: Collection[Quad], who: str, when: str, why: str) -> str:
    """A new store that begins with these facts; its version. It is there whole or not at all.

    Raises:
        StoreError: something is at `folder` already.
    """
    version = version_of(quads)
    said = {"begunBy": who, "begunWhen": when, "begunWhy": why, "begunAs": version}
    kept = [*map(packed, quads), *about(format=str(FORMAT), version=version, edits="0", **said)]
    build_store(folder, kept)
    return version


@contextmanager
def writing(folder: Path, patience: float = PATIENCE) -> Iterator[CatalogueStore]:
    """Open a store to edit it, alone; keep it no longer than the edit takes.

    Raises:
        StoreBusy: others still use it after `patience` seconds.
        StoreError: it is no store, or cannot be opened.
    """
    with _open(folder, True, patience) as store:
        yield store


@contextmanager
def reading(folder: Path, patience: float = PATIENCE) -> Iterator[CatalogueStore]:
    """Open a store as it was last accepted, among other readers; nothing can be written.

    Raises:
        StoreBusy: another still writes after `patience` seconds.
        StoreError: it is no store, or cannot be opened.
    """
    with _open(folder, False, patience) as store:
        yield store


@contextmanager
def _open(folder: Path, to_write: bool, patience: float) -> Iterator[CatalogueStore]:
    with opened(folder, to_write, patience) as store:
        yield CatalogueStore(folder, store)


def read(folder: Path, ask: Callable[[CatalogueStore], T]) -> T:
    """What `ask` finds in a store as it was last accepted. Raises as `reading`.

    An endpoint is asked again if it was edited meanwhile, so that nobody sees half of two versions.
    """
    for _ in range(_TRIES):
        with reading(folder) as store:
            try:
                found = ask(store)
            except KnockonError:
                if store.settled():
                    raise
                continue
            if store.settled():
                return found
    raise StoreBusy(folder, "others keep changing it while it is read; try again")


def write(folder: Path, act: Callable[[CatalogueStore], T]) -> T:
    """What `act` does to a store, done again if another editor of an endpoint was quicker.

    Raises as `writing` and `CatalogueStore.accept`.
    """
    for _ in range(_TRIES):
        with suppress(Outrun), writing(folder) as store:
            return act(store)
    raise Outrun("others keep changing the catalogue; nothing was accepted, try again")


def stated_in(folder: Path) -> tuple[str, frozenset[Quad]]:
    """The version of what a catalogue states, and all of it; the catalogue is text or a store.

    The version is the one that a change set names as its base.

    Raises:
        CatalogueFileError: a file or the store cannot be read.
        NotAStatement: text states something outside any source, or a record is not a value.
    """
    if not is_store(folder):
        quads = quads_in(folder)
        return version_of(quads), quads
    version, quads = read(folder, lambda store: (store.version, frozenset(store.quads())))
    if version_of(quads) != version:
        raise StoreError(folder, "its facts are not those of its version; restore the last backup")
    return version, quads


def stored_version(folder: Path) -> str:
    """The version of what a store states. Raises `StoreError`."""
    return read(folder, lambda store: store.version)


def stored_files(folder: Path) -> tuple[str, tuple[TextFile, ...]]:
    """The version of what a store states, and that as text files. Raises `StoreError`."""
    version, quads = stated_in(folder)
    return version, text_files(quads, folder.resolve().name)
