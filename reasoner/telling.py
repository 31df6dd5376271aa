"""Put an irreducible set of reasons in the order a person would tell them.

Start from what is fitted, go from joint to joint, and say at each what no longer fits, by which
values, and what is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from .interfaces.kind import Outcome
from .mating import Mate
from .oracle import Oracle
from .problem import Reason, ReasonKind

_MOST_MEETINGS = 2
"""Enough to see why; the rest fail alike."""

_JOINTS = (ReasonKind.JOINT, ReasonKind.UNPROVEN)


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
    sit there, `removed` how many choices the step took away.
    """

    reason: Reason
    origin: tuple[str, ...]
    station: str
    meetings: tuple[Meeting, ...] = ()
    leaves: tuple[str | None, ...] = ()
    removed: int = 0


@dataclass(frozen=True, slots=True)
class Chain:
    """Why `station` cannot keep its part, shortest way found.

    `held` are stations taken to stay as they are (for a choice: those the plan leaves alone).
    `closed` is False when the steps alone do not rule the part out, and only all combinations of
    what they leave, taken together, do.
    """

    station: str
    steps: tuple[Step, ...]
    held: tuple[str, ...] = ()
    closed: bool = True


class Telling:
    """Puts an irreducible set of reasons in order by following what each leaves possible.

    What is possible at a station is a number: bit i stands for the i-th entry of its domain, the
    present part first.
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
        self.reasons = list(reasons)
        self.possible = dict(self.tables.full)
        self.held = tuple(s for s in held if s in self.possible)
        for station in self.held:
            self.possible[station] = 1
        self.settled: dict[str, int] = {}
        self.steps: list[Step] = []

    def chain(self) -> Chain:
        """The steps from what is fitted to the part that cannot stay."""
        for reason in self.reasons:
            if reason.kind in (ReasonKind.FIT, ReasonKind.KEEP):
                station = reason.subject
                fitted = reason.kind is ReasonKind.FIT
                self.possible[station] = 1 << self.tables.at[station][reason.other] if fitted else 1
                self._settle(station)
                left = self._named(station, self.possible[station])
                self.steps.append(Step(reason, (), station, (), left))
        for station in self.held:
            self._settle(station)
        # A station with nothing else to offer is settled too: the body, a part nobody else makes.
        for station, parts in self.possible.items():
            if not parts & (parts - 1):
                self._settle(station)
        wishes = (ReasonKind.FIT, ReasonKind.KEEP)
        waiting = sorted(r for r in self.reasons if r.kind not in wishes)
        closed = False
        while waiting and not closed:
            taken = self._next(waiting)
            if taken is None:
                break
            waiting.remove(taken)
            closed = not self.possible[self.target] & 1
        if not closed:
            self.steps += [Step(r, (), self.target) for r in self.reasons if r in waiting]
        steps = _needed(self.steps, self.target) if closed else tuple(self.steps)
        used = {s for step in steps for s in step.origin}
        return Chain(self.target, steps, tuple(s for s in self.held if s in used), closed)

    def _settle(self, station: str) -> None:
        self.settled.setdefault(station, len(self.settled))

    def _named(self, station: str, parts: int) -> tuple[str | None, ...]:
        domain = self.tables.domains[station]
        return tuple(part for at, part in enumerate(domain) if parts >> at & 1)

    def _next(self, waiting: Sequence[Reason]) -> Reason | None:
        """Take the first waiting reason that narrows something, starting from settled stations."""
        for reason in sorted(waiting, key=self._nearness):
            steps = list(self._follow(reason))
            if steps:
                for step, left in steps:
                    self.possible[step.station] = left
                    self._settle(step.station)
                    self.steps.append(step)
                return reason
        return None

    def _nearness(self, reason: Reason) -> int:
        near = [self.settled[s] for s in self._stations_of(reason) if s in self.settled]
        return min(near, default=10_000)

    def _stations_of(self, reason: Reason) -> Iterable[str]:
        if reason.kind in _JOINTS:
            return self.tables.stations_of[reason.subject]
        asking, serving = self.tables.sides(reason)
        return [
            s
            for s in {**asking, **serving}
            if self.possible[s] & (asking.get(s, 0) | serving.get(s, 0))
        ]

    # ------------------------------------------------------------------ following one reason

    def _follow(self, reason: Reason) -> Iterable[tuple[Step, int]]:
        if reason.kind in _JOINTS:
            return self._follow_joint(reason)
        if reason.kind is ReasonKind.LIMIT:
            return self._follow_limit(reason)
        return self._follow_rule(reason)

    def _step(
        self,
        reason: Reason,
        origin: tuple[str, ...],
        station: str,
        left: int,
        meetings: tuple[Meeting, ...] = (),
    ) -> tuple[Step, int]:
        removed = (self.possible[station] & ~left).bit_count()
        return Step(reason, origin, station, meetings, self._named(station, left), removed), left

    def _follow_joint(self, reason: Reason) -> list[tuple[Step, int]]:
        joint = reason.subject
        of_joint = self.tables.stations_of[joint]
        steps = []
        for station in of_joint:
            parts = self.possible.get(station, 0)
            if not parts or (not parts & (parts - 1) and station != self.target):
                continue
            left = self._with_partner(joint, station)
            if left != parts and (left or station == self.target):
                origin = tuple(s for s in of_joint if s != station and s in self.settled)
                meetings = self._meetings(joint, station)
                steps.append(self._step(reason, origin, station, left, meetings))
        return steps[:1] if steps and steps[0][0].station == self.target else steps

    def _with_partner(self, joint: str, station: str) -> int:
        """What is possible at a station and goes with something possible at the others."""
        apart = self.tables.apart(joint, station, strict=self.strict)
        if apart is not None:
            return self._beside(joint, station, apart)
        there = tuple(self.possible.get(s, 0) for s in self.tables.stations_of[joint])
        at = (joint, station, self.strict, there)
        left = self.tables.partnered.get(at)
        if left is None:
            others = self._others(joint, station)
            left = sum(
                alike
                for part, alike in self._sorts(joint, station)
                if any(
                    not self._is_blocked(self.tables.outcome(joint, parts))
                    for parts in self._combinations(joint, station, part, others)
                )
            )
            self.tables.partnered[at] = left
        return left

    def _beside(self, joint: str, station: str, apart: Iterable[tuple[int, int]]) -> int:
        """The same where just two stations meet."""
        (other,) = (s for s in self.tables.stations_of[joint] if s != station)
        left, there = self.possible.get(station, 1), self.possible.get(other, 1)
        for alike, away in apart:
            if not there & ~away:
                left &= ~alike
        return left

    def _sorts(self, joint: str, station: str) -> list[tuple[str | None, int]]:
        """What is possible at a station, by what it brings to the joint: the first of each sort."""
        possible = self.possible.get(station)
        if possible is None:
            return [(None, 1)]
        there = [alike & possible for alike in self.tables.sorts(joint, station)]
        domain = self.tables.domains[station]
        firsts = sorted((alike & -alike, alike) for alike in there if alike)
        return [(domain[first.bit_length() - 1], alike) for first, alike in firsts]

    def _others(self, joint: str, station: str) -> dict[str, list[str | None]]:
        """One of each sort of part that is possible at the other stations of a joint."""
        return {
            s: [first for first, _ in self._sorts(joint, s)]
            for s in self.tables.stations_of[joint]
            if s != station
        }

    def _combinations(
        self, joint: str, station: str, part: str | None, others: Mapping[str, list[str | None]]
    ) -> Iterator[tuple[str | None, ...]]:
        of_joint = self.tables.stations_of[joint]
        return product(*([part] if s == station else others[s] for s in of_joint))

    def _blocks(self, mate: Mate) -> bool:
        return self._is_blocked(mate.under(self.problem.wishes.floor))

    def _is_blocked(self, outcome: Outcome) -> bool:
        return outcome is Outcome.CLASHES or (self.strict and outcome is Outcome.UNPROVEN)

    def _meetings(self, joint: str, station: str) -> tuple[Meeting, ...]:
        """The present part against what is left on the other side; a few of them."""
        current = self.problem.build.fits[station]
        members = len(self.tables.members_of[joint])
        found: dict[tuple[str | None, ...], Meeting] = {}
        others = self._others(joint, station)
        for combination in self._combinations(joint, station, current, others):
            if len(combination) > members and combination[-1] is not None:
                continue  # a go-between stands there
            for mate in self.tables.meet(joint, combination):
                if self._blocks(mate):
                    found.setdefault(mate.ends, Meeting(combination[:members], mate))
                if len(found) == _MOST_MEETINGS:
                    return tuple(found.values())
        return tuple(found.values())

    def _follow_rule(self, reason: Reason) -> Iterator[tuple[Step, int]]:
        """Requirements, exclusions, matched sets: where all of one side asks, narrow the other."""
        asking, serving = self.tables.sides(reason)
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
                    yield self._step(reason, (station,), other, left)

    def _follow_limit(self, reason: Reason) -> Iterator[tuple[Step, int]]:
        """A ban narrows every station it touches; a limit on a sum narrows none by itself."""
        bans = [b.parts for b in self.problem.wishes.bans if b.words == reason.subject]
        for station, possible in self.possible.items():
            left = possible
            for at, part in enumerate(self.tables.domains[station]):
                if at and part and any(part in banned for banned in bans):
                    left &= ~(1 << at)
            if left and left != possible:
                yield self._step(reason, (), station, left)


def _needed(steps: Sequence[Step], target: str) -> tuple[Step, ...]:
    """Drop steps that lead nowhere near the target."""
    wanted, kept = {target}, []
    for step in reversed(steps):
        if step.station in wanted:
            kept.append(step)
            wanted.update(step.origin)
    return tuple(reversed(kept))
