"""A few processes that answer questions side by side; one that dies or takes too long is replaced.

Each process has a thread of the service that gives it one question at a time.
"""

from __future__ import annotations

import logging
import pickle
import threading
import time
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Final

from ..query.answer import Answer
from ..query.conversation import Conversation
from ..query.report import Report
from .asked import VALUE, Asked
from .hand import Dropped, Failed, Hand, State, TooLate, Unopened
from .problems import ApiError
from .turns import Turns, car_in

_log = logging.getLogger(__name__)
_TO_GET_READY: Final = 120.0


@dataclass(frozen=True, slots=True)
class _Task:
    """A question that waits for its turn; `asked` None: see that the catalogue is open."""

    state: State
    asked: Asked | None
    ends: float
    seconds: float
    answer: Future[bytes]


class Crew:
    """So many processes, over whichever catalogue a question is asked of."""

    def __init__(self, size: int) -> None:
        self._turns: Turns[_Task] = Turns(size)
        self._hands = tuple(Hand() for _ in range(size))
        self._threads = tuple(
            threading.Thread(target=self._work, args=(at, hand), name=f"hand {at}", daemon=True)
            for at, hand in enumerate(self._hands)
        )
        self._closing = threading.Event()
        self._current: State | None = None
        for thread in self._threads:
            thread.start()

    @property
    def processes(self) -> tuple[int, ...]:
        """The numbers of the processes there are."""
        return tuple(hand.process for hand in self._hands if hand.process is not None)

    def serve(self, state: State) -> tuple[Future[bytes], ...]:
        """Have every process open a catalogue, before anybody asks anything of it."""
        self._current = state
        return tuple(self._put(state, None, _TO_GET_READY) for _ in self._hands)

    def ask(self, state: State, asked: Asked, seconds: float) -> Future[bytes]:
        """The answer, as soon as a process has had time for it.

        It raises what answering raises, and ApiError: 503 the processes died over it, 504 it took
        too long.
        """
        return self._put(state, asked, seconds)

    def close(self) -> None:
        """End all processes, whatever they are doing."""
        self._closing.set()
        for task in self._turns.close():  # nobody is left waiting
            task.answer.cancel()
        for hand in self._hands:
            hand.retire()
        for thread in self._threads:
            thread.join()

    def _put(self, state: State, asked: Asked | None, seconds: float) -> Future[bytes]:
        task = _Task(state, asked, time.monotonic() + seconds, seconds, Future())
        about = "" if asked is None else car_in(f"{asked.after} {asked.text}")
        if not self._turns.put(task, about):
            task.answer.cancel()
        return task.answer

    # ------------------------------------------------------------------ in the threads

    def _work(self, number: int, hand: Hand) -> None:
        while (task := self._turns.take(number)) is not None:
            if not task.answer.set_running_or_notify_cancel():
                continue
            try:
                task.answer.set_result(self._answered(hand, task))
            except BaseException as error:
                task.answer.set_exception(error)
            if hand.process is None:
                self._replace(hand)
        hand.stop()

    def _answered(self, hand: Hand, task: _Task) -> bytes:
        for last in (False, True):
            try:
                if time.monotonic() >= task.ends:
                    raise TooLate
                if task.asked is None:
                    hand.ready(task.state, task.ends)
                    return b""
                return hand.answer(task.state, task.asked, task.ends)
            except Dropped:
                _log.warning("an answering process has ended; another takes its place")
                if last or self._closing.is_set():
                    break
            except TooLate:
                raise took_too_long(task.seconds) from None
            except Unopened as error:
                _log.error("an answering process cannot open the catalogue: %s", error)
                detail = "The catalogue cannot be opened just now; the service's log says why."
                raise ApiError(503, "catalogue-unusable", "Cannot answer", detail) from None
            except Failed as error:
                _log.error("a question went wrong:\n%s", error)
                raise RuntimeError("a question went wrong") from None
        detail = (
            "Answering ended before it was done; the question may need more memory than there is: "
            "ask for fewer plans or cars."
        )
        raise ApiError(503, "ended", "Answering ended", detail)

    def _replace(self, hand: Hand) -> None:
        """Make another process ready, before a question has to wait for it."""
        if self._current is not None and not self._closing.is_set():
            try:
                hand.ready(self._current, time.monotonic() + _TO_GET_READY)
            except (Dropped, TooLate, Unopened, Failed) as error:
                _log.error("an answering process could not be replaced: %r", error)


@dataclass(frozen=True, slots=True)
class AskedOfCrew:
    """Answers as a desk does, by having a crew answer; each question within `seconds`."""

    crew: Crew
    state: State
    seconds: float

    def ask(
        self, text: str, *, plans: int = 3, talk: Conversation | None = None
    ) -> Answer | Report:
        """See `Desk.ask`. Raises besides: ApiError, as `Crew.ask`."""
        talk = Conversation() if talk is None else talk
        asked = Asked(text, VALUE, plans, talk=talk)
        # It was made by a process of our own.
        reply, after = pickle.loads(self.crew.ask(self.state, asked, self.seconds).result())
        talk.last, talk.builds = after.last, after.builds
        found: Answer | Report = reply
        return found


def took_too_long(seconds: float) -> ApiError:
    """504: say what would be quicker."""
    detail = f"No answer within {seconds:g} s: ask for fewer plans or cars, or ask as a job."
    return ApiError(504, "took-too-long", "It took too long", detail)
