"""A process that answers questions one at a time, so that a question can really be cancelled.

What was said before (the conversation) stays with whoever asks and travels with each question: a
process that is ended half-way takes nothing with it.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from ..reasoner.errors import CatalogueFileError, CatalogueRefused, KnockonError
from .answer import Answer
from .child import started
from .conversation import Conversation
from .errors import QueryError
from .names import NameIndex
from .report import Report

_LOOK_EVERY = 0.1


class CatalogueUnusable(KnockonError):
    """The catalogue or the shop's files cannot be used; nothing can be asked."""


class Unanswered(KnockonError):
    """The question was understood, but answering it went wrong inside."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An answer, and the conversation as it goes on from there."""

    reply: Answer | Report
    talk: Conversation


class Worker:
    """Answers over the catalogue in `data` with the stock in `shop`, in a process of its own."""

    def __init__(self, data: Path | None, shop: Path | None = None) -> None:
        self._data, self._shop = data, shop
        self._process: BaseProcess | None = None
        self._line: Connection | None = None
        self._index: NameIndex | None = None

    def start(self) -> None:
        """Begin reading the catalogue; returns at once."""
        if self._process is not None and self._process.is_alive():
            return
        self.stop()
        context = multiprocessing.get_context("spawn")
        self._line, theirs = context.Pipe()
        self._process = context.Process(
            target=_answering, args=(theirs, self._data, self._shop), daemon=True
        )
        started(self._process)
        theirs.close()

    def stop(self) -> None:
        """End the process, whatever it is doing."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
        if self._line is not None:
            self._line.close()
        self._process = self._line = None

    def names(self) -> NameIndex | None:
        """The names of the catalogue, once it has been read; for completion."""
        # The first message is the names; later ones are taken by `ask` alone.
        if self._index is None and self._line is not None:
            with suppress(EOFError, OSError, CatalogueUnusable):
                if self._line.poll():
                    self._ready(self._line.recv())
        return self._index

    def ask(
        self,
        text: str,
        talk: Conversation,
        *,
        plans: int = 3,
        waiting: Callable[[float], None] = lambda _: None,
    ) -> Heard:
        """The answer to one sentence; `waiting` is called with the seconds waited, often.

        A KeyboardInterrupt while waiting, also one raised by `waiting`, ends the process: the next
        question starts another.

        Raises:
            QueryError: the sentence is not understood.
            CatalogueUnusable, Unanswered: see there.
        """
        self.start()
        try:
            assert self._line is not None
            self._line.send((text, plans, talk))
            waited = 0.0
            while True:
                while not self._line.poll(_LOOK_EVERY):
                    waited += _LOOK_EVERY
                    waiting(waited)
                sort, value = self._line.recv()
                if sort in ("ready", "unusable"):
                    self._ready((sort, value))
                    continue
                return _heard(sort, value)
        except KeyboardInterrupt:
            self.stop()
            raise
        except (EOFError, OSError):
            self.stop()
            raise Unanswered(
                "Answering ended before it was done; the question may need more memory than there "
                "is. Ask for less."
            ) from None

    def _ready(self, message: tuple[str, Any]) -> None:
        sort, value = message
        if sort == "unusable":
            self.stop()
            raise CatalogueUnusable(value)
        self._index = value


def _heard(sort: str, value: Any) -> Heard:
    if sort == "heard":
        heard: Heard = value
        return heard
    if sort == "error":
        kind, problem = value
        error: QueryError = kind(problem)
        raise error
    raise Unanswered(value)


# ---------------------------------------------------------------------- in the process


def _answering(line: Connection, data: Path | None, shop: Path | None) -> None:
    from ..reasoner.load import load_catalogue
    from .desk import Desk
    from .shop import Shop, ShopFileError, open_shop

    with suppress(EOFError, BrokenPipeError):
        try:
            catalogue = load_catalogue(data)
            ours = Shop() if shop is None else open_shop(shop, catalogue)
        except (CatalogueFileError, CatalogueRefused, ShopFileError) as error:
            line.send(("unusable", str(error)))
            return
        desk = Desk(catalogue, ours.stock, ours.builds, ours.questions)
        line.send(("ready", desk.index))
        while True:
            text, plans, talk = line.recv()
            try:
                line.send(("heard", Heard(desk.ask(text, plans=plans, talk=talk), talk)))
            except QueryError as error:
                line.send(("error", (type(error), error.problem)))
            except Exception as error:  # the session goes on, whatever one question does
                line.send(("failed", f"This could not be answered: {error or type(error)}."))
