"""Where questions are worked on: so many at once, so many waiting, so long each."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from .problems import ApiError

T = TypeVar("T")


class Workbench:
    """A few threads that answer questions.

    A question that takes too long is given up on, but its thread only ends when the solver comes
    back: until then it counts as being worked on, so that no more work is taken in than there is
    room for.
    """

    def __init__(self, at_once: int, waiting: int) -> None:
        self._pool = ThreadPoolExecutor(at_once, thread_name_prefix="answering")
        self._room = at_once + waiting
        self._taken = 0
        self._lock = threading.Lock()

    @property
    def taken(self) -> int:
        """How many questions are worked on or wait."""
        return self._taken

    @property
    def is_full(self) -> bool:
        """Whether one more would be told to come back."""
        return self._taken >= self._room

    async def run(self, work: Callable[[], T], seconds: float) -> T:
        """What `work` returns, within `seconds`.

        Raises:
            ApiError: 503 there is no room; 504 it took too long. Whatever `work` raises.
        """
        with self._lock:
            if self._taken >= self._room:
                detail = "Too many questions are waiting: come back in 1 s."
                raise ApiError(503, "busy", "Busy", detail, {"Retry-After": "1"})
            self._taken += 1
        future = self._pool.submit(work)
        future.add_done_callback(lambda _: self._done())
        try:
            return await asyncio.wait_for(asyncio.wrap_future(future), seconds)
        except TimeoutError:
            detail = (
                f"No answer within {seconds:g} s: ask for fewer plans or cars, or ask as a job."
            )
            raise ApiError(504, "took-too-long", "It took too long", detail) from None

    def close(self) -> None:
        """Take no more work."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _done(self) -> None:
        with self._lock:
            self._taken -= 1
