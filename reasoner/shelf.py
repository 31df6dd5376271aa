"""Tables of a compiled catalogue that stay on disk: a row is read when it is asked for.

A `Book` is one read-only file, a `Shelf` one table in it: a mapping like any other, in sorted
order. The pages of the file are the system's to keep, once for all processes; each process keeps
only the rows that it used last. Books and shelves may be asked from many threads, and go to other
processes by fork or pickle, where the file is opened anew.
"""

from __future__ import annotations

import os
import pickle
import sqlite3
import threading
from collections.abc import ItemsView, Iterable, Iterator, Mapping, ValuesView
from pathlib import Path
from typing import Any, Final, Generic, TypeVar, overload
from weakref import WeakValueDictionary

from .cache_files import opened_for
from .errors import KnockonError
from .overlay import Overlay
from .packing import RowDamaged, key_of, key_text, sound, unpack

K = TypeVar("K")
V = TypeVar("V")
T = TypeVar("T")

KEPT: Final = 20_000
"""So many rows of a shelf are kept at least, and twice as many at most."""

_AT_ONCE: Final = 500
_NOTES: Final = "SELECT name, value FROM notes"
_ABSENT: Final = object()


class BookUnusable(KnockonError):
    """A compiled file is not there, not whole, or another one than it was; build it again."""


class Book:
    """One compiled file, open for reading. With a `stamp`, only the file that bears it.

    Raises:
        BookUnusable: see there.
    """

    def __init__(self, path: Path, stamp: str = "") -> None:
        self.path = path
        self.lock = threading.Lock()
        self._lines: dict[int, sqlite3.Connection] = {}
        try:
            # Also where the file is damaged so that something odd comes out of it.
            notes = {name: sound(value) for name, value in self._ask(_NOTES)}
            self.stamp: str = notes["stamp"].decode()
            self.shared: list[object] = pickle.loads(notes["shared"])
            self.small: dict[str, Any] = pickle.loads(notes["small"])
            counts: dict[str, int] = pickle.loads(notes["counts"])
        except Exception as error:
            raise BookUnusable(f"{path} cannot be used: {error or type(error).__name__}") from error
        if stamp and stamp != self.stamp:
            raise BookUnusable(f"{path} is another catalogue than it was")
        self.shelves: dict[str, Shelf[Any, Any]] = {
            name: Shelf(self, name, count) for name, count in counts.items()
        }

    def row(self, table: str, key: str) -> Any:
        """One row, or a mark of its absence."""
        found = self._ask(f'SELECT row FROM "{table}" WHERE key = ?', (key,))
        return self._unpack(found[0][0]) if found else _ABSENT

    def rows(self, table: str, keys: tuple[str, ...]) -> dict[str, Any]:
        """The rows of these keys, as far as they are there."""
        marks = ",".join("?" * len(keys))
        found = self._ask(f'SELECT key, row FROM "{table}" WHERE key IN ({marks})', keys)
        return {key: self._unpack(row) for key, row in found}

    def keys(self, table: str) -> Iterator[str]:
        """All keys in order."""
        return (key for (key,) in self._all(f'SELECT key FROM "{table}"'))

    def items(self, table: str) -> Iterator[tuple[str, Any]]:
        """All keys with their rows, in order."""
        for key, row in self._all(f'SELECT key, row FROM "{table}"'):
            yield key, self._unpack(row)

    def _all(self, query: str) -> Iterator[tuple[Any, ...]]:
        found = self._ask(f"{query} ORDER BY key LIMIT {_AT_ONCE}")
        while found:
            yield from found
            after = (found[-1][0],)
            found = self._ask(f"{query} WHERE key > ? ORDER BY key LIMIT {_AT_ONCE}", after)

    def _ask(self, query: str, values: tuple[object, ...] = ()) -> list[tuple[Any, ...]]:
        with self.lock:
            # A parent's connection is no good after a fork: left alone, it is never closed either.
            line = self._lines.get(os.getpid())
            if line is None:
                line = self._lines[os.getpid()] = self._opened()
            return line.execute(query, values).fetchall()

    def _opened(self) -> sqlite3.Connection:
        line = opened_for(self, self.path)
        pages, page = (
            line.execute(f"PRAGMA {what}").fetchone()[0] for what in ("page_count", "page_size")
        )
        if pages * page != self.path.stat().st_size:
            raise BookUnusable(f"{self.path} is not whole")
        return line

    def _unpack(self, row: bytes) -> Any:
        try:
            return unpack(row, self.shared.__getitem__)
        except RowDamaged as error:
            self.path.unlink(missing_ok=True)  # the next start builds it again
            raise BookUnusable(f"{error}; start again, and it is built anew") from None


_BOOKS: WeakValueDictionary[tuple[str, str], Book] = WeakValueDictionary()
_BOOKS_LOCK = threading.Lock()
_HELD: list[threading.Lock] = []


def open_book(path: Path, stamp: str = "") -> Book:
    """The book at `path`; one that is open in this process already if the `stamp` says which.

    Raises `BookUnusable`.
    """
    with _BOOKS_LOCK:
        known = _BOOKS.get((str(path), stamp))
        if known is None:
            known = Book(path, stamp)
            known = _BOOKS.setdefault((str(path), known.stamp), known)
        return known


def _before_fork() -> None:
    """Nobody may be inside the database meanwhile: its locks would stay shut in the child."""
    _BOOKS_LOCK.acquire()
    _HELD.append(_BOOKS_LOCK)
    for book in list(_BOOKS.values()):
        book.lock.acquire()
        _HELD.append(book.lock)


def _after_fork() -> None:
    while _HELD:
        _HELD.pop().release()


os.register_at_fork(before=_before_fork, after_in_parent=_after_fork, after_in_child=_after_fork)


class Shelf(Mapping[K, V], Generic[K, V]):
    """One table of a book, in sorted order. Read-only; rows are frozen values."""

    __slots__ = ("_book", "_count", "_name", "_old", "_order", "_young")

    def __init__(self, book: Book, name: str, count: int) -> None:
        self._book, self._name, self._count = book, name, count
        # Rows asked for lately, by two generations: when the young are many, the old are let go.
        self._young: dict[object, Any] = {}
        self._old: dict[object, Any] = {}
        self._order: tuple[K, ...] | None = None

    @property
    def book(self) -> Book:
        """The file that the table is in."""
        return self._book

    def __getitem__(self, key: K) -> V:
        row = self._young.get(key)
        if row is None:
            row = self._look(key)
        if row is _ABSENT:
            raise KeyError(key)
        found: V = row
        return found

    @overload
    def get(self, key: K, /) -> V | None: ...
    @overload
    def get(self, key: K, /, default: V | T) -> V | T: ...
    def get(self, key: K, /, default: V | T | None = None) -> V | T | None:
        """As of any mapping."""
        row = self._young.get(key)
        if row is None:
            row = self._look(key)
        return default if row is _ABSENT else row

    def __contains__(self, key: object) -> bool:
        row = self._young.get(key)
        return (self._look(key) if row is None else row) is not _ABSENT

    def __len__(self) -> int:
        return self._count

    def __iter__(self) -> Iterator[K]:
        return map(key_of, self._book.keys(self._name)) if self._is_big() else iter(self._keys())

    def items(self) -> ItemsView[K, V]:
        """As of any mapping; each row is read as it is reached."""
        return _Items(self)

    def values(self) -> ValuesView[V]:
        """As of any mapping; each row is read as it is reached."""
        return _Values(self)

    def ready(self, keys: Iterable[K]) -> None:
        """Read the rows of these keys now: quicker than one by one as they are asked for."""
        wanted = [key for key in keys if key not in self._young and key not in self._old]
        for start in range(0, len(wanted), _AT_ONCE):
            named = {key_text(key): key for key in wanted[start : start + _AT_ONCE]}
            texts = tuple(text for text in named if text is not None)
            for text, row in self._book.rows(self._name, texts).items():
                self._keep(named[text], row)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Shelf) and self._place() == other._place():
            return True
        if not isinstance(other, Mapping):
            return NotImplemented
        return len(self) == len(other) and all(
            other.get(key, _ABSENT) == row for key, row in self.items()
        )

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"<{self._count} {self._name} in {self._book.path.name}>"

    def __reduce__(self) -> tuple[object, tuple[str, str, str]]:
        return _shelf_at, self._place()

    def _place(self) -> tuple[str, str, str]:
        return str(self._book.path), self._book.stamp, self._name

    def _look(self, key: object) -> Any:
        row = self._old.get(key)
        if row is None:
            text = key_text(key)
            row = _ABSENT if text is None else self._book.row(self._name, text)
        return self._keep(key, row)

    def _keep(self, key: object, row: Any) -> Any:
        if len(self._young) >= KEPT:
            self._old, self._young = self._young, {}
        return self._young.setdefault(key, row)

    def _is_big(self) -> bool:
        return self._count > KEPT

    def _keys(self) -> tuple[K, ...]:
        """Those of a small table. Its rows are read along, since they are mostly wanted next."""
        if self._order is None:
            rows = [(key_of(text), row) for text, row in self._book.items(self._name)]
            for key, row in rows:
                self._keep(key, row)
            self._order = tuple(key for key, _ in rows)
        return self._order

    def _each(self) -> Iterator[tuple[K, V]]:
        if self._is_big():
            return ((key_of(text), row) for text, row in self._book.items(self._name))
        return ((key, self[key]) for key in self._keys())


class _Items(ItemsView[K, V]):
    _mapping: Shelf[K, V]

    def __iter__(self) -> Iterator[tuple[K, V]]:
        return self._mapping._each()


class _Values(ValuesView[V]):
    _mapping: Shelf[Any, V]

    def __iter__(self) -> Iterator[V]:
        return (row for _, row in self._mapping._each())


def _shelf_at(path: str, stamp: str, name: str) -> Shelf[Any, Any]:
    return open_book(Path(path), stamp).shelves[name]


def read_ahead(table: Mapping[K, V], keys: Iterable[K]) -> None:
    """Read rows that will be asked for soon, if they are on a shelf."""
    base = table.base if isinstance(table, Overlay) else table
    if isinstance(base, Shelf):
        base.ready(keys)
