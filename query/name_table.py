"""Where names are looked up: by part number, by label, by how a name begins.

A table answers the same whether it is kept in memory, as here, or on disk (`name_shelf`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import NamedTuple, Protocol

from .phrases import What
from .spelling import key_of, number_key, words_of


@dataclass(frozen=True, slots=True)
class Label:
    """What people call a thing, and in which language (“en-GB”, “en-US”, “en”)."""

    text: str
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that can be named. The first label is the preferred one."""

    iri: str
    what: What
    labels: tuple[Label, ...]
    number: str = ""
    """The part number, for a part."""
    detail: str = ""
    """What tells it from things of the same name: “from serial 41200, 30 splines”."""

    @property
    def label(self) -> str:
        """The preferred label; without any, the number."""
        return self.labels[0].text if self.labels else self.number or self.iri


class Lexicon(Protocol):
    """Where names come from."""

    def entries(self) -> Iterable[Entry]:
        """Everything that can be named, in any order."""


class Sense(IntEnum):
    """In which way a name may be meant, the closest first."""

    NUMBER = 0
    LABEL = 1
    SYNONYM = 2


class Beginning(IntEnum):
    """In which way a name may go on from what is typed, the likeliest first."""

    LABEL = 0
    NUMBER = 1
    LATER_WORD = 2


class NameTable(Protocol):
    """The names of a catalogue. Whatever gives several entries gives them in the table's order."""

    def entries(self) -> Iterator[Entry]:
        """Every entry."""

    def entry(self, iri: str) -> Entry | None:
        """The entry of an IRI."""

    def meant(self, sense: Sense, key: str) -> list[tuple[Entry, str]]:
        """The entries that bear a name with this key, and in which language."""

    def beginning(self, how: Beginning, key: str, sorts: Collection[What]) -> Iterator[Entry]:
        """The entries of these sorts with a name that begins with the key, each once."""

    def sorted_as(self, sorts: Collection[What]) -> Iterator[Entry]:
        """The entries of these sorts."""

    def said(
        self, sorts: Collection[What], stations: Collection[str] | None = None
    ) -> dict[str, str]:
        """Every name of the entries of these sorts, as it is written → in plain words.

        Of stations only those in `stations`, unless it is None.
        """

    def holding(self, sort: What, words: Sequence[str]) -> list[Listed]:
        """The things of a sort whose names hold all of these words, in the order of lists."""


class Listed(NamedTuple):
    """A thing as lists sort it: by its label without regard to case, then by its IRI."""

    label: str
    iri: str


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Entries in the order of a table."""
    return sorted(entries, key=lambda e: (e.what, e.label, e.number, e.iri))


class Named(NamedTuple):
    """A key under which an entry is found."""

    sense: Sense
    key: str
    language: str


def keys_of(entry: Entry) -> Iterator[Named]:
    """Every key under which an entry is found."""
    if entry.number:
        yield Named(Sense.NUMBER, number_key(entry.number), "")
    for at, label in enumerate(entry.labels):
        yield Named(Sense.SYNONYM if at else Sense.LABEL, key_of(label.text), label.language)


def beginnings_of(entry: Entry) -> Iterator[tuple[Beginning, str]]:
    """Every key that what is typed may be the beginning of."""
    yield Beginning.NUMBER, number_key(entry.number)
    for label in entry.labels:
        words = words_of(label.text)
        yield Beginning.LABEL, "".join(words)
        for at in range(1, len(words)):
            yield Beginning.LATER_WORD, "".join(words[at:])


def written(entry: Entry) -> Iterator[tuple[str, str]]:
    """Every name of an entry, as it is written and in plain words."""
    for label in entry.labels:
        yield label.text, " ".join(words_of(label.text))
    if entry.number:
        yield entry.number, entry.number.casefold()


def folded(entry: Entry) -> str:
    """All names of an entry, to look for words in, without regard to case."""
    return " ".join((*(label.text for label in entry.labels), entry.number)).casefold()


class TableInMemory:
    """The names of a lexicon, all of them in memory."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._entries = tuple(in_order(lexicon.entries()))
        self._by_iri = {entry.iri: entry for entry in self._entries}
        self._meant: dict[tuple[Sense, str], list[tuple[Entry, str]]] = defaultdict(list)
        for entry in self._entries:
            for sense, key, language in keys_of(entry):
                self._meant[sense, key].append((entry, language))

    @cached_property
    def _beginnings(self) -> tuple[tuple[Entry, frozenset[tuple[Beginning, str]]], ...]:
        # Only completion wants them, and then at every key that is pressed.
        return tuple((entry, frozenset(beginnings_of(entry))) for entry in self._entries)

    def entries(self) -> Iterator[Entry]:
        """See `NameTable.entries`."""
        return iter(self._entries)

    def entry(self, iri: str) -> Entry | None:
        """See `NameTable.entry`."""
        return self._by_iri.get(iri)

    def meant(self, sense: Sense, key: str) -> list[tuple[Entry, str]]:
        """See `NameTable.meant`."""
        return self._meant.get((sense, key), [])

    def beginning(self, how: Beginning, key: str, sorts: Collection[What]) -> Iterator[Entry]:
        """See `NameTable.beginning`."""
        for entry, beginnings in self._beginnings:
            if entry.what in sorts and any(
                way is how and text.startswith(key) for way, text in beginnings
            ):
                yield entry

    def sorted_as(self, sorts: Collection[What]) -> Iterator[Entry]:
        """See `NameTable.sorted_as`."""
        return (entry for entry in self._entries if entry.what in sorts)

    def said(
        self, sorts: Collection[What], stations: Collection[str] | None = None
    ) -> dict[str, str]:
        """See `NameTable.said`."""
        found: dict[str, str] = {}
        for entry in self.sorted_as(sorts):
            if stations is None or entry.what != "station" or entry.iri in stations:
                for text, plain in written(entry):
                    found.setdefault(text, plain)
        return found

    def holding(self, sort: What, words: Sequence[str]) -> list[Listed]:
        """See `NameTable.holding`."""
        return sorted(
            Listed(entry.label.casefold(), entry.iri)
            for entry in self.sorted_as((sort,))
            for text in (folded(entry),)
            if all(word in text for word in words)
        )
