"""Token buckets: so many requests a second, and so many at once."""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

_MOST_CALLERS = 10_000


@dataclass(slots=True)
class _Bucket:
    left: float
    at: float


class Buckets:
    """One bucket a caller. A caller that was not seen for long starts with a full one."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._buckets: OrderedDict[str, _Bucket] = OrderedDict()

    def take(self, caller: str, rate: float, burst: int) -> float:
        """Take one token: 0 if there was one, else the seconds until there is.

        >>> buckets = Buckets(clock=lambda: 0.0)
        >>> [buckets.take("desk", rate=2, burst=2) for _ in range(3)]
        [0.0, 0.0, 0.5]
        """
        return self._take(caller, rate, burst, 1.0)

    def would(self, caller: str, rate: float, burst: int) -> float:
        """The seconds until there is a token, without taking it."""
        return self._take(caller, rate, burst, 0.0)

    def _take(self, caller: str, rate: float, burst: int, tokens: float) -> float:
        now = self._clock()
        bucket = self._buckets.pop(caller, None) or _Bucket(float(burst), now)
        bucket.left = min(float(burst), bucket.left + (now - bucket.at) * rate)
        bucket.at = now
        self._buckets[caller] = bucket
        if len(self._buckets) > _MOST_CALLERS:
            self._buckets.popitem(last=False)
        if bucket.left < 1:
            return (1 - bucket.left) / rate
        bucket.left -= tokens
        return 0.0
