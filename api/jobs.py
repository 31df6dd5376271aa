"""Long work: begun now, looked at later, told about as it goes on, and cancelled if not wanted.

Jobs live as long as the service does. A finished one is kept for a while for whoever began it.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from pydantic import BaseModel

from ..query.errors import QueryError
from ..reasoner.errors import KnockonError
from ..reasoner.upkeep.changes import ChangeConflicts
from .problems import ApiError

_log = logging.getLogger(__name__)
_KEPT_SECONDS = 3600.0
_MOST_EACH, _MOST_ALL = 10, 200


class JobState(StrEnum):
    """How far a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


ENDED = frozenset({JobState.DONE, JobState.FAILED, JobState.CANCELLED})


class Cancelled(Exception):
    """Raised inside a job that is no longer wanted."""


@dataclass(slots=True)
class Job:
    """One piece of long work. `total` is how many steps it has, `about` the one begun last."""

    id: str
    owner: str
    kind: str
    total: int
    done: int = 0
    about: str = ""
    state: JobState = JobState.WAITING
    result: BaseModel | None = None
    problem: dict[str, Any] | None = None
    ended: float = 0.0
    unwanted: threading.Event = field(default_factory=threading.Event)
    listeners: set[Callable[[], None]] = field(default_factory=set)

    def step(self, about: str) -> None:
        """Begin another step.

        Raises:
            Cancelled: the job is no longer wanted.
        """
        if self.unwanted.is_set():
            raise Cancelled
        self.done += bool(self.about)
        self.about = about
        self._tell()

    def end(self, state: JobState) -> None:
        """Note how it ended."""
        if state is JobState.DONE:
            self.done = self.total
        self.about, self.state, self.ended = "", state, time.monotonic()
        self._tell()

    def _tell(self) -> None:
        for listener in tuple(self.listeners):
            listener()


Work = Callable[[Job], BaseModel]


class Jobs:
    """The jobs of a service, worked on one after another."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="job")
        self._jobs: dict[str, Job] = {}
        self._lock = threading.Lock()

    def begin(self, owner: str, kind: str, total: int, work: Work) -> Job:
        """Take work in; it is begun as soon as the jobs before it have ended.

        Raises:
            ApiError: 429, the owner has too many that have not ended; 503, everybody has.
        """
        with self._lock:
            self._forget()
            open_jobs = [job for job in self._jobs.values() if job.state not in ENDED]
            if sum(job.owner == owner for job in open_jobs) >= _MOST_EACH:
                detail = f"At most {_MOST_EACH} jobs may wait or run: cancel one, or wait."
                raise ApiError(429, "too-often", "Too many jobs", detail, {"Retry-After": "5"})
            if len(open_jobs) >= _MOST_ALL:
                detail = "Too many jobs are waiting: come back in 10 s."
                raise ApiError(503, "busy", "Busy", detail, {"Retry-After": "10"})
            job = Job(secrets.token_hex(8), owner, kind, total)
            self._jobs[job.id] = job
        self._pool.submit(_run, job, work)
        return job

    def of(self, owner: str) -> tuple[Job, ...]:
        """An owner's jobs, in the order they were begun."""
        with self._lock:
            self._forget()
            return tuple(job for job in self._jobs.values() if job.owner == owner)

    def find(self, owner: str, job: str) -> Job | None:
        """An owner's job; another's is as unknown as one that never was."""
        found = self._jobs.get(job)
        return found if found is not None and found.owner == owner else None

    def cancel(self, job: Job) -> None:
        """Stop a job at its next step, or forget one that has ended."""
        job.unwanted.set()
        with self._lock:
            if job.state in ENDED:
                self._jobs.pop(job.id, None)

    def close(self) -> None:
        """Stop everything."""
        for job in tuple(self._jobs.values()):
            job.unwanted.set()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _forget(self) -> None:
        before = time.monotonic() - _KEPT_SECONDS
        old = [j.id for j in self._jobs.values() if j.state in ENDED and j.ended < before]
        ended = [j.id for j in self._jobs.values() if j.state in ENDED]
        for name in {*old, *ended[: max(0, len(ended) - _MOST_ALL)]}:
            del self._jobs[name]


def _run(job: Job, work: Work) -> None:
    if job.unwanted.is_set():
        job.end(JobState.CANCELLED)
        return
    job.state = JobState.RUNNING
    try:
        job.result = work(job)
        job.end(JobState.DONE)
    except Cancelled:
        job.end(JobState.CANCELLED)
    except QueryError as error:
        job.problem = error.as_data()
        job.end(JobState.FAILED)
    except ApiError as error:
        job.problem = {"error": error.slug, "message": error.detail}
        job.end(JobState.FAILED)
    except KnockonError as error:
        sort = "conflicts" if isinstance(error, ChangeConflicts) else "refused"
        job.problem = {"error": sort, "message": str(error)}
        job.end(JobState.FAILED)
    except Exception:
        _log.exception("a job of kind %s went wrong", job.kind)
        job.problem = {"error": "inside", "message": "Something went wrong inside."}
        job.end(JobState.FAILED)


class Ticker:
    """Wakes a coroutine whenever a job goes on."""

    def __init__(self, job: Job) -> None:
        self._job, self._loop, self._event = job, asyncio.get_running_loop(), asyncio.Event()

    def __enter__(self) -> Ticker:
        self._job.listeners.add(self._wake)
        return self

    def __exit__(self, *_: object) -> None:
        self._job.listeners.discard(self._wake)

    async def next(self, seconds: float) -> bool:
        """Wait for news, or so long; whether there was any."""
        try:
            await asyncio.wait_for(self._event.wait(), seconds)
        except TimeoutError:
            return False
        self._event.clear()
        return True

    def _wake(self) -> None:
        self._loop.call_soon_threadsafe(self._event.set)
