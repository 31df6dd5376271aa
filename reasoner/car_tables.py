"""What every question about one car looks up, made once for the car, and its idle solvers."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, reduce
from operator import or_
from weakref import WeakKeyDictionary

from .car_problem import CarProblem
from .catalogue import Part
from .engine import SatEngine
from .interfaces.kind import Outcome, worst
from .mating import Mate
from .places import end_key
from .reason import Reason, ReasonKind

_MOST_IDLE = 4
"""So many solvers wait for each car: one for each thread that asks."""

_OF_JOINTS = (ReasonKind.JOINT, ReasonKind.UNPROVEN)

Place = tuple[str, int]
"""A station and some of what may sit there: bit i stands for the i-th entry of its domain."""


class CarTables:
    """Tables of one car's problem.

    `free` are the stations, sorted, that may take more than one thing; `kept[station]` is the
    variable that says a station keeps its part. `switches` are those of the car's own reasons;
    `reasons` has each with its switch, and for a joint the members' stations.
    `stations_of[joint]` are a joint's stations, `neighbours[station]` those it shares a joint with.
    `at[station][part]` is the part's place in the domain. `partnered` remembers what
    goes with something at a joint, by what is possible at its stations.
    """

    def __init__(self, car: CarProblem) -> None:
        # Only what is made of the car: holding the car itself would keep both for ever.
        domains = car.domains
        self.domains: Mapping[str, tuple[str | None, ...]] = domains
        self.free = sorted(station for station, parts in domains.items() if len(parts) > 1)
        self.kept = {s: car.variables[s, part] for s, part in car.build.fits.items()}
        self._groups = car.groups
        self.switches = frozenset(car.groups.values())
        self.unproven = [v for r, v in car.groups.items() if r.kind is ReasonKind.UNPROVEN]
        self.stations_of = {joint.iri: joint.stations for joint in car.joints}
        self.members_of = {
            joint.iri: tuple(member.station for member in joint.members) for joint in car.joints
        }
        self.reasons = [
            (switch, reason, self.members_of[reason.subject] if reason.kind in _OF_JOINTS else ())
            for reason, switch in sorted(car.groups.items())
        ]
        self.full = {station: (1 << len(parts)) - 1 for station, parts in domains.items()}
        self.already: tuple[Mate, ...] = car.as_it_stands.clashes(car.mating)
        self._parts: Mapping[str, Part] = car.catalogue.parts
        self._clauses, self._top = car.clauses, car.top
        self._variables = car.meanings
        self.partnered: dict[tuple[str, str, bool, tuple[int, ...]], int] = {}
        self._mating, self._floor = car.mating, car.floor
        self._joints = {joint.iri: joint for joint in car.joints}
        self._idle: list[SatEngine] = []
        self._said: dict[tuple[str, tuple[str | None, ...]], Outcome] = {}
        self._met: dict[tuple[str, tuple[str | None, ...]], tuple[Mate, ...]] = {}
        self._sorts: dict[tuple[str, str], tuple[int, ...]] = {}
        self._apart: dict[tuple[str, str, bool], tuple[tuple[int, int], ...] | None] = {}
        self._sides: dict[Reason, tuple[dict[str, int], dict[str, int]]] = {}

    def take_engine(self) -> SatEngine:
        """A solver over the car's clauses, for one question at a time; to be given back."""
        try:
            return self._idle.pop()
        except IndexError:
            # Present parts and the car's reasons come first in every model, so that it stays close
            # to the car as it stands and is seen to have all the reasons it can have.
            return SatEngine(self._clauses, [*self.kept.values(), *self.switches], self._top)

    def give_back(self, engine: SatEngine) -> None:
        """What one question is done with may serve the next."""
        if engine.spent or len(self._idle) >= _MOST_IDLE:
            engine.close()
        else:
            self._idle.append(engine)

    @cached_property
    def neighbours(self) -> dict[str, tuple[str, ...]]:
        """Stations that share a joint with a station."""
        found: dict[str, set[str]] = {}
        for stations in self.stations_of.values():
            for a in stations:
                found.setdefault(a, set()).update(s for s in stations if s != a)
        return {station: tuple(sorted(others)) for station, others in found.items()}

    @cached_property
    def at(self) -> dict[str, dict[str | None, int]]:
        """Where each part stands in the domain of each station."""
        return {
            station: {part: at for at, part in enumerate(parts)}
            for station, parts in self.domains.items()
        }

    @cached_property
    def behind_switches(self) -> list[list[int]]:
        """The clauses of the car's reasons, each with its switch (negated) in front."""
        return [clause for clause in self._clauses if -clause[0] in self.switches]

    @cached_property
    def meaning(self) -> dict[int, Place]:
        """What a variable says sits where: one part, or any of those that bring the same end.

        A variable that is not among them only serves the solver.
        """
        at = self.at
        found = {v: (s, 1 << at[s][part]) for v, (s, part) in self._variables.items()}
        for clause in self._clauses:
            variable, members = -clause[0], clause[1:]
            if variable in found or variable in self.switches or variable < 0 or not members:
                continue
            if all(member in self._variables for member in members):
                (station,) = {found[member][0] for member in members}
                found[variable] = station, sum(found[member][1] for member in members)
        return found

    @cached_property
    def _of_switch(self) -> dict[int, list[list[int]]]:
        """What each reason of the car rules out, by its switch."""
        found: dict[int, list[list[int]]] = {}
        for clause in self.behind_switches:
            found.setdefault(-clause[0], []).append(clause[1:])
        return found

    def apart(
        self, joint: str, station: str, *, strict: bool
    ) -> tuple[tuple[int, int], ...] | None:
        """Parts of a station of a joint, and what at the other one these do not go with.

        None where more than two stations meet. Of a station that the car lacks the only part is
        nothing.
        """
        at = joint, station, strict
        if at not in self._apart:
            known = self._joints[joint]
            is_wide = known.is_chain or bool(known.via)
            self._apart[at] = None if is_wide else self._read_apart(*at)
        return self._apart[at]

    def _read_apart(self, joint: str, station: str, strict: bool) -> tuple[tuple[int, int], ...]:
        away: dict[int, int] = {}
        for kind in _OF_JOINTS if strict else _OF_JOINTS[:1]:
            switch = self._groups.get(Reason(kind, joint), 0)
            for clause in self._of_switch.get(switch, ()):
                here, there = -1, -1
                for literal in clause:
                    # What has no meaning is so anyway: that a lacking station has no end.
                    if -literal in self.meaning:
                        at, parts = self.meaning[-literal]
                        here, there = (parts, there) if at == station else (here, parts)
                away[here] = away.get(here, 0) | there
        sorts = self.sorts(joint, station) if away and station in self.domains else (1,)
        each = ((s, reduce(or_, (a for here, a in away.items() if here & s), 0)) for s in sorts)
        return tuple((alike, apart) for alike, apart in each if apart)

    def sorts(self, joint: str, station: str) -> tuple[int, ...]:
        """What may sit at a station of a joint, in groups that bring the same to it."""
        found = self._sorts.get((joint, station))
        if found is None:
            known = self._joints[joint]
            roles = [m.role for m in known.members if m.station == station]
            if station == known.via:
                roles.extend(known.via_roles)
            groups: dict[object, int] = {}
            for at, iri in enumerate(self.domains[station]):
                part = self._parts[iri] if iri else None
                key = (part is None, *(end_key(part, role) for role in roles))
                groups[key] = groups.get(key, 0) | 1 << at
            found = self._sorts[joint, station] = tuple(groups.values())
        return found

    def meet(self, joint: str, parts: tuple[str | None, ...]) -> tuple[Mate, ...]:
        """What comes of parts (in the order of the joint's stations) at a joint."""
        found = self._met.get((joint, parts))
        if found is None:
            described = [self._parts[iri] if iri else None for iri in parts]
            found = self._met[joint, parts] = self._mating.meet(self._joints[joint], described)
        return found

    def outcome(self, joint: str, parts: tuple[str | None, ...]) -> Outcome:
        """The worst that comes of them, without any findings."""
        found = self._said.get((joint, parts))
        if found is None:
            described = [self._parts[iri] if iri else None for iri in parts]
            said = self._mating.outcomes(self._joints[joint], described, self._floor)
            found = self._said[joint, parts] = worst(said)
        return found

    def sides(self, reason: Reason) -> tuple[dict[str, int], dict[str, int]]:
        """Of a requirement, exclusion or matched set: what asks, and what serves, per station."""
        if reason not in self._sides:
            asking: dict[str, int] = {}
            serving: dict[str, int] = {}
            for station, parts in self.domains.items():
                for at, iri in enumerate(parts):
                    if iri is None:
                        continue
                    part = self._parts[iri]
                    if _asks(part, reason):
                        asking[station] = asking.get(station, 0) | 1 << at
                    if _serves(part, reason):
                        serving[station] = serving.get(station, 0) | 1 << at
            self._sides[reason] = asking, serving
        return self._sides[reason]


def _asks(part: Part, reason: Reason) -> bool:
    if reason.kind is ReasonKind.MATCHED_SET:
        return reason.subject in part.sets
    if reason.kind is ReasonKind.REQUIREMENT:
        return part.asks.get(reason.other) == reason.subject
    return (part.family or part.iri) == reason.subject and reason.other in part.excludes


def _serves(part: Part, reason: Reason) -> bool:
    if reason.kind is ReasonKind.MATCHED_SET:
        return reason.subject in part.sets
    return reason.other in part.families


_TABLES: WeakKeyDictionary[CarProblem, CarTables] = WeakKeyDictionary()


def tables_of(car: CarProblem) -> CarTables:
    """The tables of a car's problem, made on the first question about it."""
    found = _TABLES.get(car)
    if found is None:
        found = _TABLES.setdefault(car, CarTables(car))
    return found
