"""A catalogue compiled into one file: the big tables as shelves, the small ones in one piece.

The file is written once, under another name until it is whole, and never changed; any number of
processes read it at the same time.
"""

from __future__ import annotations

import os
import pickle
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields
from itertools import islice
from pathlib import Path
from shutil import copyfile
from typing import Any, Final

from .cache_files import written_whole
from .catalogue import Catalogue
from .lookups import LOOKUPS, kept_with
from .overlay import Overlay
from .packing import key_of, key_text, packer, sealed, shared_among
from .shelf import Book, BookUnusable, Shelf, open_book

TABLES: Final = ("parts", "ends", "families", "cars", "regional", "tried")
"""The fields of a catalogue that grow with it."""

_LOOKED_OVER: Final = 2_000
"""So many rows of a table tell what its rows share."""

_PAGE: Final = 8192


def write_compiled(catalogue: Catalogue, path: Path) -> None:
    """Compile a catalogue to `path`, in one step that no reader sees half of.

    Raises:
        OSError: the file cannot be written.
    """
    try:
        with written_whole(path) as part:
            _write(catalogue, part)
    except sqlite3.Error as error:
        raise OSError(str(error)) from error


def open_compiled(path: Path) -> Catalogue:
    """The catalogue compiled to `path`, its big tables left on disk. Raises `BookUnusable`."""
    book = open_book(path)
    try:
        tables: dict[str, Any] = {name: book.shelves[name] for name in TABLES}
        found = Catalogue(**book.small, **tables)
        return kept_with(found, {name: book.shelves[name] for name in LOOKUPS})
    except (KeyError, TypeError) as error:
        raise BookUnusable(f"{path} holds something else") from error


def write_changed(catalogue: Catalogue, path: Path) -> None:
    """As `write_compiled`; of a catalogue that differs from a compiled one only what differs.

    Raises:
        OSError: the file cannot be written.
    """
    book = _book_of(catalogue.parts)
    tables = _tables_of(catalogue)
    is_one = all(_book_of(tables[name]) is book for name in TABLES)
    if book is None or not is_one or not book.path.exists():  # an old one may be forgotten
        write_compiled(catalogue, path)
        return
    try:
        with written_whole(path) as part:
            copyfile(book.path, part)
            with _written(part) as line:
                pack = packer(book.shared)
                for name, table in tables.items():
                    _change(line, name, table, book, pack)
                _note(line, catalogue, tables, book.shared)
    except sqlite3.Error as error:
        raise OSError(str(error)) from error


def _book_of(table: Mapping[Any, Any]) -> Book | None:
    """The file that a table is in, but for some changed rows."""
    base = table.base if isinstance(table, Overlay) else table
    return base.book if isinstance(base, Shelf) else None


def _change(
    line: sqlite3.Connection,
    name: str,
    table: Mapping[Any, Any],
    book: Book,
    pack: Callable[[object], bytes],
) -> None:
    """Put the rows of a table into a copy of `book`."""
    if _book_of(table) is not book:
        line.execute(f'DELETE FROM "{name}"')
        line.executemany(f'INSERT INTO "{name}" VALUES (?, ?)', _rows(table, pack))
    elif isinstance(table, Overlay):
        changed, gone = table.changes
        line.executemany(f'DELETE FROM "{name}" WHERE key = ?', [(_text_of(key),) for key in gone])
        line.executemany(f'REPLACE INTO "{name}" VALUES (?, ?)', _rows(changed, pack))


def _tables_of(catalogue: Catalogue) -> dict[str, Mapping[Any, Any]]:
    found: dict[str, Mapping[Any, Any]] = {name: getattr(catalogue, name) for name in TABLES}
    for name in LOOKUPS:
        found[name] = catalogue.lookups.table(name)
    return found


def _write(catalogue: Catalogue, path: Path) -> None:
    tables = _tables_of(catalogue)
    shared = shared_among(row for name in TABLES for row in _some(tables[name]))
    pack = packer(shared)
    with _written(path) as line:
        for name, table in tables.items():
            line.execute(f'CREATE TABLE "{name}" (key TEXT PRIMARY KEY, row BLOB) WITHOUT ROWID')
            line.executemany(f'INSERT INTO "{name}" VALUES (?, ?)', _rows(table, pack))
        line.execute("CREATE TABLE notes (name TEXT PRIMARY KEY, value BLOB)")
        _note(line, catalogue, tables, shared)


@contextmanager
def _written(path: Path) -> Iterator[sqlite3.Connection]:
    """A file to write to, in one go."""
    line = sqlite3.connect(path, isolation_level=None)
    try:
        for said in (f"page_size = {_PAGE}", "journal_mode = OFF", "synchronous = OFF"):
            line.execute(f"PRAGMA {said}")
        line.execute("BEGIN")
        yield line
        line.execute("COMMIT")
    finally:
        line.close()
    with path.open("rb") as whole:
        os.fsync(whole.fileno())


def _note(
    line: sqlite3.Connection,
    catalogue: Catalogue,
    tables: Mapping[str, Mapping[Any, Any]],
    shared: list[object],
) -> None:
    """Write down the version, the small tables, and how many rows the others have."""
    small = {f.name: getattr(catalogue, f.name) for f in fields(catalogue) if f.init}
    notes = {
        "stamp": catalogue.version.encode(),
        "shared": pickle.dumps(shared, pickle.HIGHEST_PROTOCOL),
        "small": pickle.dumps(
            {name: value for name, value in small.items() if name not in TABLES},
            pickle.HIGHEST_PROTOCOL,
        ),
        "counts": pickle.dumps({name: len(table) for name, table in tables.items()}),
    }
    line.executemany("REPLACE INTO notes VALUES (?, ?)", ((n, sealed(v)) for n, v in notes.items()))


def _some(table: Mapping[Any, Any]) -> Iterable[object]:
    """Rows from the whole length of a table."""
    step = max(1, len(table) // _LOOKED_OVER)
    return islice(table.values(), 0, None, step)


def _rows(table: Mapping[Any, Any], pack: Callable[[object], bytes]) -> Iterator[tuple[str, bytes]]:
    for text, key in sorted((_text_of(key), key) for key in table):
        yield text, pack(table[key])


def _text_of(key: object) -> str:
    text = key_text(key)
    if text is None or key_of(text) != key:
        raise ValueError(f"a key that cannot be kept: {key!r}")
    return text
