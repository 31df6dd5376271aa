"""Whose turn it is: work that waits for one of several hands, best for one that knows it already.

What a process has found out about a car serves all questions about it. So a hand takes the oldest
work of its own sort, anybody's if it has none, and whatever has waited long before anything else:
nobody is idle while there is work, and no work is passed over for ever.
"""

from __future__ import annotations

import re
import threading
import time
from collections import deque
from dataclasses import dataclass
from typing import Final, Generic, TypeVar
from zlib import crc32

T = TypeVar("T")
_PATIENCE: Final = 0.5
"""Seconds for which work waits for the hand that it is best for."""
_LOOKED_AT: Final = 1_000
"""So many characters of a sentence; the car of a longer one is not guessed."""
_CAR = re.compile(
    r"""\b(?:to|on|fit|of|across)\s+(?:"([^"]+)"|“([^”]+)”|(\w[^"“”?,#]*?))
    (?=$|[?,#]|\ (?:with|keeping|using|without|unless|nothing|at|to|on)\b)""",
    re.IGNORECASE | re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class _Work(Generic[T]):
    what: T
    best: int
    since: float


class Turns(Generic[T]):
    """Work in the order it came, for so many hands."""

    def __init__(self, hands: int) -> None:
        self._hands = hands
        self._waiting: deque[_Work[T]] = deque()
        self._changed = threading.Condition()
        self._closed = False

    def put(self, what: T, about: str) -> bool:
        """Let work wait; `about` is what it is about. False: there are no hands any more."""
        with self._changed:
            if not self._closed:
                best = crc32(about.encode(errors="replace")) % self._hands
                self._waiting.append(_Work(what, best, time.monotonic()))
                self._changed.notify()
            return not self._closed

    def take(self, hand: int) -> T | None:
        """The next work for a hand, as soon as there is some; None when all is over."""
        with self._changed:
            while not self._closed and not self._waiting:
                self._changed.wait()
            if self._closed:
                return None
            oldest = self._waiting[0]
            work = oldest
            if time.monotonic() - oldest.since < _PATIENCE:
                work = next((each for each in self._waiting if each.best == hand), oldest)
            self._waiting.remove(work)
            return work.what

    def close(self) -> tuple[T, ...]:
        """Send everybody home; what is left undone."""
        with self._changed:
            self._closed = True
            left = tuple(work.what for work in self._waiting)
            self._waiting.clear()
            self._changed.notify_all()
            return left


def car_in(text: str) -> str:
    """The car that a sentence is probably about: a guess, good enough to send it somewhere.

    >>> car_in('what else must change if I fit "A 1" at rear hub to "Wether W2" keeping the wheel?')
    'wether w2'
    >>> car_in("does HD rear hub fit Wether W1 early?")
    'wether w1 early'
    """
    text = " ".join(text[:_LOOKED_AT].split())
    found = [next(filter(None, groups)) for groups in _CAR.findall(text)]
    return found[-1].casefold() if found else text.casefold()
