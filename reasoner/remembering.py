"""What was found lately, and no more of it than memory can spare."""

from __future__ import annotations

from typing import TypeVar

K = TypeVar("K")
V = TypeVar("V")


def remember(known: dict[K, V], at: K, what: V, most: int) -> None:
    """Keep what was found, and let go of what was found first where that makes too many."""
    while len(known) >= most:
        # Several threads may let go of the same.
        known.pop(next(iter(known)), None)
    known[at] = what
