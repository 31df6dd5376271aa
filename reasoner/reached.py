"""What can be come to, step by step: classes above a class, work that goes before other work."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

T = TypeVar("T", bound=Hashable)


def reached(starts: Iterable[T], onward: Callable[[T], Iterable[T]]) -> set[T]:
    """The starts and everything that lies onward of them, however far.

    >>> sorted(reached(["hub"], {"hub": ["wheel"], "wheel": ["hub"]}.__getitem__))
    ['hub', 'wheel']
    """
    found: set[T] = set()
    waiting = list(starts)
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting += onward(here)
    return found
