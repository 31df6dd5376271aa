"""Rows of a compiled catalogue as bytes, and their keys as text that sorts as the keys do.

A row is a pickle in which whatever many rows say alike (IRIs of roles and sources, their tuples,
claims, the classes themselves) is a number into a list that the file holds once. So rows are
small, quickly read, and what they share is one object in memory.
"""

from __future__ import annotations

import io
import pickle
from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import fields
from operator import attrgetter
from typing import Any, Final
from zlib import crc32

from .catalogue import Car, Claim, End, Family, Fit, OpenValue, Part
from .errors import KnockonError
from .places import Place

_CLASSES: Final = (Car, Claim, End, Family, Fit, OpenValue, Part, Place)
"""Made by calling them with the values of their fields in order."""

_OFTEN: Final = 8
"""What occurs so often among the rows looked over is kept once."""

_OPEN, _AFTER, _CLOSE = "\x03", "\x02", "\x01"
"""Marks around and within a key that is a tuple; smaller than all that an IRI may contain."""


class RowDamaged(KnockonError):
    """A row of a compiled catalogue is not what was written."""


def key_text(key: object) -> str | None:
    """A key (a text, or a tuple of keys) as text that sorts as keys do; None if it is no key.

    >>> key_text("a"), key_text(("a", ("b",)))
    ('a', '\\x03a\\x02\\x03b\\x02\\x01\\x02\\x01')
    """
    if isinstance(key, str):
        return None if key[:1] and key[0] <= _OPEN else str(key)
    if not isinstance(key, tuple):
        return None
    pieces = [key_text(piece) for piece in key]
    if None in pieces:
        return None
    return _OPEN + "".join(f"{piece}{_AFTER}" for piece in pieces) + _CLOSE


def key_of(text: str) -> Any:
    """The key of a text that `key_text` made.

    >>> key_of(key_text(("a", ("b", ""), ())))
    ('a', ('b', ''), ())
    """
    return text if not text.startswith(_OPEN) else _tuple_at(text, 1)[0]


def _tuple_at(text: str, at: int) -> tuple[tuple[Any, ...], int]:
    """The tuple whose first piece starts at `at`, and where its end mark stands."""
    pieces: list[Any] = []
    piece: Any
    while text[at] != _CLOSE:
        if text[at] == _OPEN:
            piece, end = _tuple_at(text, at + 1)
            end += 1
        else:
            end = text.index(_AFTER, at)
            piece = text[at:end]
        pieces.append(piece)
        at = end + 1
    return tuple(pieces), at


def shared_among(rows: Iterable[object]) -> list[object]:
    """The classes of rows, and what `rows` say alike often; the most frequent first."""
    counts: Counter[Hashable] = Counter()
    first: dict[Hashable, object] = {}

    class Count(_Pickler):
        def persistent_id(self, obj: object) -> int | None:
            if (like := _likeness(obj)) is not None:
                counts[like] += 1
                first.setdefault(like, obj)
            return None

    for row in rows:
        Count(io.BytesIO(), pickle.HIGHEST_PROTOCOL).dump(row)
    # An equal count leaves the order in which they were met, which is that of the catalogue.
    often = [first[like] for like, count in counts.most_common() if count >= _OFTEN]
    return [*_CLASSES, *often]


def packer(shared: Iterable[object]) -> Callable[[object], bytes]:
    """How to write rows that share `shared`."""
    numbers = {_likeness(value) or value: number for number, value in enumerate(shared)}

    class Pack(_Pickler):
        def persistent_id(self, obj: Any) -> int | None:
            # Asked millions of times, so without `_likeness` where a value is its own: nothing that
            # is no text, and no tuple of texts, is equal to one.
            kind = type(obj)
            if kind is str or kind is tuple or kind is frozenset or kind is type:
                try:
                    return numbers.get(obj)
                except TypeError:  # a tuple of what cannot be hashed
                    return None
            return numbers.get(_likeness(obj)) if kind is Claim else None

    def pack(row: object) -> bytes:
        written = io.BytesIO()
        Pack(written, pickle.HIGHEST_PROTOCOL).dump(row)
        return sealed(written.getvalue())

    return pack


def unpack(row: bytes, shared: Callable[[int], object]) -> Any:
    """A row as it was packed. Raises `RowDamaged`."""
    unpickler = _Unpickler(io.BytesIO(sound(row)))
    unpickler.persistent_load = shared  # type: ignore[method-assign]
    return unpickler.load()


def sealed(data: bytes) -> bytes:
    """Bytes with a sum in front by which `sound` knows them again."""
    return crc32(data).to_bytes(4, "big") + data


def sound(data: bytes) -> bytes:
    """What was sealed. Raises `RowDamaged`."""
    if data[:4] != crc32(data[4:]).to_bytes(4, "big"):
        raise RowDamaged("a row of the compiled catalogue is damaged")
    return data[4:]


def _values(cls: type) -> Callable[[Any], tuple[type, tuple[Any, ...]]]:
    take = attrgetter(*(field.name for field in fields(cls)))
    return lambda value: (cls, take(value))


class _Pickler(pickle.Pickler):
    dispatch_table = {cls: _values(cls) for cls in _CLASSES}  # noqa: RUF012 - as pickle wants it


class _Unpickler(pickle.Unpickler):
    """One whose instances may be told how to look up what is shared, as theirs alone may not be.

    From Python 3.13 on only a class of one's own takes the attribute. A method of it would do too,
    and be one call of Python more for each of the millions of values looked up.
    """


def _likeness(obj: object) -> Hashable:
    """The same for two values that may stand for one another to the last digit; else None.

    Numbers are left alone: 30 and 30.0 are equal, and yet were written differently.
    """
    if isinstance(obj, str):
        return obj if type(obj) is str and len(obj) > 2 else None
    if isinstance(obj, (tuple, frozenset)):
        plain = type(obj) in (tuple, frozenset) and all(type(o) is str for o in obj)
        return obj if obj and plain else None
    if isinstance(obj, Claim):
        value = obj.value
        return None if type(value) is tuple else (type(value), str(value), obj.sources)
    return obj if isinstance(obj, type) else None
