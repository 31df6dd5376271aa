"""What was made lately, so that it need not be made again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Kept(Generic[K, V]):
    """At most so many things by their keys; when there are more, all are forgotten.

    Threads may share it: what two make at once is the same.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._things: dict[K, V] = {}

    def get(self, key: K, make: Callable[[K], V]) -> V:
        """The thing of a key, made if it is not there."""
        found = self._things.get(key)
        if found is None:
            found = make(key)
            if len(self._things) >= self._most:
                self._things = {}
            self._things[key] = found
        return found
