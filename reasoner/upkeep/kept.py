"""What can be asked of a catalogue in a store: its facts, its history, and what differs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pyoxigraph as ox
from rdflib import URIRef

from ..addresses import shown
from .changes import ChangeSet, Key
from .history import Entry, all_numbers, change_at, entry_at, net, numbers_where
from .layout import FORMAT, format_of, said_of_itself, unpacked
from .opening import NoSuch, StoreError, StoreFormat
from .quads import Quad, is_record, to_store
from .shelf import Place, Shelf

_SHORTEST = 6


@dataclass(frozen=True, slots=True)
class Beginning:
    """How a store came to be."""

    who: str
    when: str
    why: str
    version: str


class KeptCatalogue:
    """An open store, to be asked."""

    def __init__(self, folder: Path, store: Shelf) -> None:
        self.folder = folder
        self._store = store
        found = format_of(store)
        if found == 0:
            raise StoreError(folder, "not a store of knockon; it says nothing of itself")
        if found < FORMAT:
            raise StoreFormat(
                folder,
                f"laid out as format {found}, and this knockon reads {FORMAT}; "
                f"run: knockon store upgrade --data {shown(folder)}",
            )
        if found > FORMAT:
            raise StoreFormat(
                folder,
                f"laid out as format {found} by a newer knockon; this one reads {FORMAT}",
            )

    def close(self) -> None:
        """Let go of the database; nothing can be asked afterwards."""
        self._store.close()

    def settled(self) -> bool:
        """Whether all that was asked so far is of one version; others may edit an endpoint."""
        return self._store.settled()

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
        return map(unpacked, self._store.facts())

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

    def _about(self, name: str) -> str:
        return said_of_itself(self._store, name)

    def _at(self, keys: Iterable[Key]) -> frozenset[Quad]:
        """What is stated at these places, with the records in it."""
        found: set[Quad] = set()
        places: list[Place] = [(_iri(s), _iri(p)) for s, p in sorted(keys)]
        while places:
            new = set(map(unpacked, self._store.facts_at(places))) - found
            found |= new
            inner = {o for _, _, o, _ in new if isinstance(o, URIRef) and is_record(o)}
            places = [(_iri(o), None) for o in sorted(inner)]
        return frozenset(found)


def _iri(node: URIRef) -> ox.NamedNode:
    found = to_store(node)
    assert isinstance(found, ox.NamedNode)
    return found
