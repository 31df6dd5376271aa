"""A table with a few rows changed: the others stay where they are, on disk or in memory."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from heapq import merge
from typing import Any, Generic, TypeVar

from .packing import key_text

K = TypeVar("K")
V = TypeVar("V")


class Overlay(Mapping[K, V], Generic[K, V]):
    """`base` with the rows of `changed` instead of or beside its own, in sorted order.

    `base` is in sorted order as well. Read-only, like what it is made of.
    """

    __slots__ = ("_base", "_changed", "_new")
    _base: Mapping[K, V]
    _changed: Mapping[K, V]

    def __init__(self, base: Mapping[K, V], changed: Mapping[K, V]) -> None:
        if isinstance(base, Overlay):  # not one upon the other without end
            changed = {**base._changed, **changed}
            base = base._base
        self._base = base
        self._changed = changed
        self._new = sorted((key for key in changed if key not in base), key=_order)

    def __getitem__(self, key: K) -> V:
        return self._changed[key] if key in self._changed else self._base[key]

    def __contains__(self, key: object) -> bool:
        return key in self._changed or key in self._base

    def __len__(self) -> int:
        return len(self._base) + len(self._new)

    def __iter__(self) -> Iterator[K]:
        return merge(self._base, self._new, key=_order) if self._new else iter(self._base)

    def __reduce__(self) -> tuple[Any, ...]:
        return Overlay, (self._base, self._changed)


def _order(key: object) -> str:
    return key_text(key) or ""
