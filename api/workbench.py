"""Where questions are worked on: so many at once, so many waiting, so long each.

Without a crew of processes a few threads answer; with one, threads do only what else there is.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Final, TypeVar

from ..query.batch import Asks
from ..query.desk import Desk
from .asked import Asked, worked_out
from .crew import AskedOfCrew, Crew, took_too_long
from .hand import State
from .problems import ApiError

T = TypeVar("T")
_LONG: Final = 600.0
"""Seconds for one question that nobody waits for."""


class Workbench:
    """A few threads, and perhaps a crew of processes, that answer questions.

    A question that takes too long is given up on. Its process is ended; its thread only ends when
    the solver comes back: until then it counts as being worked on, so that no more work is taken in
    than there is room for.
    """

    def __init__(self, at_once: int, waiting: int, processes: int = 0) -> None:
        self._pool = ThreadPoolExecutor(at_once, thread_name_prefix="answering")
        self._room = at_once + waiting
        self._taken = 0
        self._lock = threading.Lock()
        self._processes = processes if processes > 1 else 0
        self._crew: Crew | None = None

    def start(self, state: State) -> None:
        """Begin to have processes ready to answer."""
        if self._crew is None and self._processes:
            self._crew = Crew(self._processes)
        self.serve(state)

    def serve(self, state: State) -> None:
        """Have every process open the catalogue that is answered from now on."""
        if self._crew is not None:
            self._crew.serve(state)

    @property
    def crew(self) -> Crew | None:
        """The processes, while there are some."""
        return self._crew

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
        return await self._within(seconds, lambda: self._pool.submit(work))

    async def answer(self, desk: Desk, tag: str, asked: Asked, seconds: float) -> bytes:
        """The answer of a desk to a question, in its form; `tag` names all that the desk has.

        Raises:
            ApiError: as `run`; 503 the processes died over it. QueryError, KnockonError: it is not
            understood, or cannot be answered in that form.
        """
        crew = self._crew
        if crew is None:
            return await self.run(lambda: worked_out(desk, asked), seconds)
        return await self._within(seconds, lambda: crew.ask(state_of(desk, tag), asked, seconds))

    def asker(self, desk: Desk, tag: str, seconds: float = _LONG) -> Asks:
        """The desk, or whoever answers for it, for work that goes on beside the requests."""
        return desk if self._crew is None else AskedOfCrew(self._crew, state_of(desk, tag), seconds)

    async def _within(self, seconds: float, begin: Callable[[], Future[T]]) -> T:
        with self._lock:
            if self._taken >= self._room:
                detail = "Too many questions are waiting: come back in 1 s."
                raise ApiError(503, "busy", "Busy", detail, {"Retry-After": "1"})
            self._taken += 1
        future = begin()
        future.add_done_callback(lambda _: self._done())
        try:
            return await asyncio.wait_for(asyncio.wrap_future(future), seconds)
        except TimeoutError:
            raise took_too_long(seconds) from None

    def close(self) -> None:
        """Take no more work."""
        if self._crew is not None:
            self._crew.close()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _done(self) -> None:
        with self._lock:
            self._taken -= 1


def state_of(desk: Desk, tag: str) -> State:
    """All that the answers of a desk depend on, to be sent to a process."""
    return State(tag, desk.catalogue, desk.stock, desk.builds, desk.questions)
