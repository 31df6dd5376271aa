"""The names of a large catalogue in a file: made once, then read only where a question looks.

The file lies in the user's own cache folder beside what is remembered of the catalogue, under the
catalogue's version and a stamp of the code that makes keys; any damage means: make it again.
"""

from __future__ import annotations

import json
import os
import re
import sqlite3
import threading
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import closing, suppress
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any, Final

from ..reasoner.cache_files import (
    forget_the_oldest,
    is_own,
    opened_for,
    stamp_of,
    written_whole,
)
from ..reasoner.catalogue import Catalogue
from ..reasoner.load import default_cache
from . import lexicon, name_table, spelling
from .lexicon import CatalogueLexicon
from .name_table import (
    Beginning,
    Entry,
    Label,
    Listed,
    Sense,
    beginnings_of,
    folded,
    in_order,
    keys_of,
    written,
)
from .names import NameIndex
from .phrases import What

_MANY: Final = 2_000
"""Parts from which on the names are kept on disk: fewer are in memory sooner than a file opens."""
_FORMAT: Final = "1"
_KEPT: Final = 20
_FINGERPRINT: Final = re.compile(r"[0-9a-f]{64}")
_END: Final = "\U0010ffff"
_SEPARATOR: Final = "\x1e"
_BATCH: Final = 256

_TABLES: Final = """
CREATE TABLE entry (
    at INTEGER PRIMARY KEY, iri TEXT, what TEXT, labels TEXT, number TEXT, detail TEXT);
CREATE TABLE named (
    sense INTEGER, key TEXT, at INTEGER, rank INTEGER, language TEXT,
    PRIMARY KEY (sense, key, at, rank)) WITHOUT ROWID;
CREATE TABLE beginning (
    how INTEGER, key TEXT, what TEXT, at INTEGER,
    PRIMARY KEY (how, key, what, at)) WITHOUT ROWID;
CREATE TABLE listed (
    what TEXT, label TEXT, iri TEXT, names TEXT,
    PRIMARY KEY (what, label, iri)) WITHOUT ROWID;
CREATE TABLE said (what TEXT, start INTEGER, texts TEXT, plains TEXT);
"""
_INDEXES: Final = """
CREATE INDEX entry_iri ON entry (iri);
CREATE INDEX entry_what ON entry (what, at);
"""


def index_of(catalogue: Catalogue, cache: Path | None = None) -> NameIndex:
    """The names of a catalogue: of a large one that came from files, kept on disk."""
    names = CatalogueLexicon(catalogue)
    if len(catalogue.parts) < _MANY or not _FINGERPRINT.fullmatch(catalogue.version):
        return NameIndex(names)
    path = (cache or default_cache()) / f"{catalogue.version[:32]}-{_code_stamp()}.names"
    kept = _opened(path)
    if kept is None:
        try:
            write_names(path, names.entries())
            forget_the_oldest(path.parent, "*.names", _KEPT)
        except (OSError, sqlite3.Error):
            return NameIndex(names)  # a cache that cannot be written costs time, never an answer
        kept = _opened(path)
    return NameIndex(names) if kept is None else NameIndex.over(kept)


def write_names(path: Path, entries: Iterable[Entry]) -> None:
    """Write a table of names, whole or not at all, for its owner alone."""
    with (
        written_whole(path) as part,
        closing(sqlite3.connect(part, isolation_level=None)) as table,
    ):
        table.executescript("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;" + _TABLES)
        table.execute("BEGIN")
        _fill(table, in_order(entries))
        table.execute("COMMIT")
        table.executescript(_INDEXES)


def _fill(table: sqlite3.Connection, entries: list[Entry]) -> None:
    named: list[tuple[int, str, int, int, str]] = []
    beginnings: set[tuple[int, str, str, int]] = set()
    said: dict[What, list[tuple[str, str]]] = {}
    for at, entry in enumerate(entries):
        named += (
            (int(sense), key, at, rank, language)
            for rank, (sense, key, language) in enumerate(keys_of(entry))
        )
        beginnings.update(
            (int(how), key, entry.what, at)
            for how, key in beginnings_of(entry)
            if key or how is not Beginning.NUMBER
        )
        said.setdefault(entry.what, []).extend(
            (text.replace(_SEPARATOR, " "), plain) for text, plain in written(entry)
        )
    table.executemany("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?)", map(_row, entries, count()))
    # In the order of their keys rows fill one page after another.
    table.executemany("INSERT INTO named VALUES (?, ?, ?, ?, ?)", sorted(named))
    table.executemany("INSERT INTO beginning VALUES (?, ?, ?, ?)", sorted(beginnings))
    listed = {(e.what, e.label.casefold(), e.iri): folded(e) for e in entries}
    table.executemany(
        "INSERT INTO listed VALUES (?, ?, ?, ?)",
        ((*at, names) for at, names in sorted(listed.items())),
    )
    for what, pairs in said.items():
        for start in range(0, len(pairs), _BATCH):
            batch = pairs[start : start + _BATCH]
            texts, plains = (_SEPARATOR.join(each) for each in zip(*batch, strict=True))
            table.execute("INSERT INTO said VALUES (?, ?, ?, ?)", (what, start, texts, plains))


def _row(entry: Entry, at: int) -> tuple[object, ...]:
    labels = json.dumps([(label.text, label.language) for label in entry.labels])
    return at, entry.iri, entry.what, labels, entry.number, entry.detail


class TableOnDisk:
    """A table of names that was written before. Shared between threads, and sent to processes."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._owner = os.getpid()
        self._table = opened_for(self, path)

    def __reduce__(self) -> tuple[type[TableOnDisk], tuple[Path]]:
        return TableOnDisk, (self._path,)

    def _rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        with self._lock:
            if self._owner != os.getpid():  # a connection must not be used after a fork
                self._table, self._owner = opened_for(self, self._path), os.getpid()
            return self._table.execute(statement, values).fetchall()

    def entries(self) -> Iterator[Entry]:
        """See `NameTable.entries`."""
        return map(_entry, self._rows(f"SELECT {_COLUMNS} FROM entry ORDER BY at"))

    def entry(self, iri: str) -> Entry | None:
        """See `NameTable.entry`."""
        # Of two entries with one IRI the later counts, as in a dictionary.
        rows = self._rows(
            f"SELECT {_COLUMNS} FROM entry WHERE iri = ? ORDER BY at DESC LIMIT 1", _safe(iri)
        )
        return _entry(rows[0]) if rows else None

    def meant(self, sense: Sense, key: str) -> list[tuple[Entry, str]]:
        """See `NameTable.meant`."""
        rows = self._rows(
            f"SELECT {_COLUMNS}, language FROM named JOIN entry USING (at) "
            "WHERE sense = ? AND key = ? ORDER BY at, rank",
            int(sense),
            _safe(key),
        )
        return [(_entry(row), row[5]) for row in rows]

    def beginning(self, how: Beginning, key: str, sorts: Collection[What]) -> Iterator[Entry]:
        """See `NameTable.beginning`."""
        key = _safe(key)
        statement = (
            "SELECT DISTINCT at FROM beginning WHERE how = ? AND key >= ? AND key < ? "
            f"AND what IN ({','.join('?' * len(sorts))})"
        )
        return self._paged(statement, int(how), key, key + _END, *sorts)

    def sorted_as(self, sorts: Collection[What]) -> Iterator[Entry]:
        """See `NameTable.sorted_as`."""
        # Entries stand sort by sort, so each sort's are in one piece.
        for sort in sorted(sorts):
            yield from self._paged("SELECT at FROM entry WHERE what = ?", sort)

    def _paged(self, statement: str, *values: object) -> Iterator[Entry]:
        """Entries one by one: whoever asks what may be typed takes only the first few."""
        start, size = 0, _BATCH
        while True:
            rows = self._rows(f"{statement} ORDER BY at LIMIT {size} OFFSET {start}", *values)
            for row in rows:
                yield _entry(self._rows(f"SELECT {_COLUMNS} FROM entry WHERE at = ?", *row)[0])
            if len(rows) < size:
                return
            start, size = start + size, size * 8

    def said(
        self, sorts: Collection[What], stations: Collection[str] | None = None
    ) -> dict[str, str]:
        """See `NameTable.said`."""
        found: dict[str, str] = {}
        # Of things written alike the first counts, so the last are put in first.
        for sort in sorted(sorts, reverse=True):
            if sort == "station" and stations is not None:
                here = (entry for entry in self.sorted_as((sort,)) if entry.iri in stations)
                found.update(reversed([pair for entry in here for pair in written(entry)]))
                continue
            for texts, plains in self._rows(
                "SELECT texts, plains FROM said WHERE what = ? ORDER BY start DESC", sort
            ):
                pairs = zip(texts.split(_SEPARATOR), plains.split(_SEPARATOR), strict=True)
                found.update(reversed(list(pairs)))
        return found

    def holding(self, sort: What, words: Sequence[str]) -> list[Listed]:
        """See `NameTable.holding`."""
        rows = self._rows(
            f"SELECT label, iri FROM listed WHERE what = ?{' AND instr(names, ?)' * len(words)} "
            "ORDER BY label, iri",
            sort,
            *map(_safe, words),
        )
        return [Listed(*row) for row in rows]


_COLUMNS: Final = "iri, what, labels, number, detail"


def _entry(row: tuple[Any, ...]) -> Entry:
    iri, what, labels, number, detail = row[:5]
    return Entry(iri, what, tuple(Label(*each) for each in json.loads(labels)), number, detail)


def _safe(text: str) -> str:
    """A text that can be looked up: half a character names nothing, and is in no key."""
    return text.encode(errors="replace").decode()


def _opened(path: Path) -> TableOnDisk | None:
    with suppress(OSError, sqlite3.Error):
        if not is_own(path):
            return None
        found = TableOnDisk(path)
        found.meant(Sense.LABEL, "")
        path.touch()  # what is used is not the oldest
        return found
    return None


@cache
def _code_stamp() -> str:
    """Changes when the code that makes keys and entries does."""
    modules = (lexicon, name_table, spelling)
    return stamp_of((*(Path(str(m.__file__)) for m in modules), Path(__file__)), _FORMAT)
