"""Which parts of a catalogue come in question for one question about one car.

In a small catalogue all parts do that can sit on the car. In a large one the scout brings those
that plans of fewest changes can take, in every reading a question rests on: what is unproven mates;
what is unproven clashes; one joint that is unproven clashes; and, where nothing is workable, what
would be if one wish were given up. Where nothing is workable, the parts nearest to what is fitted
come in question.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import reduce
from operator import and_, or_

from .build import AsItStands, Build
from .car_links import CarLinks
from .catalogue import Standing
from .chain_trial import is_doubtful_chain
from .mating import Mating
from .offered import Offered
from .part_sets import bits_of
from .places import end_key
from .reason import Blamed
from .scouting import MOST_WAYS, Scout
from .supply import Offers
from .supports import Supports
from .trial import Trial

SMALL = 500
"""If no more parts than these can sit on a car, all of them come in question."""

Ways = tuple[frozenset[str], ...]

TOLD = 120
"""Of so many parts it can be told why none of them helps."""


@dataclass(frozen=True, slots=True)
class Readings:
    """The ways of each reading that was looked at: see `verdicts.Verdicts`.

    `refuted` are those in which a joint does not fit of which something is unproven. None where
    not all were looked for. `blamed` says of stations that change in the kindly reading why they
    must, as long as some others stay: of one that need not change all that do not in the first way
    in which it does.
    """

    kindly: Ways | None = None
    strictly: Ways | None = None
    refuted: Mapping[str, Ways | None] = field(default_factory=dict)
    blamed: Mapping[str, tuple[frozenset[str], Blamed]] = field(default_factory=dict)


def smallest_first(ways: Iterable[frozenset[str]]) -> Ways:
    """Ways in the order in which they are told."""
    return tuple(sorted(ways, key=lambda way: (len(way), sorted(way))))


def everything(mating: Mating, build: Build) -> dict[str, tuple[str, ...]]:
    """Per station of the car every part of the catalogue that can sit there."""
    return {station: mating.places.sitting(station) for station in build.fits}


def is_small(mating: Mating, build: Build) -> bool:
    """Whether so few parts can sit on the car that none need be left out."""
    return sum(len(mating.places.sitting(station)) for station in build.fits) <= SMALL


@dataclass(frozen=True, slots=True)
class Sought:
    """What is fitted, what stays, what is not to be newly fitted (None if nothing was said of it);
    and whether nothing unproven will do."""

    fits: Mapping[str, str]
    keeps: Collection[str] = ()
    refused: Container[str] | None = None
    only_proven: bool = False

    def on(self, build: Build) -> Sought:
        """The same on a build: to ask for what is there is to keep it."""
        there = {station for station, part in self.fits.items() if part == build.fits[station]}
        fits = {s: p for s, p in self.fits.items() if s not in there}
        return replace(self, fits=fits, keeps=there.union(self.keeps))


def in_question(
    mating: Mating, car: AsItStands, offers: Offers, floor: Standing, sought: Sought
) -> tuple[dict[str, tuple[str, ...]], Readings]:
    """Per station the parts besides the present one, in the catalogue's order; and the ways."""
    search = _Search(mating, car, offers, floor, sought)
    parts = search.parts()
    return parts, Readings(search.kindly, search.strictly, search.refuted, search.blamed)


def fewest(
    mating: Mating, car: AsItStands, offers: Offers, floor: Standing, sought: Sought
) -> tuple[frozenset[str] | None, frozenset[str] | None]:
    """The fewest stations beside the fitted ones that must change, and the fewest where only what
    is proven fits; of several the first in order. None where nothing is workable."""
    return _Search(mating, car, offers, floor, sought).fewest()


class _Search:
    """Gathers what comes in question in all readings of one question."""

    def __init__(
        self, mating: Mating, car: AsItStands, offers: Offers, floor: Standing, sought: Sought
    ) -> None:
        self._sought, self._car = sought.on(car.build), car
        self._supports = Supports.of(mating, floor)
        self._offered = Offered(self._supports.sets, offers, car.build)
        self._links = CarLinks.of(self._supports, car.build.fits, car.joints)
        self._found: dict[str, dict[str, None]] = {}
        self.kindly: Ways | None = None
        self.strictly: Ways | None = None
        self.refuted: dict[str, Ways | None] = {}
        self.blamed: dict[str, tuple[frozenset[str], Blamed]] = {}

    def parts(self) -> dict[str, tuple[str, ...]]:
        with closing(self._scout(self._sought)) as kindly:
            ways = kindly.ways()
            self.kindly = self.strictly = _named(kindly, ways)
            if ways:
                self._take(kindly, ways)
                self._blame(kindly, ways)
                self._other_readings(kindly, ways)
            else:
                for fewer in _one_given_up(self._sought):
                    with closing(self._scout(fewer)) as asking_less:
                        self._take(asking_less, asking_less.ways())
                self._around(kindly.trial)
        return {station: tuple(sorted(parts)) for station, parts in sorted(self._found.items())}

    def fewest(self) -> tuple[frozenset[str] | None, frozenset[str] | None]:
        only_proven = self._sought.only_proven
        with closing(self._scout(self._sought)) as kindly:
            least = None if only_proven else kindly.least()
            if least is None and not only_proven:
                return None, None
            with closing(_stricter(kindly, self._links.joints)) as strict:
                proven = strict.least(least)
                named = None if proven is None else kindly.trial.named(proven)
                return named if least is None else kindly.trial.named(least), named

    def _scout(self, wishes: Sought) -> Scout:
        refused = wishes.refused or ()
        trial = Trial(
            self._supports, self._car, self._links, self._offered,
            forced=wishes.fits, held=wishes.keeps, refused=refused,
        )  # fmt: skip
        walls = trial.walls()
        if any(s in wishes.keeps or part in refused for s, part in wishes.fits.items()):
            walls.append(0)  # such wishes cannot be met, whatever changes
        return Scout(trial, walls)

    def _take(self, scout: Scout, ways: Sequence[int], *, complete: bool = True) -> None:
        """Take in what the stations of some ways may take."""
        scout.brought = {} if complete else scout.brought
        for way in ways if complete else ():
            scout.complete(way)
        for station, parts in scout.parts():
            self._found.setdefault(station, {}).update(dict.fromkeys(parts))

    def _blame(self, kindly: Scout, ways: Sequence[int]) -> None:
        """Why the stations of the ways change."""
        trial = kindly.trial
        told = {frozenset(trial.named(way).union(trial.forced)): way for way in ways}
        first = [told[way] for way in smallest_first(told)]
        always, once = reduce(and_, ways), reduce(or_, ways)
        for number in bits_of(once):
            station = 1 << number
            # Whatever else changes, it must; else at least where nothing else of a way does.
            found = kindly.blamed(station, trial.every) if always & station else None
            if found is None:
                found = kindly.blamed(station, next(way for way in first if way & station))
            if found is not None:
                self.blamed[trial.movable[number]] = trial.named(found[0] & trial.every), found[1]

    def _other_readings(self, kindly: Scout, ways: Sequence[int]) -> None:
        """Where something in question is unproven: what if none of it held, or one did not?"""
        doubts = self._doubtful(kindly.trial)
        if not doubts:
            return
        plans = {way: kindly.plans[way] for way in ways}
        with closing(_stricter(kindly, self._links.joints)) as strict:
            # What works where nothing unproven holds works where one thing does not, and what
            # stands in the way where one does not does where none holds.
            sure = strict.still(plans)
            learnt: list[int] = []
            others: dict[tuple[int, ...], Scout] = {}
            for doubt in doubts if len(sure) < len(ways) else ():
                with closing(_stricter(kindly, [doubt], strict)) as one:
                    found = one.ways(plans, sure, others)
                    self.refuted[doubt] = _named(one, found)
                    self._take(one, found, complete=False)
                    learnt += one.walls
            strict.learn(learnt)
            found = strict.ways(plans, sure)
            self.strictly = _named(strict, found)
            self._take(strict, found, complete=self._sought.only_proven)

    def _doubtful(self, trial: Trial) -> list[str]:
        """The joints at which something unproven may come about."""
        sets, there = self._supports.sets, {}
        for station, parts in self._found.items():
            bits = (sets.bit(station, part) for part in parts)
            there[station] = reduce(or_, bits, trial.kept(station))
        changing = {*there, *trial.forced}
        found = set()
        for joint, pairs in self._links.pairs_of.items():
            if any(
                changing.intersection(s for s, _ in pair.seats) and trial.is_doubtful(pair, there)
                for pair in pairs
            ):
                found.add(joint)
        for chain in self._links.chain_of.values():
            if changing.intersection(chain.stations) and is_doubtful_chain(trial, chain, there):
                found.add(chain.joint.iri)
        return sorted(found)

    def _around(self, trial: Trial) -> None:
        """Where nothing is workable: parts near what is fitted, as many as can be told about."""
        count, edge, seen = 0, sorted(trial.forced), set(trial.forced)
        while edge:
            beside = sorted({n for s in edge for n in self._links.beside(s) if n not in seen})
            edge = []
            for station in beside:
                if not trial.at[station]:
                    continue
                parts = [p for p in self._near(trial, station, seen) if p is not None]
                count += len(parts)
                if count > TOLD:
                    return
                self._found.setdefault(station, {}).update(dict.fromkeys(parts))
                seen.add(station)
                edge.append(station)

    def _near(self, trial: Trial, station: str, seen: Collection[str]) -> tuple[str | None, ...]:
        """Parts for a station that go with something near it that was fitted or may be."""
        found = 0
        for facing in self._links.facings_at[station]:
            pair, place = facing.pair, facing.place
            other, role = pair.seats[1 - place]
            if other not in seen:
                continue
            keys = {trial.key(other, role)}
            parts = trial.supports.mating.catalogue.parts
            keys.update(end_key(parts[p], role) for p in self._found.get(other, ()))
            for key in keys:
                found |= self._supports.kindly(pair, 1 - place, key)
        return self._supports.sets.named(station, found & trial.offered(station))


def _named(scout: Scout, ways: Sequence[int]) -> Ways | None:
    """The ways of a reading, if these are all."""
    if len(ways) >= MOST_WAYS:
        return None
    trial = scout.trial
    return tuple(trial.named(way).union(trial.forced) for way in ways)


def _stricter(kindly: Scout, joints: Collection[str], strict: Scout | None = None) -> Scout:
    """A scout of the reading in which what is unproven at these joints does not fit; `strict` is
    that of the one in which it fits nowhere."""
    trial = kindly.trial.stricter(joints)
    walls = [*kindly.walls, *trial.walls_at(joints)]
    if strict is not None:
        walls += [wall for wall in strict.walls if trial.is_of(wall)]
    return Scout(trial, walls, strict)


def _one_given_up(wishes: Sought) -> Iterator[Sought]:
    """The wishes without one of them, each in turn."""
    for station in sorted(wishes.fits):
        left = {s: p for s, p in wishes.fits.items() if s != station}
        yield replace(wishes, fits=left)
    for station in sorted(wishes.keeps):
        yield replace(wishes, keeps={s for s in wishes.keeps if s != station})
    if wishes.refused is not None:
        yield replace(wishes, refused=None)
