"""Stations with a few parts each and what rules combinations out: exactly which parts remain.

Small enough to be settled without a solver. A set of parts is a number, one bit for each part. A
clause says of some stations that at least one takes a part of a given set. Of parts that go with
just the same others one stands for all. Where the stations hang together like a tree, comparing
neighbours settles all; elsewhere every part is tried out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

Domains = dict[str, int]

_Goes = dict[str, dict[str, dict[int, int]]]
"""By station and other station: parts that only go with some of the other's, and with which."""


class Network:
    """Parts in question at some stations, narrowed to those that some solution has.

    There must be a solution.
    """

    def __init__(self, domains: Mapping[str, int], clauses: Iterable[Mapping[str, int]]) -> None:
        self.domains: Domains = dict(domains)
        self._goes: _Goes = {}
        self._wide: list[dict[str, int]] = []
        self._solutions: list[Domains] = []
        self._firsts: Domains = {}
        self._first: dict[str, dict[int, int]] = {}
        self._alike: dict[str, dict[int, int]] = {}
        self._left: dict[tuple[str, int], Domains] = {}
        binary: list[Mapping[str, int]] = []
        for clause in clauses:
            if len(clause) == 1:
                ((station, parts),) = clause.items()
                self.domains[station] &= parts
            elif len(clause) == 2:
                binary.append(clause)
            else:
                self._wide.append(dict(clause))
        for clause in binary:
            (a, with_a), (b, with_b) = clause.items()
            self._rule_out(a, self.domains[a] & ~with_a, b, with_b)
            self._rule_out(b, self.domains[b] & ~with_b, a, with_a)
        self._settle()

    def left(self, station: str, part: int) -> Domains:
        """What some solution has at every station, given one of the parts at one of them."""
        bound = self._component.get(station, ())
        if len(bound) < 2:
            return {**self.domains, station: part}
        first = self._first[station][part]
        if (station, first) not in self._left:
            found = self._exact({**self._firsts, station: first}, [bound], [station])
            self._left[station, first] = self._all_of(found)
        return {**self._left[station, first], station: part}

    def binds(self, station: str) -> bool:
        """Whether what a station takes may matter to another."""
        return len(self._component.get(station, ())) > 1

    def _rule_out(self, station: str, parts: int, other: str, partners: int) -> None:
        """Any of the parts at a station only goes with these partners at the other."""
        table = self._goes.setdefault(station, {}).setdefault(other, {})
        for part in _each(parts):
            table[part] = table.get(part, -1) & partners

    def _settle(self) -> None:
        self._beside = _by_other(self._goes)
        narrowed = self._narrowed(self.domains, self.domains)
        if narrowed is None:
            raise ValueError("nothing goes together")
        self.domains = narrowed
        for station, others in self._goes.items():
            tables = ((other, self._binding(station, other, t)) for other, t in others.items())
            self._goes[station] = {other: table for other, table in tables if table}
        self._merge()
        self._beside = _by_other(self._goes)
        self._firsts = self._exact(self._firsts, self._components, ())
        self.domains = self._all_of(self._firsts)

    def _merge(self) -> None:
        """Let the first of parts that go with the same others stand for them all."""
        for station, parts in self.domains.items():
            tables = [
                (table, self.domains[other]) for other, table in self._goes.get(station, {}).items()
            ]
            asked = [clause[station] for clause in self._wide if station in clause]
            alike: dict[tuple[int, ...], int] = {}
            for part in _each(parts):
                goes = (table.get(part, -1) & there for table, there in tables)
                serves = (part & those for those in asked)
                first = alike.setdefault((*goes, *(bool(s) for s in serves)), part)
                self._first.setdefault(station, {})[part] = first
                of_first = self._alike.setdefault(station, {})
                of_first[first] = of_first.get(first, 0) | part
            self._firsts[station] = sum(self._alike[station])
        for station, others in self._goes.items():
            for other, table in others.items():
                others[other] = {p: g for p, g in table.items() if p & self._firsts[station]}

    def _all_of(self, firsts: Domains) -> Domains:
        """All parts that the first of them stand for."""
        return {
            station: sum(self._alike[station][first] for first in _each(parts))
            for station, parts in firsts.items()
        }

    def _binding(self, station: str, other: str, table: dict[int, int]) -> dict[int, int]:
        """Of what is known of two stations, what still rules anything out."""
        here, there = self.domains[station], self.domains[other]
        return {part: goes for part, goes in table.items() if here & part and there & ~goes}

    @cached_property
    def _components(self) -> list[list[str]]:
        """Stations that may matter to one another, as far as their parts go."""
        links: dict[str, set[str]] = {}
        for station, others in self._goes.items():
            for other in others:
                links.setdefault(station, set()).add(other)
                links.setdefault(other, set()).add(station)
        for clause in self._wide:
            if not any(self.domains[s] & ~parts == 0 for s, parts in clause.items()):
                for station in clause:
                    links.setdefault(station, set()).update(s for s in clause if s != station)
        found: list[list[str]] = []
        waiting = dict.fromkeys(sorted(links))
        while waiting:
            edge, group = [next(iter(waiting))], []
            while edge:
                station = edge.pop()
                if station in waiting:
                    del waiting[station]
                    group.append(station)
                    edge.extend(links[station])
            found.append(sorted(group))
        self._is_tree = {
            station: sum(len(links[s]) for s in group) == 2 * (len(group) - 1)
            and not any(s in clause for clause in self._wide for s in group)
            for group in found
            for station in group
        }
        return found

    @cached_property
    def _component(self) -> dict[str, list[str]]:
        return {station: group for group in self._components for station in group}

    def _exact(
        self, domains: Domains, groups: Iterable[list[str]], taken: Iterable[str]
    ) -> Domains:
        narrowed = self._narrowed(domains, taken)
        if narrowed is None:
            raise ValueError("nothing goes together")
        for group in groups:
            if self._is_tree[group[0]]:
                continue
            seen = dict.fromkeys(group, 0)
            for known in self._solutions:
                if all(known.get(s, 0) & narrowed[s] for s in group):
                    for other in group:
                        seen[other] |= known[other]
            for station in group:
                for part in _each(narrowed[station]):
                    if not seen[station] & part:
                        solution = self._solved({**narrowed, station: part}, group, station)
                        if solution is not None:
                            self._solutions.append({s: solution[s] for s in group})
                            for other in group:
                                seen[other] |= solution[other]
            narrowed.update(seen)
        return narrowed

    def _solved(self, domains: Domains, group: list[str], taken: str) -> Domains | None:
        narrowed = self._narrowed(domains, [taken])
        if narrowed is None:
            return None
        open_ = [s for s in group if narrowed[s] & (narrowed[s] - 1)]
        if not open_:
            return narrowed
        station = min(open_, key=lambda s: narrowed[s].bit_count())
        for part in _each(narrowed[station]):
            found = self._solved({**narrowed, station: part}, group, station)
            if found is not None:
                return found
        return None

    def _narrowed(self, domains: Domains, taken: Iterable[str]) -> Domains | None:
        """Without what has no partner at a neighbour; None if that leaves a station nothing.

        Only at the stations `taken` something is less than it was.
        """
        domains, waiting = dict(domains), dict.fromkeys(taken)
        while waiting:
            while waiting:
                other = next(iter(waiting))
                del waiting[other]
                partners = domains[other]
                for station, table in self._beside.get(other, ()):
                    there = domains[station]
                    for part, goes in table.items():
                        if there & part and not goes & partners:
                            there &= ~part
                    if there != domains[station]:
                        if not there:
                            return None
                        domains[station] = there
                        waiting[station] = None
            for clause in self._wide:
                able = [s for s, parts in clause.items() if domains[s] & parts]
                if not able:
                    return None
                if len(able) == 1:
                    (station,) = able
                    if domains[station] & ~clause[station]:
                        domains[station] &= clause[station]
                        waiting[station] = None
        return domains


def _by_other(goes: _Goes) -> dict[str, list[tuple[str, dict[int, int]]]]:
    """The same by the other station."""
    found: dict[str, list[tuple[str, dict[int, int]]]] = {}
    for station, others in goes.items():
        for other, table in others.items():
            found.setdefault(other, []).append((station, table))
    return found


def _each(parts: int) -> Iterable[int]:
    while parts:
        lowest = parts & -parts
        yield lowest
        parts ^= lowest
