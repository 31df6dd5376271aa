"""Answers that were worked out lately, by tag. A tag names everything an answer depends on."""

from __future__ import annotations

import threading
from collections import OrderedDict


class Remembered:
    """At most so many bytes of bodies; the ones not asked for lately go first."""

    def __init__(self, most_bytes: int = 32 * 1024 * 1024) -> None:
        self._most, self._bytes = most_bytes, 0
        self._bodies: OrderedDict[str, bytes] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, tag: str) -> bytes | None:
        """The body under a tag, if it is still remembered."""
        with self._lock:
            found = self._bodies.get(tag)
            if found is not None:
                self._bodies.move_to_end(tag)
            return found

    def keep(self, tag: str, body: bytes) -> None:
        """Remember a body, unless it alone would push out most of the others."""
        if len(body) > self._most // 8:
            return
        with self._lock:
            self._bytes += len(body) - len(self._bodies.pop(tag, b""))
            self._bodies[tag] = body
            while self._bytes > self._most:
                self._bytes -= len(self._bodies.popitem(last=False)[1])
