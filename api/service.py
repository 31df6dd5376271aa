"""Everything that requests share: the catalogue's desk, the shop's files, work and figures."""

from __future__ import annotations

import copy
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from ..query.batch import Asks
from ..query.desk import Desk
from ..reasoner.catalogue import Catalogue
from .admission import Caller
from .etags import tag_of
from .hand import State
from .jobs import Jobs
from .kept_at_hand import KeptAtHand
from .keys import KEYS_FILE, KeyRing, Scope
from .metrics import Metrics
from .remembered import Remembered
from .saved_questions import SavedQuestions
from .settings import Settings
from .shelf import Shelf
from .showing import Showing
from .webhooks import Courier, Watch
from .workbench import Workbench, state_of


@dataclass(frozen=True, slots=True)
class Counter:
    """The desk as one caller sees it, and a tag that changes whenever an answer might."""

    desk: Desk
    tag: str


class Service:
    """What one application serves from. `replace` puts a new catalogue in place of the old."""

    def __init__(self, desk: Desk, settings: Settings) -> None:
        self.settings = settings
        self.ring = None if settings.shop is None else KeyRing(settings.shop / KEYS_FILE)
        self.shelf = Shelf(settings.shop)
        self.workbench = Workbench(settings.answering, settings.waiting, settings.workers)
        self.remembered = Remembered()
        self.at_hand = KeptAtHand()
        self.jobs = Jobs()
        self.metrics = Metrics(lambda: self.workbench.taken)
        self.saved = SavedQuestions(settings.shop)
        self.courier = Courier(
            settings.webhook_hosts, lambda how: self.metrics.deliveries.labels(how).inc()
        )
        self._desk = desk
        self.showing = _showing(desk)
        self._watching: threading.Thread | None = None
        self._reading = threading.Lock()
        self.metrics.serving(desk.catalogue.version)

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue that answers now."""
        return self._desk.catalogue

    @property
    def desk(self) -> Desk:
        """The desk of the catalogue, without anybody's stock or builds."""
        return self._desk

    def counter(self, caller: Caller) -> Counter:
        """The desk with the shop's stock and the caller's own builds.

        Raises:
            ShopFileError: a file of the shop cannot be used.
        """
        desk = self._desk
        if self.settings.shop is None:
            return Counter(desk, tag_of(desk.catalogue.version))
        kept = self.shelf.builds(caller.owner, desk.catalogue)
        stock = self.shelf.stock(desk.catalogue)
        # Names, mates and words are the catalogue's and shared; stock and builds are the caller's.
        own = copy.copy(desk)
        own.stock, own.builds = stock.items, dict(kept.builds)
        return Counter(own, tag_of(desk.catalogue.version, kept.tag, stock.tag))

    def start(self) -> None:
        """Begin what goes on beside the requests."""
        self.workbench.start(self._state)
        self.courier.start()
        self._watch()

    @property
    def _state(self) -> State:
        return state_of(self._desk, tag_of(self.catalogue.version))

    def replace(self, catalogue: Catalogue) -> None:
        """Answer from another catalogue from now on, and tell whoever wants to know."""
        if catalogue.version == self.catalogue.version:
            return
        desk = Desk(catalogue, questions=self._desk.questions)
        self._desk, self.showing = desk, _showing(desk)
        self.metrics.serving(catalogue.version)
        self.workbench.serve(self._state)
        self._watch()

    def reload(self, load: Callable[[], Catalogue]) -> bool:
        """Read the catalogue again; whether it has changed.

        Raises:
            CatalogueFileError, CatalogueRefused: it cannot be used; the old one goes on answering.
        """
        with self._reading:
            before = self.catalogue.version
            self.replace(load())
            return self.catalogue.version != before

    def close(self) -> None:
        """End everything."""
        self.courier.close()
        self.jobs.close()
        self.workbench.close()

    def _watch(self) -> None:
        """Look whether answers to saved questions have changed, beside the requests."""
        watch = Watch(self.saved, self.courier, self._as_owner)
        self._watching = threading.Thread(
            target=watch.look, args=(self.catalogue.version,), name="watch", daemon=True
        )
        self._watching.start()

    def watched(self) -> None:
        """Wait until saved questions have been looked at; for tests and an orderly end."""
        if self._watching is not None:
            self._watching.join()

    def _as_owner(self, owner: str) -> Asks:
        counter = self.counter(Caller("", owner, Scope.ASK, self.settings.allowance))
        return self.workbench.asker(counter.desk, counter.tag)


def _showing(desk: Desk) -> Showing:
    return Showing(desk.catalogue, desk.composer, desk.mating.places)


def service_of(request: Request) -> Service:
    """What the application serves from."""
    service = request.app.state.service
    assert isinstance(service, Service)
    return service


Served = Annotated[Service, Depends(service_of)]
