"""Put an irreducible set of reasons in the order a person would tell them.

Start from what is fitted, go from joint to joint, and say at each what no longer fits, by which
values, and what is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import NamedTuple

from .catalogue import Joint
from .interfaces.kind import Outcome
from .mating import Mate
from .oracle import Oracle
from .reason import JOINTS, Reason, ReasonKind
from .remembering import remember

_MOST_MEETINGS = 2
"""Enough to see why; the rest fail alike."""

_MOST_SORTS = (3, 24)
"""So many sorts of parts are held against the present one to find such meetings: few mostly do."""

_MOST_KNOWN = 500

MOST_LEFT = 8
"""Of what is left it is told what it is if it is no more than so many."""

_WISHES = (ReasonKind.FIT, ReasonKind.KEEP)


@dataclass(frozen=True, slots=True)
class Meeting:
    """Parts that met at a joint (in the order of its members) and what came of it."""

    parts: tuple[str | None, ...]
    mate: Mate


@dataclass(frozen=True, slots=True)
class Step:
    """One link of a chain.

    `reason` says what kind of link; `origin` are the stations it starts from, `station` the one it
    narrows. `meetings` show why the part that sits there does not stay; `leaves` is what may still
    sit there if that is little.
    """

    reason: Reason
    origin: tuple[str, ...]
    station: str
    meetings: tuple[Meeting, ...] = ()
    leaves: tuple[str | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """Why `station` cannot keep its part, shortest way found.

    `held` are stations taken to stay as they are (for a choice: those the plan leaves alone).
    `closed` is False when the steps alone do not rule the part out, and only all combinations of
    what they leave, taken together, do. `is_of_all` is False where only the parts in question were
    asked whether they do.
    """

    station: str
    steps: tuple[Step, ...]
    held: tuple[str, ...] = ()
    closed: bool = True
    is_of_all: bool = True


class _Link(NamedTuple):
    """A step before it is told: `left` is what it leaves, `there` what was possible before it at
    the stations of its joint."""

    reason: Reason
    origin: tuple[str, ...]
    station: str
    left: int
    there: dict[str, int]


class Telling:
    """Puts an irreducible set of reasons in order by following what each leaves possible.

    What is possible at a station is a set of all parts there are, not only of those in question: a
    closed chain holds whatever else may be fitted.
    """

    def __init__(
        self,
        oracle: Oracle,
        reasons: Iterable[Reason],
        target: str,
        held: Sequence[str],
        *,
        strict: bool,
    ) -> None:
        self.problem, self.tables, self.target = oracle.problem, oracle.tables, target
        self.strict = strict
        self.parts = self.problem.car.all_parts(strict=strict)
        self.reasons = list(reasons)
        self.possible: dict[str, int] = {}
        fits = self.problem.build.fits
        for station in sorted({target, *(s for r in self.reasons for s in self._named_by(r))}):
            if station in fits:
                self.possible[station] = self.parts.of(station)
        self.held = tuple(s for s in held if s in self.possible)
        for station in self.held:
            self.possible[station] = self.parts.kept(station)
        self.settled: dict[str, int] = {}
        self.links: list[_Link] = []

    def chain(self) -> Chain:
        """The steps from what is fitted to the part that cannot stay."""
        for reason in self.reasons:
            if reason.kind in _WISHES:
                station = reason.subject
                if reason.kind is ReasonKind.FIT:
                    self.possible[station] = self.parts.one(station, reason.other)
                else:
                    self.possible[station] = self.parts.kept(station)
                self._settle(station)
                self.links.append(_Link(reason, (), station, self.possible[station], {}))
        for station in self.held:
            self._settle(station)
        # A station with nothing else to offer is settled too: the body, a part nobody else makes.
        for station, parts in self.possible.items():
            if not parts & (parts - 1):
                self._settle(station)
        waiting = sorted(r for r in self.reasons if r.kind not in _WISHES)
        taken: set[Reason] = set()
        while self._is_open():
            followed = self._next(waiting)
            if followed is None:
                break
            taken.add(followed)
        closed = not self._is_open()
        steps = [self._step(link) for link in (self._needed() if closed else self.links)]
        if not closed:
            rest = sorted((r for r in waiting if r not in taken), key=self._nearness)
            steps += [Step(r, (), self.target) for r in rest]
        used = {s for step in steps for s in step.origin}
        held = tuple(s for s in self.held if s in used)
        return Chain(self.target, tuple(steps), held, closed)

    def _needed(self) -> list[_Link]:
        """The links without those that lead nowhere near the target."""
        wanted, kept = {self.target}, []
        for link in reversed(self.links):
            if link.station in wanted:
                kept.append(link)
                wanted.update(link.origin)
        return kept[::-1]

    def _step(self, link: _Link) -> Step:
        reason, origin, station, left, there = link
        if reason.kind in _WISHES:
            return Step(reason, origin, station, (), self.parts.named(station, left))
        joint = self.tables.joints.get(reason.subject)
        meetings = () if joint is None else self._meetings(joint, station, there)
        if left.bit_count() > MOST_LEFT:
            return Step(reason, origin, station, meetings)
        if joint is not None:
            left = self.parts.exactly(joint, station, there, left)
        leaves = self.parts.named(station, left)
        return Step(reason, origin, station, meetings, leaves)

    def _is_open(self) -> bool:
        """Whether the part of the target may still stay."""
        return bool(self.possible[self.target] & self.parts.kept(self.target))

    def _settle(self, station: str) -> None:
        self.settled.setdefault(station, len(self.settled))

    def _named_by(self, reason: Reason) -> Iterable[str]:
        """The stations of which a reason may say anything."""
        if reason.kind in _WISHES:
            return (reason.subject,)
        if reason.kind is ReasonKind.LIMIT:
            return self.problem.build.fits
        if reason.kind in JOINTS:
            return self.tables.stations_of[reason.subject]
        asking, serving = self.parts.sides(reason)
        return {**asking, **serving}

    def _next(self, waiting: Sequence[Reason]) -> Reason | None:
        """Take the first waiting reason that narrows something, starting from settled stations."""
        for reason in sorted(waiting, key=self._nearness):
            links = list(self._follow(reason))
            for link in links:
                self.possible[link.station] = link.left
                self._settle(link.station)
            if links:
                self.links += links
                return reason
        return None

    def _nearness(self, reason: Reason) -> int:
        near = [self.settled[s] for s in self._stations_of(reason) if s in self.settled]
        return min(near, default=10_000)

    def _stations_of(self, reason: Reason) -> Iterable[str]:
        if reason.kind in JOINTS:
            return self.tables.stations_of[reason.subject]
        if reason.kind is ReasonKind.LIMIT:
            return ()
        asking, serving = self.parts.sides(reason)
        return [
            s
            for s in {**asking, **serving}
            if self.possible[s] & (asking.get(s, 0) | serving.get(s, 0))
        ]

    # ------------------------------------------------------------------ following one reason

    def _follow(self, reason: Reason) -> Iterable[_Link]:
        if reason.kind in JOINTS:
            return self._follow_joint(self.tables.joints[reason.subject], reason)
        if reason.kind is ReasonKind.LIMIT:
            return self._follow_limit(reason)
        return self._follow_rule(reason)

    def _follow_joint(self, joint: Joint, reason: Reason) -> list[_Link]:
        there = {s: self.possible[s] for s in joint.stations if s in self.possible}
        links = []
        for station, parts in there.items():
            if not parts or (not parts & (parts - 1) and station != self.target):
                continue
            left = self.parts.beside(joint, station, there)
            if left != parts and (left or station == self.target):
                origin = tuple(s for s in joint.stations if s != station and s in self.settled)
                links.append(_Link(reason, origin, station, left, there))
        return links[:1] if links and links[0].station == self.target else links

    def _meetings(
        self, joint: Joint, station: str, possible: Mapping[str, int]
    ) -> tuple[Meeting, ...]:
        """The present part against what is possible on the other side; a few of them."""
        at = (joint.iri, station, *map(possible.get, joint.stations))
        known = self.parts.meetings.get(at)
        if not isinstance(known, tuple):
            known = self._found_meetings(joint, station, possible)
            remember(self.parts.meetings, at, known, _MOST_KNOWN)
        return known

    def _found_meetings(
        self, joint: Joint, station: str, possible: Mapping[str, int]
    ) -> tuple[Meeting, ...]:
        found: dict[tuple[str | None, ...], Meeting] = {}
        for most in _MOST_SORTS:
            for combination in product(*self._some_of_each(joint, station, possible, most)):
                for mate in self.tables.meet(joint.iri, combination):
                    if self._blocks(mate):
                        members = combination[: len(joint.members)]
                        found.setdefault(mate.ends, Meeting(members, mate))
                    if len(found) == _MOST_MEETINGS:
                        return tuple(found.values())
        return tuple(found.values())

    def _some_of_each(
        self, joint: Joint, station: str, possible: Mapping[str, int], most: int
    ) -> Iterator[list[str | None]]:
        """The present part of a station, and of each sort of part that is possible at the others of
        a joint the first, up to so many sorts, and rather of parts in question."""
        for place, at in enumerate(joint.stations):
            parts = possible.get(at, 1)
            if at == station:
                yield [self.problem.build.fits[station]]
                continue
            if place >= len(joint.members):
                parts &= self.parts.one(at, None)  # with a go-between the two do not meet
            near = self.problem.car.in_question(at)
            firsts = self.parts.firsts(joint, at, parts & near, parts & ~near)
            yield list(islice(firsts, most))

    def _blocks(self, mate: Mate) -> bool:
        outcome = mate.under(self.problem.wishes.floor)
        return outcome is Outcome.CLASHES or (self.strict and outcome is Outcome.UNPROVEN)

    def _follow_rule(self, reason: Reason) -> Iterator[_Link]:
        """Requirements, exclusions, matched sets: where all of one side asks, narrow the other."""
        asking, serving = self.parts.sides(reason)
        for station in self.possible:
            possible = self.possible[station]
            if not possible or possible & ~asking.get(station, 0):
                continue
            servers = [
                s for s in self.possible if s != station and self.possible[s] & serving.get(s, 0)
            ]
            if reason.kind is ReasonKind.REQUIREMENT and len(servers) > 1:
                continue
            for other in servers:
                serves = serving[other]
                left = self.possible[other]
                left &= ~serves if reason.kind is ReasonKind.EXCLUSION else serves
                if left != self.possible[other] and (left or other == self.target):
                    yield _Link(reason, (station,), other, left, {})

    def _follow_limit(self, reason: Reason) -> Iterator[_Link]:
        """A ban narrows every station it touches; a limit on a sum narrows none by itself."""
        bans = [b.parts for b in self.problem.wishes.bans if b.words == reason.subject]
        for station, possible in self.possible.items():
            left = possible
            for banned in bans:
                left = self.parts.but(station, left, banned)
            if left and left != possible:
                yield _Link(reason, (), station, left, {})
