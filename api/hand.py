"""One process that answers questions, and the end of the line to it that the service holds.

The process has the catalogues that questions were asked of lately: those that are compiled are
opened read-only, so that all processes share their pages. What else an answer depends on, a shop's
stock and somebody's builds, is sent along with the first question about it.
"""

from __future__ import annotations

import gc
import itertools
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import time
import traceback
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from copy import copy
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import ModuleType
from typing import Any, Final

from ..query.child import started
from ..query.desk import Desk
from ..query.errors import QueryError
from ..reasoner.build import Build
from ..reasoner.catalogue import Catalogue
from ..reasoner.collecting import tidy
from ..reasoner.errors import KnockonError
from ..reasoner.supply import StockItem
from .asked import Asked, worked_out

MOST_CATALOGUES: Final = 2
"""Kept in a process: the one that answers now, and the one before, which is still asked of."""
MOST_STATES: Final = 64
_TIDY_AFTER: Final = 64
"""Answers after which cycles are looked for."""
_STARTING: Final = threading.Lock()


@dataclass(frozen=True, slots=True)
class State:
    """What an answer depends on beside the question; `tag` names all of it."""

    tag: str
    catalogue: Catalogue
    stock: tuple[StockItem, ...]
    builds: Mapping[str, Build]
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Order:
    """What is sent to the process. What it has already is not sent again."""

    version: str
    tag: str
    catalogue: Catalogue | None = None
    state: tuple[tuple[StockItem, ...], dict[str, Build], tuple[str, ...]] | None = None
    asked: Asked | None = None
    """None: only make everything ready."""


class Dropped(Exception):
    """The process ended before it had answered."""


class TooLate(Exception):
    """The process had not answered in time, and was ended."""


class Failed(Exception):
    """Something went wrong inside; holds the traceback, for the log."""


class Unopened(Exception):
    """The process cannot open the catalogue; says why."""


@dataclass(slots=True)
class _Known:
    """What the process has, by version and by tag, what was used last at the end."""

    versions: OrderedDict[str, None] = field(default_factory=OrderedDict)
    tags: OrderedDict[str, None] = field(default_factory=OrderedDict)


class Hand:
    """The service's end of one process, for the one thread that uses it."""

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self._known = _Known()
        self._retired = False

    @property
    def process(self) -> int | None:
        """The number of the process, while there is one."""
        return None if self._process is None else self._process.pid

    def ready(self, state: State, ends: float) -> None:
        """Have the catalogue open. Raises as `answer`."""
        self._exchange(state, None, ends)

    def answer(self, state: State, asked: Asked, ends: float) -> bytes:
        """The answer; `ends` is when it must be there at the latest, by the monotonic clock.

        Raises:
            TooLate, Dropped, Failed: see there. QueryError, KnockonError: as answering does.
        """
        return self._exchange(state, asked, ends)

    def _exchange(self, state: State, asked: Asked | None, ends: float) -> bytes:
        try:
            line = self._started()
            line.send_bytes(pickle.dumps(self._order(state, asked), pickle.HIGHEST_PROTOCOL))
            if not line.poll(max(0.0, ends - time.monotonic())):
                self.stop()
                raise TooLate
            sort, value = line.recv()
        except (EOFError, OSError):
            self.stop()
            raise Dropped from None
        if sort == "unopened":
            self.stop()
            raise Unopened(value)
        return _body(sort, value)

    def retire(self) -> None:
        """End the process, whatever it is doing, and start no other. From any thread."""
        with _STARTING:
            self._retired = True
            if self._process is not None:
                self._process.kill()

    def stop(self) -> None:
        """End the process, whatever it is doing."""
        with _STARTING:
            process, self._process = self._process, None
            line, self._line = self._line, None
        self._known = _Known()
        if process is not None:
            process.kill()
            process.join()
        if line is not None:
            line.close()

    def _started(self) -> Connection:
        with _STARTING:  # starting one looks at all children of this process
            if self._retired:
                raise EOFError
            if self._process is None or self._line is None or not self._process.is_alive():
                context = _context()
                self._known = _Known()
                self._line, theirs = context.Pipe()
                process = context.Process(
                    target=_answering, args=(theirs,), name="answering", daemon=True
                )
                with _no_program():
                    started(process)
                theirs.close()
                self._process = process
            return self._line

    def _order(self, state: State, asked: Asked | None) -> _Order:
        version, tag = state.catalogue.version, state.tag
        has_catalogue = _noted(self._known.versions, version, MOST_CATALOGUES)
        has_state = _noted(self._known.tags, tag, MOST_STATES)
        return _Order(
            version,
            tag,
            None if has_catalogue else state.catalogue,
            None if has_state else (state.stock, dict(state.builds), state.questions),
            asked,
        )


def _noted(known: OrderedDict[str, None], name: str, most: int) -> bool:
    """Whether it was known already. Both ends of the line forget the same."""
    found = name in known
    known[name] = None
    known.move_to_end(name)
    while len(known) > most:
        known.popitem(last=False)
    return found


def _body(sort: str, value: Any) -> bytes:
    if sort == "body":
        body: bytes = value
        return body
    if sort == "query":
        kind, problem = value
        error: QueryError = kind(problem)
        raise error
    if sort == "refused":
        raise KnockonError(value)
    raise Failed(value)


def _context() -> Any:
    # Processes that are forked from one that has everything imported start at once and share it.
    # That one has no threads, unlike the service itself, which therefore must not be forked.
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["knockon.api.hand_ready"])
        return context
    return multiprocessing.get_context("spawn")


@contextmanager
def _no_program() -> Iterator[None]:
    """Keep a new process from running once more the program that this one was started with."""
    program = sys.modules["__main__"]
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = program


# ---------------------------------------------------------------------- in the process


def _answering(line: Connection) -> None:
    """Answer until the line is closed at the other end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, name="parent", daemon=True).start()
    # What was shared at the start stays so, and cycles are looked for between answers.
    gc.freeze()
    gc.disable()
    desks: OrderedDict[str, Desk] = OrderedDict()
    states: OrderedDict[str, tuple[Any, Any, Any]] = OrderedDict()
    with suppress(EOFError, BrokenPipeError):
        for count in itertools.count(1):
            sent = line.recv_bytes()
            try:
                order = _taken_in(sent, desks, states)
            except Exception as error:
                line.send(("unopened", str(error) or type(error).__name__))
                continue
            line.send(_outcome(order, desks, states))
            if count % _TIDY_AFTER == 0:
                tidy()


def _taken_in(
    sent: bytes, desks: OrderedDict[str, Desk], states: OrderedDict[str, tuple[Any, Any, Any]]
) -> _Order:
    # What comes down the line was made by the service that started this process.
    order: _Order = pickle.loads(sent)
    if order.catalogue is not None:
        desks[order.version] = Desk(order.catalogue)
    if order.state is not None:
        states[order.tag] = order.state
    _forget(desks, order.version, MOST_CATALOGUES)
    _forget(states, order.tag, MOST_STATES)
    return order


def _outcome(
    order: _Order, desks: OrderedDict[str, Desk], states: OrderedDict[str, tuple[Any, Any, Any]]
) -> tuple[str, Any]:
    try:
        if order.asked is None:
            return "body", b""
        desk = copy(desks[order.version])
        desk.stock, desk.builds, desk.questions = states[order.tag]
        return "body", worked_out(desk, order.asked)
    except QueryError as error:
        return "query", (type(error), error.problem)
    except KnockonError as error:
        return "refused", str(error)
    except Exception:  # the service goes on, whatever one question does
        return "failed", traceback.format_exc()


def _forget(kept: OrderedDict[str, Any], used: str, most: int) -> None:
    kept.move_to_end(used)
    while len(kept) > most:
        kept.popitem(last=False)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)
