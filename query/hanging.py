"""What hangs on a joint that nobody has proven: the stock builds and saved questions that turn."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from weakref import WeakKeyDictionary

from ..reasoner.build import Build, as_it_stands, stock_build
from ..reasoner.cascade import find_cascade
from ..reasoner.interfaces.kind import Outcome
from ..reasoner.mating import PROVEN, Mating
from ..reasoner.problem import Wishes
from ..reasoner.reasons import Meeting
from ..reasoner.supply import Supply
from . import syntax as s
from .errors import QueryError
from .parse import parse
from .wishes import Resolver

Met = tuple[str, tuple[str | None, ...]]
"""A joint and the ends that meet there."""


@dataclass(frozen=True, slots=True)
class Meant:
    """What a question about a change to a car means."""

    build: Build
    wishes: Wishes
    supply: Supply


@dataclass(slots=True)
class Hanging:
    """By meeting: the stock builds (names) that have it, and the questions that turn on it."""

    builds: Mapping[Met, list[str]] = field(default_factory=dict)
    questions: dict[Met, list[str]] = field(default_factory=dict)
    meetings: dict[Met, tuple[str, Meeting]] = field(default_factory=dict)
    """The meetings that questions turn on, with the car that was asked about."""

    def about(self, cars: Collection[str]) -> dict[Met, Meeting]:
        """The meetings that questions about one of the cars turn on."""
        return {met: meeting for met, (car, meeting) in self.meetings.items() if car in cars}

    def on(self, met: Iterable[Met]) -> tuple[list[str], list[str]]:
        """The builds and questions of which at least one of the meetings decides."""
        wanted = list(met)
        tables: tuple[Mapping[Met, list[str]], ...] = (self.builds, self.questions)
        builds, questions = (
            list(dict.fromkeys(name for each in wanted for name in table.get(each, ())))
            for table in tables
        )
        return builds, questions


def meant(resolver: Resolver, text: str) -> Meant | None:
    """What a question about a change means; None for any other sentence, or if it means nothing."""
    try:
        sentence = parse(text, resolver.sound)
        if not isinstance(sentence, s.KnockOns | s.Checks | s.UnprovenIf):
            return None
        change = sentence.change
        build = resolver.build(change.car)
        wishes = resolver.wishes(resolver.fittings(change.fits, build), change.terms, build)
        return Meant(build, wishes, resolver.supply(change.terms))
    except QueryError:
        return None


_OF_STOCK: WeakKeyDictionary[Mating, dict[Met, list[str]]] = WeakKeyDictionary()


def _stock_builds(mating: Mating) -> Mapping[Met, list[str]]:
    """By meeting that nobody has proven the cars that left the works with it; looked at once."""
    found = _OF_STOCK.get(mating)
    if found is None:
        found = {}
        for car in mating.catalogue.cars.values():
            car_stands = as_it_stands(mating, stock_build(mating.catalogue, car))
            for mate in car_stands.mates_amiss(mating):
                if mate.under(PROVEN) is Outcome.UNPROVEN:
                    found.setdefault((mate.joint, mate.ends), []).append(car.label)
        _OF_STOCK[mating] = found
    return found


def hanging(mating: Mating, resolver: Resolver, questions: Iterable[str]) -> Hanging:
    """What hangs on unproven joints: whether builds are sound, and how questions turn."""
    found = Hanging(_stock_builds(mating))
    for text in dict.fromkeys(questions):
        asked = meant(resolver, text)
        if asked is None:
            continue
        cascade = find_cascade(mating, asked.build, asked.wishes, asked.supply)
        for check in cascade.checks:
            if check.decides:
                for meeting in check.meetings:
                    met = (meeting.mate.joint, meeting.mate.ends)
                    found.questions.setdefault(met, []).append(text)
                    found.meetings.setdefault(met, (asked.build.car, meeting))
    return found
