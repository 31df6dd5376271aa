"""Why a station must change: a chain of reasons from what is fitted to the part that cannot stay.

The solver names an irreducible set of reasons. Here they are put in the order a person would tell
them: start from what is fitted, go from joint to joint, and say at each what no longer fits, by
which values, and what is left. Words are made elsewhere; these are values.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from .catalogue import Joint
from .interfaces.kind import Outcome
from .mating import EndKey, Mate, end_key
from .problem import Problem, Reason, ReasonKind
from .verdicts import Search, irreducible

_MOST_MEETINGS = 2
"""Enough to see why; the rest fail alike."""


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


def explain_change(
    search: Search,
    station: str,
    distance: Mapping[str, int],
    *,
    strict: bool,
    held: Sequence[str] = (),
    most: int = 3,
) -> tuple[Chain, ...]:
    """Why `station` cannot keep its part while the stations of `held` keep theirs.

    Up to `most` chains, each by another last link, the first by the nearest reasons: `distance`
    counts the joints between each station and what is fitted.

    Raises:
        ValueError: it can keep its part.
    """
    problem = search.problem
    assumptions = [problem.kept(s) for s in (*held, station)]
    spared: set[Reason] = set()
    chains: list[Chain] = []
    while len(chains) < most:
        reasons = nearest_reasons(search, assumptions, distance, spared)
        if reasons is None:
            break
        chain = _Telling(problem, reasons, station, held, strict=strict).chain()
        chains.append(chain)
        last = {step.reason for step in chain.steps if step.station == station}
        joints = (ReasonKind.JOINT, ReasonKind.UNPROVEN)
        fresh = {r for r in last if r.kind in joints} - spared
        if not fresh:
            break
        spared |= fresh
    if not chains:
        raise ValueError(f"{station} can keep its part")
    return tuple(chains)


def nearest_reasons(
    search: Search,
    assumptions: Sequence[int],
    distance: Mapping[str, int],
    spared: Collection[Reason] = (),
) -> tuple[Reason, ...] | None:
    """An irreducible set of reasons against the assumptions, measured joints and near ones first.

    None if the assumptions hold together once the reasons of `spared` are put aside.
    """
    problem = search.problem
    far = max(distance.values(), default=0) + 1
    reach: dict[int, int] = {}
    for switch in search.base:
        reason = problem.reason_of(switch)
        if reason not in spared:
            reach[switch] = _reach(problem, reason, distance, far)
    for stated_rules in (False, True):
        pool = [
            s
            for s in reach
            if stated_rules or problem.reason_of(s).kind is not ReasonKind.REQUIREMENT
        ]
        if search.feasible(pool, assumptions):
            continue
        for limit in range(far + 1):
            near = [s for s in pool if reach[s] <= limit]
            if not search.feasible(near, assumptions):
                order = sorted(near, key=lambda s: (-reach[s], problem.reason_of(s)))
                return irreducible(search, order, assumptions)
    return None


def _reach(problem: Problem, reason: Reason, distance: Mapping[str, int], far: int) -> int:
    """How far from what is fitted a reason's farthest station is; wishes are at hand."""
    if reason.kind in (ReasonKind.JOINT, ReasonKind.UNPROVEN):
        joint = problem.catalogue.joints[reason.subject]
        return max(distance.get(m.station, far) for m in joint.members)
    if reason.kind in (ReasonKind.FIT, ReasonKind.KEEP, ReasonKind.LIMIT):
        return 0
    return 1


class _Telling:
    """Puts an irreducible set of reasons in order by following what each leaves possible."""

    def __init__(
        self,
        problem: Problem,
        reasons: Iterable[Reason],
        target: str,
        held: Sequence[str],
        *,
        strict: bool,
    ) -> None:
        self.problem, self.target, self.strict = problem, target, strict
        self.reasons = list(reasons)
        self.possible: dict[str, list[str | None]] = {
            station: list(parts) for station, parts in problem.domains.items()
        }
        self.held = tuple(s for s in held if s in self.possible)
        for station in self.held:
            self.possible[station] = [problem.build.fits[station]]
        self.settled: list[str] = []
        self.steps: list[Step] = []

    def chain(self) -> Chain:
        for reason in self.reasons:
            if reason.kind is ReasonKind.FIT:
                self.possible[reason.subject] = [reason.other]
                self.settled.append(reason.subject)
                self.steps.append(Step(reason, (), reason.subject, (), (reason.other,)))
            elif reason.kind is ReasonKind.KEEP:
                current = self.problem.build.fits[reason.subject]
                self.possible[reason.subject] = [current]
                self.settled.append(reason.subject)
                self.steps.append(Step(reason, (), reason.subject, (), (current,)))
        self.settled.extend(s for s in self.held if s not in self.settled)
        # A station with nothing else to offer is settled too: the body, a part nobody else makes.
        self.settled.extend(
            s for s, parts in self.possible.items() if len(parts) == 1 and s not in self.settled
        )
        waiting = [r for r in self.reasons if r.kind not in (ReasonKind.FIT, ReasonKind.KEEP)]
        closed = False
        while waiting and not closed:
            taken = self._next(waiting)
            if taken is None:
                break
            waiting.remove(taken)
            closed = self.problem.build.fits[self.target] not in self.possible[self.target]
        for reason in waiting:
            if not closed:
                self.steps.append(Step(reason, (), self.target))
        steps = _needed(self.steps, self.target) if closed else tuple(self.steps)
        used = {s for step in steps for s in step.origin}
        return Chain(self.target, steps, tuple(s for s in self.held if s in used), closed)

    def _next(self, waiting: Sequence[Reason]) -> Reason | None:
        """Take the first waiting reason that narrows something, starting from settled stations."""
        for reason in sorted(waiting, key=self._nearness):
            steps = self._follow(reason)
            if steps:
                for step in steps:
                    self.possible[step.station] = list(step.leaves)
                    if step.station not in self.settled:
                        self.settled.append(step.station)
                self.steps.extend(steps)
                return reason
        return None

    def _nearness(self, reason: Reason) -> tuple[int, Reason]:
        stations = self._stations_of(reason)
        near = [self.settled.index(s) for s in stations if s in self.settled]
        return (min(near, default=10_000), reason)

    def _stations_of(self, reason: Reason) -> tuple[str, ...]:
        if reason.kind in (ReasonKind.JOINT, ReasonKind.UNPROVEN):
            return self.problem.catalogue.joints[reason.subject].stations
        if reason.kind is ReasonKind.MATCHED_SET:
            return tuple(s for s in self.possible if self._in_set(s, reason.subject))
        return tuple(
            s
            for s, parts in self.possible.items()
            if any(self._asks(p, reason) or self._serves(p, reason) for p in parts)
        )

    # ------------------------------------------------------------------ following one reason

    def _follow(self, reason: Reason) -> list[Step]:
        if reason.kind in (ReasonKind.JOINT, ReasonKind.UNPROVEN):
            return self._follow_joint(reason)
        if reason.kind is ReasonKind.LIMIT:
            return self._follow_limit(reason)
        return self._follow_rule(reason)

    def _follow_joint(self, reason: Reason) -> list[Step]:
        joint = self.problem.catalogue.joints[reason.subject]
        stations = [s for s in joint.stations if s in self.possible]
        steps = []
        for station in stations:
            if len(self.possible[station]) == 1 and station != self.target:
                continue
            leaves = [p for p in self.possible[station] if self._has_partner(joint, station, p)]
            removed = len(self.possible[station]) - len(leaves)
            if removed and (leaves or station == self.target):
                origin = tuple(s for s in joint.stations if s != station and s in self.settled)
                steps.append(
                    Step(
                        reason,
                        origin,
                        station,
                        self._meetings(joint, station),
                        tuple(leaves),
                        removed,
                    )
                )
        return steps[:1] if steps and steps[0].station == self.target else steps

    def _representatives(self, joint: Joint, station: str) -> list[str | None]:
        """One of each kind of part that is still possible, by what it brings to the joint."""
        if station not in self.possible:
            return [None]
        roles = [m.role for m in joint.members if m.station == station]
        if station == joint.via:
            roles.extend(joint.via_roles)
        seen: dict[tuple[EndKey, ...], str | None] = {}
        for part in self.possible[station]:
            key = tuple(end_key(self.problem.part_of(part), role) for role in roles)
            seen.setdefault((*key, ((str(part is None),), ())), part)
        return list(seen.values())

    def _combinations(
        self, joint: Joint, station: str, part: str | None
    ) -> Iterable[tuple[tuple[str | None, ...], tuple[Mate, ...]]]:
        choices = [
            [part] if s == station else self._representatives(joint, s) for s in joint.stations
        ]
        for combination in product(*choices):
            parts = [self.problem.part_of(p) for p in combination]
            yield combination, self.problem.mating.meet(joint, parts)

    def _blocks(self, mate: Mate) -> bool:
        outcome = mate.under(self.problem.wishes.floor)
        return outcome is Outcome.CLASHES or (self.strict and outcome is Outcome.UNPROVEN)

    def _has_partner(self, joint: Joint, station: str, part: str | None) -> bool:
        return any(
            not any(self._blocks(mate) for mate in mates)
            for _, mates in self._combinations(joint, station, part)
        )

    def _meetings(self, joint: Joint, station: str) -> tuple[Meeting, ...]:
        """The present part against what is left on the other side; a few of them."""
        current = self.problem.build.fits[station]
        found: dict[tuple[str | None, ...], Meeting] = {}
        for combination, mates in self._combinations(joint, station, current):
            if joint.via and combination[-1] is not None:
                continue
            for mate in mates:
                if self._blocks(mate):
                    found.setdefault(mate.ends, Meeting(combination[: len(joint.members)], mate))
        return tuple(found.values())[:_MOST_MEETINGS]

    def _follow_rule(self, reason: Reason) -> list[Step]:
        """Requirements, exclusions, matched sets: where all of one side asks, narrow the other."""
        steps = []
        for asking, parts in self.possible.items():
            if not parts or not all(self._asks(p, reason) for p in parts):
                continue
            servers = [
                s
                for s, there in self.possible.items()
                if s != asking and any(self._serves(p, reason) for p in there)
            ]
            if reason.kind is ReasonKind.REQUIREMENT and len(servers) > 1:
                continue
            for station in servers:
                wanted = reason.kind is not ReasonKind.EXCLUSION
                leaves = [p for p in self.possible[station] if self._serves(p, reason) == wanted]
                removed = len(self.possible[station]) - len(leaves)
                if removed and (leaves or station == self.target):
                    steps.append(Step(reason, (asking,), station, (), tuple(leaves), removed))
        return steps

    def _follow_limit(self, reason: Reason) -> list[Step]:
        """A ban narrows every station it touches; a limit on a sum narrows none by itself."""
        banned: frozenset[str] = frozenset()
        for ban in self.problem.wishes.bans:
            if ban.words == reason.subject:
                banned |= ban.parts
        steps = []
        for station, there in self.possible.items():
            leaves = [p for p in there if p not in banned or p == self.problem.build.fits[station]]
            if leaves and len(leaves) < len(there):
                removed = len(there) - len(leaves)
                steps.append(Step(reason, (), station, (), tuple(leaves), removed))
        return steps

    def _in_set(self, station: str, matched: str) -> bool:
        parts = (self.problem.part_of(p) for p in self.possible[station])
        return any(part is not None and matched in part.sets for part in parts)

    def _asks(self, iri: str | None, reason: Reason) -> bool:
        part = self.problem.part_of(iri)
        if part is None:
            return False
        if reason.kind is ReasonKind.MATCHED_SET:
            return reason.subject in part.sets
        if reason.kind is ReasonKind.REQUIREMENT:
            return part.asks.get(reason.other) == reason.subject
        return (part.family or part.iri) == reason.subject and reason.other in part.excludes

    def _serves(self, iri: str | None, reason: Reason) -> bool:
        part = self.problem.part_of(iri)
        if part is None:
            return False
        if reason.kind is ReasonKind.MATCHED_SET:
            return reason.subject in part.sets
        return reason.other in part.families


def _needed(steps: Sequence[Step], target: str) -> tuple[Step, ...]:
    """Drop steps that lead nowhere near the target."""
    wanted, kept = {target}, []
    for step in reversed(steps):
        if step.station in wanted:
            kept.append(step)
            wanted.update(step.origin)
    return tuple(reversed(kept))
