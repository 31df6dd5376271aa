"""Exact verdicts: which stations must change, may change, or keep their part.

A plan is workable if every station that must be filled is filled, no joint clashes, and every
requirement and wish holds. It is irredundant if no workable plan changes a proper subset of its
stations. *must*: changed in every irredundant plan; *choice*: in some; *keeps*: in none.

Most questions need no search: what plainly follows from the wishes changes some stations, and one
plan that changes no others proves that these are all. Otherwise a station is *must* exactly if no
workable plan keeps it. For the rest we look for an irredundant plan that changes it: take a
workable plan that does and ask whether the others of its stations would do alone. If not, every
irredundant plan within it changes the station. If so, shrink to an irredundant plan without it,
forbid all plans that contain that one, and look again; when no plan is left the station keeps its
part.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from .car_tables import tables_of
from .neighbourhood import smallest_first
from .options import Options
from .oracle import Oracle, joint_distances
from .problem import Problem, Reason

MOST_WAYS = 64
"""Ways that are listed; the verdicts never depend on it."""


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
    """What is known of a problem, for one reading. Use as a context manager; frees its solver.

    `reading` are the atoms of the reading: its reasons and what `also` names beside them, further
    switches or other literals.
    """

    def __init__(self, problem: Problem, *, strict: bool, also: Sequence[int] = ()) -> None:
        self.problem = problem
        self._tables = tables_of(problem.car)
        self._engine = self._tables.take_engine()
        self.oracle = Oracle(problem, self._tables, self._engine, joint_distances(problem))
        self.reading = self.oracle.strictly if strict else self.oracle.kindly
        for literal in also:
            self.reading |= self.oracle.switched(literal)
        self.base = [*problem.assumptions(strict=strict), *also]

    def __enter__(self) -> Search:
        return self

    def __exit__(self, *_: object) -> None:
        self._tables.give_back(self._engine)

    def solve(self, assumptions: Iterable[int] = ()) -> dict[str, str | None] | None:
        """A workable plan in which the assumptions hold, or None."""
        return self.oracle.plan(self.reading | self.atoms(assumptions))

    def feasible(self, switches: Iterable[int], assumptions: Iterable[int] = ()) -> bool:
        """Whether the reasons behind `switches` alone leave a workable plan."""
        return self.oracle.find(self.atoms(switches) | self.atoms(assumptions)) is not None

    def atoms(self, literals: Iterable[int]) -> int:
        """The atoms of switches and other literals."""
        found = 0
        for literal in literals:
            found |= self.oracle.switched(literal)
        return found


def find_verdicts(
    problem: Problem, *, strict: bool = False, also: Sequence[int] = (), most_ways: int = MOST_WAYS
) -> Verdicts:
    """Exact verdicts of one reading.

    `also` throws further switches of the problem. `most_ways` bounds only the list of ways and
    with it the options, never the verdicts.
    """
    with Search(problem, strict=strict, also=also) as search:
        found = read_verdicts(search.oracle, search.reading, most_ways)
        if not found.workable:
            return found
        options = Options(search.oracle, search.reading, found.ways)
        return replace(found, options=options.of_all())


def read_verdicts(oracle: Oracle, reading: int, most_ways: int = MOST_WAYS) -> Verdicts:
    """The verdicts of a reading, as `find_verdicts` has them but without options."""
    known = oracle.ways(reading)
    if known is not None and len(known) < most_ways:
        return _of_ways(oracle, known)
    implied = oracle.implied(reading)
    if implied is None:
        return Verdicts(False, {})
    gone = set(implied)
    kept = oracle.tables.kept
    must = {s for s in oracle.tables.free if -kept[s] in gone}
    if oracle.find(reading | oracle.all_but(must)) is not None:
        return _verdicts(oracle, must, (frozenset(must),), True, must)
    plan = oracle.find(reading)
    if plan is None:
        return Verdicts(False, {})
    must |= _must_change(oracle, reading, sorted(oracle.changed(plan) - must))
    ways, complete = _all_ways(oracle, reading, must, most_ways)
    may: frozenset[str] = frozenset().union(*ways)
    if not complete:
        may = _may_change(oracle, reading, must, ways)
    return _verdicts(oracle, must, ways, complete, may)


def _of_ways(oracle: Oracle, ways: Collection[frozenset[str]]) -> Verdicts:
    """The verdicts if these are all ways."""
    if not ways:
        return Verdicts(False, {})
    must, may = frozenset.intersection(*ways), frozenset.union(*ways)
    return _verdicts(oracle, must, smallest_first(ways), True, may)


def _verdicts(
    oracle: Oracle,
    must: Collection[str],
    ways: tuple[frozenset[str], ...],
    complete: bool,
    may: Collection[str],
) -> Verdicts:
    problem = oracle.problem
    verdicts = {
        s: Verdict.MUST if s in must else Verdict.CHOICE if s in may else Verdict.KEEPS
        for s in problem.build.fits
        if s not in problem.wishes.fits
    }
    return Verdicts(True, verdicts, ways, complete)


def _must_change(oracle: Oracle, reading: int, stations: Sequence[str]) -> set[str]:
    """Those of `stations` that no workable plan keeps. One plan speaks for all that it keeps."""
    waiting = list(stations)
    must: set[str] = set()
    while waiting:
        plan = oracle.find(reading | oracle.kept(waiting[0]))
        if plan is None:
            must.add(waiting.pop(0))
        else:
            waiting = [s for s in waiting if not plan & oracle.kept(s)]
    return must


def shrink(oracle: Oracle, reading: int, must: Collection[str] = ()) -> frozenset[str] | None:
    """An irredundant set of changes, always the same: each station in turn keeps its part if it
    still can. `must` are stations known to change. None where nothing is workable."""
    plan = oracle.find(reading)
    if plan is None:
        return None
    held = reading
    for station in oracle.tables.free:
        if station in must:
            continue
        held |= oracle.kept(station)
        if held & ~plan:
            smaller = oracle.find(held)
            if smaller is None:
                held &= ~oracle.kept(station)
            else:
                plan = smaller
    return oracle.changed(held)


def _all_ways(
    oracle: Oracle, reading: int, must: Collection[str], most: int
) -> tuple[tuple[frozenset[str], ...], bool]:
    """Irredundant sets of changes, up to `most`, and whether they are all."""
    found: list[frozenset[str]] = []
    while len(found) < most:
        way = shrink(oracle, reading, must)
        if way is None:
            break
        found.append(way)
        reading |= _unlike(oracle, way)
    return smallest_first(found), len(found) < most


def _unlike(oracle: Oracle, way: Iterable[str]) -> int:
    """An atom: not all stations of the way change."""
    return oracle.forbidden([oracle.tables.kept[s] for s in sorted(way)])


def _may_change(
    oracle: Oracle, reading: int, must: Collection[str], known: Sequence[frozenset[str]]
) -> frozenset[str]:
    """The stations that some irredundant plan changes."""
    may: set[str] = set().union(*known)
    for way in known:
        reading |= _unlike(oracle, way)
    for station in oracle.tables.free:
        while station not in may and station not in must:
            plan = oracle.find(reading | oracle.atom(-oracle.tables.kept[station]))
            if plan is None:
                break
            within = oracle.all_but(oracle.changed(plan))
            without = oracle.find(reading | within | oracle.kept(station))
            held = oracle.kept(station) if without is not None else 0
            smaller = shrink(oracle, reading | within | held, must)
            if smaller is None:
                raise AssertionError("a plan within a plan is a plan")
            may |= smaller
            reading |= _unlike(oracle, smaller)
    return frozenset(may)


def reasons_against(search: Search, assumptions: Sequence[int]) -> tuple[Reason, ...]:
    """An irreducible set of reasons that rule the assumptions out, in the problem's order.

    Raises:
        ValueError: the assumptions can hold.
    """
    oracle = search.oracle
    found = irreducible(oracle, search.reading, search.atoms(assumptions))
    if found is None:
        raise ValueError("the assumptions can hold together")
    return in_order(oracle, found)


def in_order(oracle: Oracle, atoms: int) -> tuple[Reason, ...]:
    """The reasons behind atoms, in the order of the problem."""
    reasons = [oracle.reasons[bit] for bit in bits_of(atoms)]
    return tuple(sorted(reasons, key=oracle.problem.groups.__getitem__))


def irreducible(oracle: Oracle, pool: int, given: int) -> int | None:
    """Reasons of `pool` that rule out what is given and cannot be spared, the nearest preferred.

    The farthest is dropped first as long as the rest still rules it out. None if it holds together.
    """
    if oracle.find(pool | given) is not None:
        return None
    core, needed = oracle.refuted, 0
    while core & pool:
        last = 1 << ((core & pool).bit_length() - 1)
        pool &= last - 1
        if oracle.find(needed | pool | given) is None:
            core = oracle.refuted
        else:
            needed |= last
    return needed


def bits_of(atoms: int) -> list[int]:
    """The atoms one by one."""
    found = []
    while atoms:
        lowest = atoms & -atoms
        found.append(lowest)
        atoms ^= lowest
    return found
