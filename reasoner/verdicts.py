"""Exact verdicts: which stations must change, may change, or keep their part.

A plan is workable if every station that must be filled is filled, no joint clashes, and every
requirement and wish holds. It is irredundant if no workable plan changes a proper subset of its
stations. *must*: changed in every irredundant plan; *choice*: in some; *keeps*: in none.

A station is *must* exactly if no workable plan keeps it, which is one question to the solver. For
the rest we look for an irredundant plan that changes it: take a workable plan that does and ask
whether the others of its stations would do alone. If not, every irredundant plan within it changes
the station. If so, shrink to an irredundant plan without it, forbid all plans that contain that
one, and look again; when no plan is left the station keeps its part.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from .engine import SatEngine
from .problem import Problem, Reason


class Verdict(StrEnum):
    """Whether a station changes because of what is fitted."""

    MUST = "must"
    CHOICE = "choice"
    KEEPS = "keeps"


@dataclass(frozen=True, slots=True)
class Verdicts:
    """The verdict on every station not itself fitted, in one reading.

    `workable` is False when no plan exists; `verdicts` is then empty. `ways` are the irredundant
    sets of changed stations that were found, each sorted, smallest first; `all_ways` says whether
    these are all there are. `options[station]` lists what the station may take in one of `ways`.
    """

    workable: bool
    verdicts: dict[str, Verdict]
    ways: tuple[frozenset[str], ...] = ()
    all_ways: bool = True
    options: dict[str, tuple[str | None, ...]] | None = None


class Search:
    """A solver over one problem and one reading. Use as a context manager; frees its memory."""

    def __init__(self, problem: Problem, *, strict: bool, also: Sequence[int] = ()) -> None:
        self.problem = problem
        self.base = [*problem.assumptions(strict=strict), *also]
        self._engine = SatEngine(
            [*problem.clauses, *problem.sum_clauses],
            [problem.kept(station) for station in problem.build.fits],
        )

    def __enter__(self) -> Search:
        return self

    def __exit__(self, *_: object) -> None:
        self._engine.close()

    def solve(self, assumptions: Iterable[int] = ()) -> dict[str, str | None] | None:
        """A workable plan under the assumptions, or None."""
        if not self._engine.solve([*self.base, *assumptions]):
            return None
        return self.problem.plan_of(self._engine.model())

    def with_only(self, switches: Sequence[int]) -> dict[str, str | None] | None:
        """A plan that is workable as far as the reasons behind `switches` go, or None."""
        if not self._engine.solve(switches):
            return None
        return self.problem.plan_of(self._engine.model())

    def changed(self, plan: dict[str, str | None]) -> frozenset[str]:
        """The stations at which the plan differs from the build."""
        fits = self.problem.build.fits
        return frozenset(s for s, part in plan.items() if part != fits[s])

    def forbid(self, clause: Sequence[int]) -> None:
        """Add a clause for good."""
        self._engine.add(clause)

    def feasible(self, switches: Sequence[int], assumptions: Sequence[int]) -> bool:
        """Whether the reasons behind `switches` alone leave a workable plan."""
        return self._engine.solve([*switches, *assumptions])

    def needed(self) -> frozenset[int]:
        """After a `feasible` that said no: assumptions that already clash."""
        return self._engine.core()

    def core(self, switches: Sequence[int], assumptions: Sequence[int]) -> list[int]:
        """Some of the assumptions that cannot hold together, in the order given."""
        wanted = [*switches, *assumptions]
        if self._engine.solve(wanted):
            raise ValueError("the assumptions can hold together")
        core = self._engine.core()
        return [literal for literal in wanted if literal in core]

    def shrink(
        self, plan: dict[str, str | None], switches: Sequence[int] | None = None
    ) -> tuple[frozenset[str], dict[str, str | None]]:
        """An irredundant set of changes within the plan's, and a plan that makes just these.

        `switches` are the reasons that count; all of the reading's by default.
        """
        base = self.base if switches is None else switches
        kept = self.problem.kept
        everything = list(self.problem.build.fits)
        changes = self.changed(plan)
        needed: set[str] = set()
        for station in sorted(changes):
            if station not in changes or station in needed:
                continue
            held = [kept(s) for s in everything if s not in changes or s == station]
            smaller = self.with_only([*base, *held])
            if smaller is None:
                needed.add(station)
            else:
                plan, changes = smaller, self.changed(smaller)
        return changes, plan


def find_verdicts(
    problem: Problem, *, strict: bool = False, also: Sequence[int] = (), most_ways: int = 64
) -> Verdicts:
    """Exact verdicts of one reading.

    `also` throws further switches of the problem. `most_ways` bounds only the list of ways and
    with it the options, never the verdicts.
    """
    with Search(problem, strict=strict, also=also) as search:
        plan = search.solve()
        if plan is None:
            return Verdicts(False, {})
        stations = [s for s in problem.build.fits if s not in problem.wishes.fits]
        changed = search.changed(plan)
        must = _must_change(search, [s for s in stations if s in changed])
        ways, complete = _all_ways(search, most_ways)
        options = _options(search, ways)
    if complete:
        may = frozenset().union(*ways)
    else:
        with Search(problem, strict=strict, also=also) as search:
            may = _may_change(search, [s for s in stations if s not in must], ways)
    verdicts = {
        s: Verdict.MUST if s in must else Verdict.CHOICE if s in may else Verdict.KEEPS
        for s in stations
    }
    return Verdicts(True, verdicts, ways, complete, options)


def _must_change(search: Search, stations: Sequence[str]) -> set[str]:
    """Those of `stations` that no workable plan keeps. One plan speaks for all that it keeps."""
    waiting = list(stations)
    must: set[str] = set()
    while waiting:
        plan = search.solve([search.problem.kept(waiting[0])])
        if plan is None:
            must.add(waiting.pop(0))
        else:
            changed = search.changed(plan)
            waiting = [s for s in waiting if s in changed]
    return must


def _all_ways(search: Search, most: int) -> tuple[tuple[frozenset[str], ...], bool]:
    """Irredundant sets of changes, up to `most`. Forbids them in `search`'s solver by a switch."""
    problem = search.problem
    gate = problem.fresh()
    found: list[frozenset[str]] = []
    complete = False
    while len(found) < most:
        plan = search.solve([gate])
        if plan is None:
            complete = True
            break
        way, _ = search.shrink(plan)
        found.append(way)
        search.forbid([-gate, *(problem.kept(s) for s in sorted(way))])
    return tuple(sorted(found, key=lambda w: (len(w), sorted(w)))), complete


def _options(search: Search, ways: Sequence[frozenset[str]]) -> dict[str, tuple[str | None, ...]]:
    """What each changed station can take in an irredundant plan that makes just such changes."""
    problem = search.problem
    found: dict[str, set[str | None]] = {}
    for way in ways:
        for station, parts in options_in_way(search, way).items():
            found.setdefault(station, set()).update(parts)
    return {s: tuple(p for p in problem.domains[s] if p in found[s]) for s in sorted(found)}


def options_in_way(
    search: Search, way: frozenset[str], given: Sequence[int] = ()
) -> dict[str, tuple[str | None, ...]]:
    """What each station of one way can take, all others staying as they are and `given` holding."""
    problem = search.problem
    held = [problem.kept(s) for s in problem.build.fits if s not in way]
    seen: dict[str, set[str | None]] = {station: set() for station in way}
    for station in sorted(way):
        while True:
            waiting = [
                problem.variable(station, part)
                for part in problem.domains[station]
                if part not in seen[station] and part != problem.build.fits[station]
            ]
            if not waiting:
                break
            # Any part not seen yet will do, and one plan answers for all stations at once.
            gate = problem.fresh()
            search.forbid([-gate, *waiting])
            plan = search.solve([*held, *given, gate])
            if plan is None:
                break
            for other in way:
                seen[other].add(plan[other])
    return {s: tuple(p for p in problem.domains[s] if p in seen[s]) for s in sorted(way)}


def _may_change(
    search: Search, stations: Sequence[str], known: Sequence[frozenset[str]]
) -> frozenset[str]:
    """The stations among `stations` that some irredundant plan changes."""
    problem = search.problem
    may: set[str] = set().union(*known)
    for way in known:
        search.forbid([problem.kept(s) for s in sorted(way)])
    for station in stations:
        while station not in may:
            plan = search.solve([-problem.kept(station)])
            if plan is None:
                break
            changes = search.changed(plan)
            held = [problem.kept(s) for s in problem.build.fits if s not in changes]
            without = search.solve([*held, problem.kept(station)])
            way, _ = search.shrink(plan if without is None else without)
            may |= way
            search.forbid([problem.kept(s) for s in sorted(way)])
    return frozenset(may)


def reasons_against(search: Search, assumptions: Sequence[int]) -> tuple[Reason, ...]:
    """An irreducible set of reasons that rule the assumptions out, in the problem's order."""
    core = set(search.core(search.base, assumptions))
    return irreducible(search, [s for s in search.base if s in core], assumptions)


def irreducible(
    search: Search, switches: Sequence[int], assumptions: Sequence[int]
) -> tuple[Reason, ...]:
    """Drop reasons, the first first, as long as the rest still rules the assumptions out."""
    order = {switch: at for at, switch in enumerate(search.base)}
    core = list(switches)
    for switch in switches:
        if switch not in core:
            continue
        without = [s for s in core if s != switch]
        if not search.feasible(without, assumptions):
            needed = search.needed()
            core = [s for s in without if s in needed]
    return tuple(search.problem.reason_of(s) for s in sorted(core, key=order.__getitem__))
