"""A catalogue in an embedded store: every edit is one transaction together with its history.

A store is a folder; its `quads` are an Oxigraph database. Once a catalogue is in a store, the store
is the one place of truth: text is exported from it, and edits reach it as change sets.
One process writes at a time (the database holds a lock, and a killed process lets go of it);
any number read, each the state that was last accepted when it opened.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pyoxigraph as ox
from rdflib import URIRef

from ..files import TextFile, is_store
from .changes import (
    ChangeConflicts,
    ChangeRefused,
    ChangeSet,
    Key,
    State,
    conflicts,
    draft,
    effective,
)
from .history import (
    Entry,
    all_numbers,
    change_at,
    entry_at,
    entry_of,
    entry_quads,
    net,
    numbers_where,
    state_quad,
)
from .layout import FORMAT, about, format_of, is_fact, packed, said_of_itself, unpacked, update_text
from .opening import (
    PATIENCE,
    NoSuch,
    StoreError,
    StoreFormat,
    build_store,
    open_to_read,
    open_to_write,
)
from .quads import NotAStatement, Quad, is_record, moved, to_store, version_of, whole
from .text import quads_in, text_files

_SHORTEST = 6
_TRIES = 5


@dataclass(frozen=True, slots=True)
class Beginning:
    """How a store came to be."""

    who: str
    when: str
    why: str
    version: str


class CatalogueStore:
    """An open store; made by `reading` and `writing`."""

    def __init__(self, folder: Path, store: ox.Store) -> None:
        self.folder = folder
        self._store = store
        found = format_of(store)
        if found == 0:
            raise StoreError(folder, "not a store of knockon; it says nothing of itself")
        if found < FORMAT:
            raise StoreFormat(
                folder,
                f"laid out as format {found}, and this knockon reads {FORMAT}; "
                f"run: knockon store upgrade --data {folder}",
            )
        if found > FORMAT:
            raise StoreFormat(
                folder,
                f"laid out as format {found} by a newer knockon; this one reads {FORMAT}",
            )

    @property
    def version(self) -> str:
        """The version of what is stated now; see `version_of`."""
        return self._about("version")

    @property
    def beginning(self) -> Beginning:
        """By whom, when and from what the store was made."""
        return Beginning(*(self._about(w) for w in ("begunBy", "begunWhen", "begunWhy", "begunAs")))

    def quads(self) -> Iterator[Quad]:
        """Every fact, in no order."""
        return (unpacked(q) for q in self._store if is_fact(q))

    @property
    def edits(self) -> int:
        """How many edits were accepted."""
        return int(self._about("edits"))

    def history(self) -> tuple[Entry, ...]:
        """What was accepted, oldest first."""
        return tuple(entry_at(self._store, number) for number in all_numbers(self._store))

    def change(self, entry: Entry) -> ChangeSet:
        """The change set of an entry, with its statements."""
        return change_at(self._store, entry.number)

    def entry(self, name: str) -> Entry:
        """The entry with this number, or whose id begins so.

        Raises:
            NoSuch: there is none, or more than one.
        """
        edits = self.edits
        near = numbers_where(self._store, "id", name)
        if not near and name.isdecimal() and 0 < int(name) <= edits:
            near = [int(name)]
        if not near and len(name) >= _SHORTEST:
            near = [e.number for e in self.history() if e.id.startswith(name)]
        if len(near) == 1:
            return entry_at(self._store, near[0])
        have = f"there are 1 to {edits}" if edits else "nothing was accepted yet"
        raise NoSuch(self.folder, f"no change is called “{name}”; {have}")

    def point(self, name: str) -> int:
        """After how many entries the store was as `name` says: a number, `now`, or a version.

        Where the store came back to an earlier version, the latest time counts.

        Raises:
            NoSuch: there was no such version, or several begin so.
        """
        edits = self.edits
        if name == "now":
            return edits
        if name.isdecimal() and int(name) <= edits:
            return int(name)
        exact = self._points(name)
        if exact:
            return exact[-1]
        known = [self.beginning.version, *(entry.after for entry in self.history())]
        near = {v for v in known if len(name) >= _SHORTEST and v.startswith(name)}
        if len(near) == 1:
            return max(i for i, v in enumerate(known) if v in near)
        raise NoSuch(
            self.folder,
            f"no version is called “{name}”; say a number from 0 (as the store began) to "
            f"{edits}, now, or the first {_SHORTEST} digits of a version",
        )

    def version_at(self, point: int) -> str:
        """The version after so many entries."""
        return entry_at(self._store, point).after if point else self.beginning.version

    def _points(self, version: str) -> list[int]:
        first = [0] if version == self.beginning.version else []
        return first + numbers_where(self._store, "after", version)

    def between(self, first: int, last: int) -> tuple[frozenset[Quad], frozenset[Quad]]:
        """What was stated after `last` entries and not after `first`, and the other way round."""
        low, high = sorted((first, last))
        added, removed = net(change_at(self._store, n) for n in range(low + 1, high + 1))
        return (added, removed) if first <= last else (removed, added)

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
        self._store.update(
            update_text(
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
        )
        self._store.flush()
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

    def _about(self, name: str) -> str:
        return said_of_itself(self._store, name)

    def _at(self, keys: Iterable[Key]) -> frozenset[Quad]:
        """What is stated at these places, with the records in it."""
        found: set[Quad] = set()
        todo = [
            self._store.quads_for_pattern(_iri(s), _iri(p), None, None) for s, p in sorted(keys)
        ]
        for quads in todo:  # grows while it is walked
            for quad in filter(is_fact, quads):
                found.add(unpacked(quad))
                if isinstance(quad.object, ox.NamedNode) and is_record(URIRef(quad.object.value)):
                    todo.append(self._store.quads_for_pattern(quad.object, None, None, None))
        return frozenset(found)


def _iri(node: URIRef) -> ox.NamedNode:
    found = to_store(node)
    assert isinstance(found, ox.NamedNode)
    return found


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
    """Open a store to edit it; only one process can at a time.

    Raises:
        StoreBusy: another still writes after `patience` seconds.
        StoreError: it is no store, or cannot be opened.
    """
    store = open_to_write(folder, patience)
    kept = CatalogueStore(folder, store)
    del store
    try:
        yield kept
    finally:
        del kept._store  # lets go of the lock


@contextmanager
def reading(folder: Path) -> Iterator[CatalogueStore]:
    """Open a store as it was last accepted; nothing can be written, and nobody is kept waiting.

    Raises:
        StoreError: it is no store, or cannot be opened.
    """
    kept = CatalogueStore(folder, open_to_read(folder))
    try:
        yield kept
    finally:
        del kept._store


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
    for again in range(_TRIES):
        try:
            with reading(folder) as store:
                return store.version, frozenset(store.quads())
        except OSError as error:  # a writer tidied a file away while it was read
            if again == _TRIES - 1:
                raise StoreError(folder, f"cannot be read: {error}") from None
    raise AssertionError("unreachable")


def stored_version(folder: Path) -> str:
    """The version of what a store states. Raises `StoreError`."""
    with reading(folder) as store:
        return store.version


def stored_files(folder: Path) -> tuple[str, tuple[TextFile, ...]]:
    """The version of what a store states, and that as text files. Raises `StoreError`."""
    version, quads = stated_in(folder)
    return version, text_files(quads, folder.resolve().name)
