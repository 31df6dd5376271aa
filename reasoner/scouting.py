"""Which sets of stations change in plans of fewest changes, and what each of them may take.

A station-level solver proposes stations that may change; a trial (see `trial`) says whether they
do; if not, it says which stations stood in the way, and the solver proposes again. So parts are
only ever looked at as sets, never one by one, and when no proposal is left none is missing: ways,
verdicts and options are those of the whole catalogue. Tests hold them against it.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from functools import lru_cache

from pysat.solvers import Solver

from .engine import SOLVER
from .hitting import smallest_hitting_set
from .narrowing import Run, Taken
from .part_sets import bits_of, halves
from .reason import Blamed
from .trial import Trial, Wall

MOST_WAYS = 64
"""Beyond so many ways of one reading, only those are looked for that change yet other stations."""


class Scout:
    """Looks for the ways of one reading: the irredundant sets of stations that change.

    `walls` are the sets of stations of which one must change that are known beforehand: at least
    what is wrong with the car with nothing changed (see `Trial.walls`). `stricter` is a scout of a
    reading that mistrusts more joints.
    `brought[station]` is what comes in question there for some plan; `plans` has a plan for each
    set of stations that were seen to change. `walls` has for each, stations and mistrusted joints,
    because of which reasons it stands.
    """

    def __init__(self, trial: Trial, walls: Iterable[int], stricter: Scout | None = None) -> None:
        self.trial = trial
        self.brought: dict[str, int] = {}
        self.plans: dict[int, Taken] = {}
        self.walls: dict[int, int] = {}
        self._shown: list[tuple[int, bool]] = []
        # What works where more is mistrusted works here too.
        self._works: list[int] = [] if stricter is None else list(stricter._works)
        self._open: list[int] = [] if stricter is None else list(stricter._open)
        self._solver = Solver(name=SOLVER)
        count = len(trial.movable)
        if count:
            self._solver.set_phases([-(n + 1) for n in range(count)])
        self.workable = True
        self.learn(walls)

    def close(self) -> None:
        """Free what the solver holds."""
        self._solver.delete()

    def learn(self, walls: Iterable[int]) -> None:
        """Take in what is known of who stands in the way, and why."""
        for wall in walls:
            self._add_wall(wall)

    # ------------------------------------------------------------------ whether stations do

    def do(self, stations: int) -> Taken | None:
        """A plan that changes none but these stations, or None; learns why not."""
        for wall in self.walls:
            if not wall & stations:
                return None
        found = self._solve(stations)
        if not isinstance(found, Wall):
            return found
        self._learn(stations, found)
        return None

    def _solve(self, stations: int) -> Taken | Wall:
        found = self.trial.solve(stations)
        if not isinstance(found, Wall):
            self._works.append(self.trial.changed(found))
        return found

    def _learn(self, stations: int, found: Wall) -> None:
        """Of what stood in the way keep only what must have: let the rest change too.

        Many at a time as long as that shows nothing, then fewer.
        """
        plain, wall, done = found.plain, found.stations, 0
        every = self.trial.every
        waiting = [wall & every]
        wider: Run | None = None
        # Of one station nothing can be left out.
        while waiting and (wall & every).bit_count() > 1:
            some = waiting.pop() & wall & ~done
            if not some:
                continue
            more = stations | some
            tried = None if self._is_known(more, plain) else self._try(more, plain, wider)
            if not isinstance(tried, Wall):
                if isinstance(tried, Run) and wider is None:
                    wider = tried
                if some & some - 1:
                    waiting += halves(some)
                else:
                    done |= some
                continue
            self._heed(stations, plain, wall)
            stations, wall = more, tried.stations
            waiting.insert(0, wall & every)
        self._heed(stations, plain, wall)

    def _heed(self, stations: int, plain: bool, wall: int) -> None:
        """Take in a wall, and what shows it: that nothing works if just these stations change."""
        self._shown.append((stations, plain))
        self._add_wall(wall)

    def follow(self, other: Scout) -> list[int]:
        """Try what another scout learnt from; the ways it found that are workable here too.

        Two readings that each doubt one thing are often much alike, and then most of what shows
        that nothing works shows it here: first what lets most stations change, as that says most.
        At the first that does not no more is tried.
        """
        for stations, plain in sorted(other._shown, key=_most_first):
            if all(wall & stations for wall in self.walls):
                left = self._try(stations, plain, None)
                if not isinstance(left, Wall):
                    break
                self._heed(stations, plain, left.stations)
        return [way for way, taken in other.plans.items() if self._holds(way, taken)]

    def _holds(self, way: int, taken: Taken) -> bool:
        """Whether a plan of another reading is one here."""
        if all(wall & way for wall in self.walls) and self.trial.holds(taken):
            self._bring(taken)
            return True
        return False

    def _is_known(self, stations: int, plain: bool) -> bool:
        """Whether a plan is known that changes none but these stations; or, of `plain`, whether it
        is known that nothing shows plainly: it does not with more that may change either."""
        held = ~stations
        return any(not works & held for works in self._works) or (
            plain and any(not less & held for less in self._open)
        )

    def _try(self, stations: int, plain: bool, wider: Run | None) -> object:
        if not plain:
            return self._solve(stations)
        if wider is not None and not stations & ~wider.among.changing:
            left = self.trial.narrowed_to(stations, wider)
        else:
            left = self.trial.narrowed(stations)
        if not isinstance(left, Wall):
            self._open.append(stations)
        return left

    def _add_wall(self, wall: int) -> None:
        stations, told = wall & self.trial.every, wall & ~(self.trial.every | self.trial.trusting)
        wall ^= told
        if wall not in self.walls:
            self.walls[wall] = told
            self.workable = self.workable and bool(stations)
            self._solver.add_clause(_one_of(stations))

    # ------------------------------------------------------------------ ways

    def still(self, before: Mapping[int, Taken]) -> list[int]:
        """Those ways of a reading that asks less, each with a plan, that are ways here too."""
        return [way for way, taken in before.items() if self._still(way, taken)]

    def ways(
        self,
        before: Mapping[int, Taken] | None = None,
        sure: Container[int] = (),
        others: dict[tuple[int, ...], Scout] | None = None,
    ) -> list[int]:
        """All ways, or enough to have every station among them that is in any.

        `before` are those of a reading that asks less, each with a plan of it; of these `sure` are
        ways here too. `others` are scouts of readings that ask as much, by what of `before` are
        ways there; this one is added.
        """
        found: list[int] = []
        for way, taken in (before or {}).items():
            if way in sure or self._still(way, taken):
                self._note(way, found)
        if before and len(found) == len(before):
            return found
        if others is not None:
            other = others.setdefault(tuple(found), self)
            for way in self.follow(other) if other is not self else ():
                least = self._shrunk(way)
                if least not in found:
                    self._note(least, found)
        while self.workable and len(found) < MOST_WAYS:
            another = self._next()
            if another is None:
                return found
            self._note(another, found)
        for number in range(len(self.trial.movable)):
            while self.workable and not any(way >> number & 1 for way in found):
                another = self._next(number)
                if another is None:
                    break
                self._note(another, found)
        return found

    def least(self, before: int | None = None) -> int | None:
        """The fewest stations that do, the first of several; None if none do. `before` are those of
        a reading that asks less."""
        if before is not None and self._plan(before) is not None:
            return before
        while self.workable:
            stations = smallest_hitting_set([wall & self.trial.every for wall in self.walls]) or 0
            if self._plan(stations) is not None:
                return stations
        return None

    def _still(self, way: int, taken: Taken) -> bool:
        """Whether a way of a reading that asks less is one here, where its plan may hold too."""
        return self._holds(way, taken) or self._plan(way) is not None

    def _note(self, way: int, found: list[int]) -> None:
        found.append(way)
        self._solver.add_clause([-(n + 1) for n in bits_of(way)])

    def _next(self, changing: int | None = None) -> int | None:
        """A way unlike those noted; None if there is none (that changes a station).

        With `changing` the way may lack the station, where one without it is within a plan with it.
        """
        assumed = [] if changing is None else [changing + 1]
        while self._solver.solve(assumptions=assumed):
            model = self._solver.get_model() or []
            proposed = sum(1 << v - 1 for v in model if v > 0)
            taken = self._plan(proposed)
            if taken is None:
                continue
            changed = self.trial.changed(taken)
            if changing is not None and not changed >> changing & 1:
                # Another plan may change it; if none does, the solver must learn of it.
                forced = self._changing(proposed, changing)
                if forced is None:
                    return self._shrunk(changed)
                without = self._plan(forced & ~(1 << changing))
                changed = forced if without is None else self.trial.changed(without)
            return self._shrunk(changed)
        return None

    def _changing(self, stations: int, number: int) -> int | None:
        """What changes in a plan within some stations that does change one of them."""
        station = self.trial.movable[number]
        taken = self.trial.solve(stations, {station: ~self.trial.kept(station)})
        return None if isinstance(taken, Wall) else self.trial.changed(taken)

    def _plan(self, stations: int) -> Taken | None:
        taken = self.do(stations)
        if taken is not None:
            self._bring(taken)
        return taken

    def _bring(self, taken: Taken) -> None:
        self.plans[self.trial.changed(taken)] = taken
        self._bring_all(taken)

    def _bring_all(self, parts: Mapping[str, int]) -> None:
        for station, some in parts.items():
            self.brought[station] = self.brought.get(station, 0) | some

    def _shrunk(self, changed: int) -> int:
        """A way within stations that do; each in turn keeps its part if it still can."""
        for number in bits_of(changed):
            if changed >> number & 1:
                taken = self._plan(changed & ~(1 << number))
                if taken is not None:
                    changed = self.trial.changed(taken)
        return changed

    # ------------------------------------------------------------------ reasons

    def blamed(self, station: int, way: int) -> tuple[int, Blamed] | None:
        """Why a station must change if nothing else may but the others of some: which stations stay
        for it, and the reasons; the fewest of those that are known. None if it need not."""
        is_known = any(wall & way == station for wall in self.walls)
        if not is_known and self.do(way & ~station) is not None:
            return None
        each = ((t.bit_count(), w, t) for w, t in self.walls.items() if w & way == station)
        _, wall, told = min(each)
        return wall ^ station, self.trial.because.named(told)

    # ------------------------------------------------------------------ options

    def complete(self, way: int) -> None:
        """Bring every part that a station can take in a plan that changes just these stations, and
        no more beside them than it takes trying out to tell."""
        run = self.trial.narrowed(way)
        if isinstance(run, Wall):
            raise AssertionError("a way is workable")
        self._bring_all(run.parts)

    def parts(self) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Per station the parts that come in question there."""
        for station, parts in sorted(self.brought.items()):
            named = self.trial.sets.named(station, parts)
            yield station, tuple(part for part in named if part is not None)


@lru_cache(4096)
def _one_of(stations: int) -> list[int]:
    """The clause that one of the stations changes; readings of a question share most of them."""
    return [n + 1 for n in bits_of(stations)]


def _most_first(shown: tuple[int, bool]) -> int:
    return -shown[0].bit_count()
