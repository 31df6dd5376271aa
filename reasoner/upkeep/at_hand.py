"""The catalogue at hand, so that edits of it are looked at without closing it anew each time."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rdflib import URIRef
from rdflib.term import Node

from ..catalogue import Catalogue
from ..facts_change import Said
from ..mating import Mating
from ..reading import Facts
from ..resident import Resident
from .changes import ChangeSet
from .findings import FindingNote, find_faults
from .preview_edit import THE_EDIT, as_read, facts_of
from .quads import Quad, is_record, moved, quads_of, version_of
from .store_facts import texts_of
from .text import file_of


class AtHand:
    """What a catalogue states and what follows from it, for one edit after the other.

    `facts` are what it was read from, `version` is the one that an edit names as its base. Threads
    may share it: they take turns.
    """

    def __init__(
        self, facts: Facts, catalogue: Catalogue, stated: tuple[str, Facts] | None = None
    ) -> None:
        """Take what a catalogue that is served already was made of.

        `stated` is the version of the facts and these with records as edits name them, where that
        is known; it belongs to this from now on.

        Raises:
            NotAStatement: the facts cannot be told as statements of sources.
        """
        if stated is None:
            quads = quads_of(facts)
            stated = version_of(quads), facts_of(quads, facts)
        self.facts, self.version = facts, stated[0]
        self._resident = Resident(self.version, stated[1], catalogue, THE_EDIT)
        self._findings: tuple[FindingNote, ...] | None = None
        self._turn = threading.Lock()

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue as it is without any edit."""
        return self._resident.catalogue

    def ready(self) -> None:
        """Work out now what the first edit would otherwise wait for."""
        with self._turn:
            self._resident.ready()

    def findings(self, mating: Mating) -> tuple[FindingNote, ...]:
        """What the check says of the catalogue, to which `mating` belongs."""
        with self._turn:
            if self._findings is None:
                self._findings = find_faults(self.facts, self.catalogue, mating)
            return self._findings

    @contextmanager
    def edited(self, changes: Iterable[ChangeSet]) -> Iterator[tuple[Facts, Catalogue]]:
        """The facts and the catalogue as they are with some edits made, one after the other.

        The facts are so only inside the block; the catalogue stays what it is.

        Raises:
            CatalogueRefused: the facts break a shape or contradict themselves.
        """
        with self._turn:
            added, removed = self._news(changes)
            version = moved(self.version, added, removed)
            with self._resident.tried(version, map(_said, added), map(_said, removed)) as after:
                yield self._resident.facts, after

    @contextmanager
    def accepting(self, change: ChangeSet, served_as: str, folder: Path) -> Iterator[Catalogue]:
        """As `edited`, for an edit that goes live inside the block: unless it fails, it stays.

        The catalogue is given under the version `served_as`; its facts are kept in the store at
        `folder`.
        """
        with self._turn:
            added, removed = self._news((change,))
            before = self.catalogue
            said = [*map(_said, added)], [*map(_said, removed)]
            after = self._resident.change(served_as, *said)
            try:
                yield after
            except BaseException:
                self._resident.change(before.version, *said[::-1])
                self._resident.take(before)
                raise
            self.version = moved(self.version, added, removed)
            self._findings = None
            self.facts = self._resident.facts
            places = self._places(added, removed, folder.resolve().name)
            self._resident.stated_in(places, texts_of(folder))

    def goes_on_from(self, catalogue: Catalogue) -> None:
        """Use a catalogue that equals the one at hand, such as its compiled file."""
        with self._turn:
            if catalogue.version == self.catalogue.version:
                self._resident.take(catalogue)

    def _places(self, added: list[Quad], removed: list[Quad], folder: str) -> dict[Node, str]:
        """In which file of the store's export each thing is stated first that is still stated."""
        things = {s for s, *_ in (*added, *removed) if not is_record(s)}
        found: dict[Node, str] = {}
        for thing in things:
            sources = self._resident.who_states(thing)
            if sources:
                found[thing] = min(file_of(thing, URIRef(source), folder) for source in sources)
        return found

    def _news(self, changes: Iterable[ChangeSet]) -> tuple[list[Quad], list[Quad]]:
        """What edits add that is not stated, and what they take away that is."""
        stated: dict[Quad, bool] = {}
        for change in changes:
            stated |= dict.fromkeys(change.removed, False)
            stated |= dict.fromkeys(change.added, True)
        added = [q for q, is_now in stated.items() if is_now and not self._states(q)]
        return added, [q for q, is_now in stated.items() if not is_now and self._states(q)]

    def _states(self, quad: Quad) -> bool:
        s, p, o, source = _said(quad)
        return source in self._resident.facts.sources.get((s, p, o), ())


def _said(quad: Quad) -> Said:
    s, p, o, source = quad
    return as_read(s), p, as_read(o), str(source)
