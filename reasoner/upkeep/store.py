"""A catalogue in an embedded store: every edit is one transaction together with its history.

A store is a folder; its `quads` are an Oxigraph database. Once a catalogue is in a store, the store
is the one place of truth: text is exported from it, and edits reach it as change sets.
One process writes at a time (the database holds a lock, and a killed process lets go of it);
any number read, each the state that was last accepted when it opened.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

import pyoxigraph as ox
from rdflib import URIRef

from ..errors import KnockonError
from .changes import (
    ChangeConflicts,
    ChangeRefused,
    ChangeSet,
    Key,
    conflicts,
    draft,
    effective,
)
from .durable import sync_folder
from .history import Entry, change_of, entries, entry_quads, net, state_quad
from .layout import ABOUT, FORMAT, about, is_fact, packed, unpacked, update_text, word
from .quads import NotAStatement, Quad, moved, to_store, version_of, whole

QUADS: Final = "quads"
"""The database's folder inside a store's folder."""

_SHORTEST = 6
_PATIENCE = 10.0
_PAUSE = 0.05


class StoreError(KnockonError):
    """A store that cannot be opened, or is asked for what it does not have."""


class StoreBusy(StoreError):
    """Another process is writing to the store."""


class StoreFormat(StoreError):
    """The store was laid out by an older or a newer knockon."""


@dataclass(frozen=True, slots=True)
class Beginning:
    """How a store came to be."""

    who: str
    when: str
    why: str
    version: str


def is_store(folder: Path) -> bool:
    """Whether a folder is a store."""
    return (folder / QUADS / "CURRENT").is_file()


class CatalogueStore:
    """An open store; made by `reading` and `writing`."""

    def __init__(self, folder: Path, store: ox.Store) -> None:
        self.folder = folder
        self._store = store
        if not self._about("format"):
            raise StoreError(f"{folder} is not a store of knockon; it says nothing of itself")
        found = int(self._about("format"))
        if found < FORMAT:
            raise StoreFormat(
                f"{folder} is laid out as format {found}, and this knockon reads {FORMAT}; "
                f"run: knockon store upgrade {folder}"
            )
        if found > FORMAT:
            raise StoreFormat(
                f"{folder} is laid out as format {found} by a newer knockon; "
                f"this one reads {FORMAT}"
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

    def history(self) -> tuple[Entry, ...]:
        """What was accepted, oldest first."""
        return entries(self._store)

    def change(self, entry: Entry) -> ChangeSet:
        """The change set of an entry, with its statements."""
        return change_of(self._store, entry)

    def entry(self, name: str) -> Entry:
        """The entry with this number, or whose id begins so.

        Raises:
            StoreError: there is none, or more than one.
        """
        known = self.history()
        for each in known:
            if name in (str(each.number), each.id):
                return each
        near = [e for e in known if len(name) >= 4 and e.id.startswith(name)]
        if len(near) == 1:
            return near[0]
        have = f"there are 1 to {len(known)}" if known else "nothing was accepted yet"
        raise StoreError(f"no change is called “{name}”; {have}")

    def versions(self) -> tuple[str, ...]:
        """The first version, then the one after each entry."""
        return (self.beginning.version, *(entry.after for entry in self.history()))

    def point(self, name: str) -> int:
        """After how many entries the store was as `name` says: a number, `now`, or a version.

        Raises:
            StoreError: there was no such version, or several begin so.
        """
        known = self.versions()
        if name == "now":
            return len(known) - 1
        if name.isdecimal() and len(name) < _SHORTEST and int(name) < len(known):
            return int(name)
        near = {v for v in known if len(name) >= _SHORTEST and v.startswith(name)}
        if len(near) == 1:
            return max(i for i, v in enumerate(known) if v in near)
        raise StoreError(
            f"no version is called “{name}”; say a number from 0 (as the store began) to "
            f"{len(known) - 1}, now, or the first {_SHORTEST} digits of a version"
        )

    def between(self, first: int, last: int) -> tuple[frozenset[Quad], frozenset[Quad]]:
        """What was stated after `last` entries and not after `first`, and the other way round."""
        low, high = sorted((first, last))
        steps = self.history()[low:high]
        added, removed = net(self.change(entry) for entry in steps)
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
        known = self.versions()
        if change.base not in known:
            raise ChangeRefused(
                f"the edit was made on version {change.base[:12]}, which this store never had"
            )
        at = max(i for i, version in enumerate(known) if version == change.base)
        added, removed = self.between(at, len(known) - 1)
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
        history = self.history()
        for entry in history:
            if entry.id == change.id:
                raise ChangeRefused(f"change {change.id} is accepted already, as {entry.number}")
        left, _ = self.conflicts_of(change)
        before = self.version
        after = moved(before, left.added, left.removed)
        left = replace(left, state="accepted")
        made = Entry(
            number=len(history) + 1,
            id=left.id,
            who=left.who,
            when=left.when,
            why=left.why,
            source=left.source,
            state=left.state,
            undoes=left.undoes,
            before=before,
            after=after,
            added=len(left.added),
            removed=len(left.removed),
        )
        gone, new = _states_after(made, history)
        self._store.update(
            update_text(
                added=[
                    *map(packed, left.added),
                    *entry_quads(made, left),
                    *new,
                    *about(version=after),
                ],
                removed=[*map(packed, left.removed), *gone, *about(version=before)],
            )
        )
        self._store.flush()
        return made

    def undo(self, name: str, who: str, when: datetime, why: str) -> Entry:
        """Take back an accepted change, as a change of its own.

        Raises:
            ChangeConflicts: later changes touched the same places.
            ChangeRefused: it is undone already.
            StoreError: there is no such change.
        """
        entry = self.entry(name)
        if entry.state == "undone":
            raise ChangeRefused(f"change {entry.number} is undone already")
        change = self.change(entry)
        return self.accept(
            draft(who, when, why, entry.source, change.removed, change.added, entry.after, entry.id)
        )

    def _about(self, name: str) -> str:
        found = self._store.quads_for_pattern(ABOUT, word(name), None, ABOUT)
        return next((q.object.value for q in found if isinstance(q.object, ox.Literal)), "")

    def _at(self, keys: Iterable[Key]) -> frozenset[Quad]:
        return frozenset(
            unpacked(quad)
            for s, p in keys
            for quad in self._store.quads_for_pattern(_iri(s), _iri(p), None, None)
            if is_fact(quad)
        )


def _iri(node: URIRef) -> ox.NamedNode:
    found = to_store(node)
    assert isinstance(found, ox.NamedNode)
    return found


def _states_after(made: Entry, history: tuple[Entry, ...]) -> tuple[list[ox.Quad], list[ox.Quad]]:
    """How the states of earlier entries change: undone, or in force again."""
    gone, new = [], []
    state, target = "undone", made.undoes
    while target:
        entry = next((e for e in history if e.id == target), None)
        if entry is None:
            break
        gone.append(state_quad(entry.number, entry.state))
        new.append(state_quad(entry.number, state))
        state = "accepted" if state == "undone" else "undone"
        target = entry.undoes
    return gone, new


def create(folder: Path, quads: Collection[Quad], who: str, when: str, why: str) -> str:
    """A new store that begins with these facts; its version. It is there whole or not at all.

    Raises:
        StoreError: something is at `folder` already.
    """
    version = version_of(quads)
    said = {"begunBy": who, "begunWhen": when, "begunWhy": why, "begunAs": version}
    kept = [*map(packed, quads), *about(format=str(FORMAT), version=version, **said)]
    build_store(folder, kept)
    return version


def build_store(folder: Path, kept: Iterable[ox.Quad]) -> None:
    """A new store's folder from all that it keeps. Raises as `create`."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(f"{folder} is there already; name a folder that is new or empty")
    folder.parent.mkdir(parents=True, exist_ok=True)
    made = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}."))
    try:
        store = ox.Store(str(made / QUADS))
        store.bulk_extend(kept)
        store.flush()
        del store
        made.chmod(0o755)
        os.replace(made, folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    sync_folder(folder.parent)


@contextmanager
def writing(folder: Path, patience: float = _PATIENCE) -> Iterator[CatalogueStore]:
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


def open_to_write(folder: Path, patience: float = _PATIENCE) -> ox.Store:
    """The database itself. Raises as `writing`."""
    _must_be_store(folder)
    until = time.monotonic() + patience
    while True:
        try:
            return ox.Store(str(folder / QUADS))
        except OSError as error:
            if "lock" not in str(error).lower():
                raise StoreError(f"{folder} cannot be opened to write: {error}") from None
            if time.monotonic() >= until:
                raise StoreBusy(
                    f"another process is writing to {folder}; try again when it is done"
                ) from None
        time.sleep(_PAUSE)


@contextmanager
def reading(folder: Path) -> Iterator[CatalogueStore]:
    """Open a store as it was last accepted; nothing can be written, and nobody is kept waiting.

    Raises:
        StoreError: it is no store, or cannot be opened.
    """
    _must_be_store(folder)
    kept = CatalogueStore(folder, _open_to_read(folder))
    try:
        yield kept
    finally:
        del kept._store


def _open_to_read(folder: Path) -> ox.Store:
    # While another process writes, a file may be replaced between being listed and being opened.
    for again in range(20):
        try:
            return ox.Store.read_only(str(folder / QUADS))
        except OSError as error:
            if again == 19:
                raise StoreError(f"{folder} cannot be opened: {error}") from None
        time.sleep(_PAUSE)
    raise AssertionError("unreachable")


def _must_be_store(folder: Path) -> None:
    if not is_store(folder):
        raise StoreError(f"{folder} is not a store; make one with: knockon store init {folder}")
