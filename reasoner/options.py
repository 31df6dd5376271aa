"""What each changed station may take, and what is left once one of them has taken something."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Protocol

from .network import Domains, Network
from .oracle import Oracle

Parts = tuple[str | None, ...]


class Within(Protocol):
    """What the stations of one way may take; bit i stands for the i-th entry of a domain."""

    @property
    def domains(self) -> Domains:
        """Per station what it may take."""

    def binds(self, station: str) -> bool:
        """Whether what a station takes may matter to another."""

    def left(self, station: str, part: int) -> Domains:
        """Per station what it may take if one of them takes just this."""


class Options:
    """What each station can take in the ways of a reading, all others staying as they are."""

    def __init__(self, oracle: Oracle, reading: int, ways: Sequence[frozenset[str]]) -> None:
        self.oracle, self.reading, self.ways = oracle, reading, ways
        self._known: dict[frozenset[str], Within] = {}

    def of_all(self) -> dict[str, Parts]:
        """What each changed station can take in some of the ways."""
        found: Domains = {}
        for way in self.ways:
            for station, parts in self.within(way).domains.items():
                found[station] = found.get(station, 0) | parts
        return self.named(found)

    def of(self, way: frozenset[str]) -> dict[str, Parts]:
        """What each station of one way can take."""
        return self.named(self.within(way).domains)

    def named(self, domains: Mapping[str, int]) -> dict[str, Parts]:
        """The parts behind the bits, stations in order."""
        of_car = self.oracle.tables.domains
        return {
            station: tuple(
                part for at, part in enumerate(of_car[station]) if domains[station] >> at & 1
            )
            for station in sorted(domains)
        }

    def within(self, way: frozenset[str]) -> Within:
        """What the stations of a way (irredundant, so that all of them change) may take."""
        if way not in self._known:
            self._known[way] = self._within(way)
        return self._known[way]

    def _within(self, way: frozenset[str]) -> Within:
        oracle, tables = self.oracle, self.oracle.tables
        literals = oracle.literals(self.reading | oracle.all_but(way))
        implied = oracle.engine.implied([*literals, *(-tables.kept[s] for s in sorted(way))])
        if implied is None:
            raise ValueError("the way is not workable")
        known = frozenset(implied)
        variables = oracle.problem.car.variables
        domains = {
            station: sum(
                1 << at
                for at, part in enumerate(tables.domains[station])
                if -variables[station, part] not in known
            )
            for station in sorted(way)
        }
        if self.reading & oracle.limited:
            return _Tried(oracle, self.reading | oracle.all_but(way), domains)
        clauses = (self._within_way(c, way, known) for c in self._near if _open(c, known))
        return Network(domains, [clause for clause in clauses if clause is not None])

    @cached_property
    def _near(self) -> list[list[int]]:
        """The clauses that matter as long as only stations of some way change."""
        oracle = self.oracle
        changing = frozenset().union(*self.ways)
        implied = oracle.implied(self.reading | oracle.all_but(changing))
        known = frozenset(implied or ())
        return [c for c in oracle.tables.behind_switches if _open(c, known)]

    def _within_way(
        self, clause: Sequence[int], way: frozenset[str], known: frozenset[int]
    ) -> dict[str, int] | None:
        """What a clause asks of the stations of a way; None if the others fulfil it."""
        tables = self.oracle.tables
        found: dict[str, int] = {}
        for literal in clause:
            # A variable without meaning says what is so anyway: that a lacking station has no end.
            if -literal in known or abs(literal) not in tables.meaning:
                continue
            station, parts = tables.meaning[abs(literal)]
            if literal < 0:
                parts ^= tables.full[station]
            if station in way:
                found[station] = found.get(station, 0) | parts
            elif parts & 1:
                return None
        return found


def _open(clause: Sequence[int], known: frozenset[int]) -> bool:
    """Whether a clause is in force and not yet fulfilled."""
    return -clause[0] in known and known.isdisjoint(clause)


class _Tried:
    """As `Network`, where a limit on a sum ties all stations together: each part is tried out."""

    def __init__(self, oracle: Oracle, atoms: int, candidates: Domains) -> None:
        self._oracle, self._atoms = oracle, atoms
        self.domains: Domains = self._possible(atoms, candidates)

    def binds(self, station: str) -> bool:
        """Whether what a station takes may matter to another: all that change are weighed."""
        return station in self.domains

    def left(self, station: str, part: int) -> Domains:
        """Per station what it may take if one of them takes just this."""
        taken = self._atoms | self._says(station, part)
        return self._possible(taken, {**self.domains, station: part})

    def _says(self, station: str, part: int) -> int:
        at = part.bit_length() - 1
        named = self._oracle.tables.domains[station][at]
        return self._oracle.atom(self._oracle.problem.variable(station, named))

    def _possible(self, atoms: int, candidates: Domains) -> Domains:
        at = self._oracle.tables.at
        seen = dict.fromkeys(candidates, 0)
        for station, parts in candidates.items():
            for number in range(parts.bit_length()):
                part = 1 << number
                if parts & part and not seen[station] & part:
                    plan = self._oracle.plan(atoms | self._says(station, part))
                    for other in candidates if plan is not None else ():
                        seen[other] |= 1 << at[other][plan[other]] if plan is not None else 0
        return seen
