"""Who may sit where, as far as it is known, and the solver's variables for it.

A station keeps its part, takes one of the parts that were brought to it, or *some other*, of which
nothing is known.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Container, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

from pysat.solvers import Solver

from .build import Build
from .catalogue import Part
from .mating import Mating
from .places import EndKey, end_key

SOME_OTHER = "?"
"""What a station takes of which nothing is known yet."""

Plan = dict[str, str | None]


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known at one place: by sort of end (see `Mating.alike`) the ends, and by end the
    literals of the parts that bring it; and the variables made for ends and for sorts."""

    by_sort: dict[int, dict[EndKey, list[int]]]
    of_key: dict[EndKey, int]
    of_sort: dict[int, int]


class Board:
    """The stations of one car with what was brought to them: `brought[station][part]` is the
    literal that says a part sits there, `kept[station]` that the station keeps its part.

    `refusing` is the assumption under which none of `refused` is fitted.
    """

    def __init__(
        self,
        mating: Mating,
        build: Build,
        on_offer: Callable[[str, str], bool],
        refused: Container[str] = (),
    ) -> None:
        self.mating, self.build = mating, build
        self.brought: dict[str, dict[str | None, int]] = {}
        self.solver = Solver(name="glucose4")
        self._parts = mating.catalogue.parts
        self._on_offer = on_offer
        self._refused = refused
        self._top = 0
        self.kept = {station: self.new() for station in build.fits}
        self.solver.set_phases(list(self.kept.values()))
        self.refusing = self.new()
        self._carried: dict[str, int] = {}
        self._tables: dict[str, dict[str, _Known]] = {}
        self._keys: dict[tuple[str | None, str], EndKey] = {}
        self._always = self.new()
        self.add([self._always])
        for station, part in build.fits.items():
            described = mating.catalogue.stations[station]
            if described.fixed:
                self.add([self.kept[station]])
            elif described.may_stand_empty and part is not None:
                self.bring(station, (None,))

    def close(self) -> None:
        """Free what the solver holds."""
        self.solver.delete()

    def new(self) -> int:
        """A variable nothing else uses."""
        self._top += 1
        return self._top

    def add(self, clause: list[int]) -> None:
        """One more thing that every plan must obey."""
        self.solver.add_clause(clause)

    def wish(self, station: str, part: str) -> int:
        """The literal of a wished part, which is brought whether it is on offer or not."""
        if self.build.fits[station] == part:
            return self.kept[station]
        if part not in self.brought.get(station, {}):
            self.bring(station, (part,), asked=False)
        return self.brought[station][part]

    def bring(self, station: str, parts: Iterable[str | None], *, asked: bool = True) -> None:
        """Let parts come to a station; at most one of all that are known there will."""
        there = self.brought.setdefault(station, {})
        for part in parts:
            if part in there or part == self.build.fits[station]:
                continue
            if part is not None and asked and not self._on_offer(station, part):
                continue
            variable = there[part] = self.new()
            self.add([-variable, -self.kept[station]])
            if part is not None and part in self._refused:
                self.add([-variable, -self.refusing])
            following = self.new()
            before = self._carried.get(station)
            if before is not None:
                self.add([-before, -variable])
                self.add([-before, following])
            self.add([-variable, following])
            self._carried[station] = following
            for role, known in self._tables.get(station, {}).items():
                self._note(role, known, part, variable)

    def table(self, station: str, role: str) -> _Known:
        """What is known to bring which end to a role."""
        tables = self._tables.setdefault(station, {})
        if role not in tables:
            known = tables[role] = _Known({}, {}, {})
            if station in self.build.fits:
                self._note(role, known, self.build.fits[station], self.kept[station])
            else:
                self._note(role, known, None, self._always)
            for part, literal in self.brought.get(station, {}).items():
                self._note(role, known, part, literal)
        return tables[role]

    def _note(self, role: str, known: _Known, part: str | None, literal: int) -> None:
        key = self.key(part, role)
        sort = self.mating.alike(key)
        known.by_sort.setdefault(sort, {}).setdefault(key, []).append(literal)
        for variable in (known.of_key.get(key), known.of_sort.get(sort)):
            if variable is not None:
                self.add([-literal, variable])

    def end(self, station: str, role: str, key: EndKey) -> int:
        """The variable that is true if what sits at the station brings just this end."""
        known = self.table(station, role)
        if key not in known.of_key:
            alike = known.by_sort.get(self.mating.alike(key), {})
            known.of_key[key] = self._if_any(alike.get(key, ()))
        return known.of_key[key]

    def sort(self, station: str, role: str, key: EndKey) -> int:
        """The variable that is true if what sits there brings this end or one like it."""
        known = self.table(station, role)
        sort = self.mating.alike(key)
        if sort not in known.of_sort:
            known.of_sort[sort] = self._if_any(chain(*known.by_sort.get(sort, {}).values()))
        return known.of_sort[sort]

    def _if_any(self, literals: Iterable[int]) -> int:
        """A new variable that is true if one of the literals is."""
        variable = self.new()
        for literal in literals:
            self.add([-literal, variable])
        return variable

    def nothing_at(self, station: str) -> int:
        """The literal that says a go-between's station stands empty."""
        if self.build.fits[station] is None:
            return self.kept[station]
        return self.brought[station][None]

    def plan_in(self, model: Sequence[int]) -> Plan:
        """What sits where in a solver's model."""
        plan: Plan = {}
        for station, kept in self.kept.items():
            if model[kept - 1] > 0:
                plan[station] = self.build.fits[station]
                continue
            plan[station] = SOME_OTHER
            for part, literal in self.brought.get(station, {}).items():
                if literal <= len(model) and model[literal - 1] > 0:
                    plan[station] = part
                    break
        return plan

    def key(self, iri: str | None, role: str) -> EndKey:
        """What a part brings to a role."""
        found = self._keys.get((iri, role))
        if found is None:
            found = self._keys[iri, role] = end_key(self.part(iri), role)
        return found

    def part(self, iri: str | None) -> Part | None:
        """The part of an IRI; None stays None."""
        return self._parts[iri] if iri else None

    def all_but(self, stations: Collection[str]) -> list[int]:
        """The literals that all other stations keep their part."""
        return [kept for station, kept in self.kept.items() if station not in stations]

    def literal(self, station: str, plan: Plan) -> int:
        """The literal that says a station has what it has in a plan of known parts."""
        part = plan[station]
        if part == self.build.fits[station]:
            return self.kept[station]
        return self.brought[station][part]

    def literals_of(self, station: str, part: str) -> list[int]:
        """The literal that says a part sits at a station; none if it cannot."""
        if self.build.fits.get(station) == part:
            return [self.kept[station]]
        literal = self.brought.get(station, {}).get(part)
        return [] if literal is None else [literal]
