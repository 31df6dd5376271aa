"""A table with a few rows changed: the others stay where they are, on disk or in memory."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from heapq import merge
from typing import Any, Generic, TypeVar

from .packing import key_text

K = TypeVar("K")
V = TypeVar("V")


class Overlay(Mapping[K, V], Generic[K, V]):
    """`base` with the rows of `changed` instead of or beside its own, in sorted order.

    Rows of `gone` are left out. `base` is in sorted order as well. Read-only, like what it is made
    of.
    """

    __slots__ = ("_base", "_changed", "_gone", "_new")
    _base: Mapping[K, V]
    _changed: Mapping[K, V]
    _gone: frozenset[K]

    def __init__(self, base: Mapping[K, V], changed: Mapping[K, V], gone: Iterable[K] = ()) -> None:
        left_out = frozenset(gone)
        if isinstance(base, Overlay):  # not one upon the other without end
            held = {k: v for k, v in base._changed.items() if k not in left_out}
            left_out |= base._gone - changed.keys()
            changed = {**held, **changed}
            base = base._base
        self._base = base
        self._changed = changed
        self._gone = frozenset(key for key in left_out if key in base)
        self._new = sorted((key for key in changed if key not in base), key=_order)

    @property
    def base(self) -> Mapping[K, V]:
        """The table as it was before any of the changes."""
        return self._base

    @property
    def changes(self) -> tuple[Mapping[K, V], frozenset[K]]:
        """The rows that are other than before or new, and the keys of those that are gone."""
        return self._changed, self._gone

    def __getitem__(self, key: K) -> V:
        if key in self._changed:
            return self._changed[key]
        if key in self._gone:
            raise KeyError(key)
        return self._base[key]

    def __contains__(self, key: object) -> bool:
        return key in self._changed or (key in self._base and key not in self._gone)

    def __len__(self) -> int:
        return len(self._base) + len(self._new) - len(self._gone)

    def __iter__(self) -> Iterator[K]:
        base: Iterable[K] = self._base
        if self._gone:
            base = (key for key in base if key not in self._gone)
        return merge(base, self._new, key=_order) if self._new else iter(base)

    def __reduce__(self) -> tuple[Any, ...]:
        return Overlay, (self._base, self._changed, self._gone)


def _order(key: object) -> str:
    return key_text(key) or ""
