"""What every question about one car looks up, made once for the car, and its idle solvers."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from weakref import WeakKeyDictionary

from .car_problem import CarProblem
from .catalogue import Part
from .engine import SatEngine
from .mating import Mate
from .reason import JOINTS, ReasonKind

_MOST_IDLE = 4
"""So many solvers wait for each car: one for each thread that asks."""


Place = tuple[str, int]
"""A station and some of what may sit there: bit i stands for the i-th entry of its domain."""


class CarTables:
    """Tables of one car's problem.

    `free` are the stations, sorted, that may take more than one thing; `kept[station]` is the
    variable that says a station keeps its part. `switches` are those of the car's own reasons;
    `reasons` has each with its switch, and for a joint the members' stations.
    `stations_of[joint]` are a joint's stations, `neighbours[station]` those it shares a joint with.
    `at[station][part]` is the part's place in the domain.
    """

    def __init__(self, car: CarProblem) -> None:
        # Only what is made of the car: holding the car itself would keep both for ever.
        domains = car.domains
        self.domains: Mapping[str, tuple[str | None, ...]] = domains
        self.free = sorted(station for station, parts in domains.items() if len(parts) > 1)
        self.kept = {s: car.variables[s, part] for s, part in car.build.fits.items()}
        self.switches = frozenset(car.groups.values())
        self.unproven = [v for r, v in car.groups.items() if r.kind is ReasonKind.UNPROVEN]
        self.stations_of = {joint.iri: joint.stations for joint in car.joints}
        self.members_of = {
            joint.iri: tuple(member.station for member in joint.members) for joint in car.joints
        }
        self.reasons = [
            (switch, reason, self.members_of[reason.subject] if reason.kind in JOINTS else ())
            for reason, switch in sorted(car.groups.items())
        ]
        self.full = {station: (1 << len(parts)) - 1 for station, parts in domains.items()}
        self.already: tuple[Mate, ...] = car.as_it_stands.clashes(car.mating)
        self._parts: Mapping[str, Part] = car.catalogue.parts
        self._clauses, self._top = car.clauses, car.top
        self._variables = car.meanings
        self._mating = car.mating
        self.joints = {joint.iri: joint for joint in car.joints}
        self._idle: list[SatEngine] = []
        self._met: dict[tuple[str, tuple[str | None, ...]], tuple[Mate, ...]] = {}

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

    def meet(self, joint: str, parts: tuple[str | None, ...]) -> tuple[Mate, ...]:
        """What comes of parts (in the order of the joint's stations) at a joint."""
        found = self._met.get((joint, parts))
        if found is None:
            described = [self._parts[iri] if iri else None for iri in parts]
            found = self._met[joint, parts] = self._mating.meet(self.joints[joint], described)
        return found


_TABLES: WeakKeyDictionary[CarProblem, CarTables] = WeakKeyDictionary()


def tables_of(car: CarProblem) -> CarTables:
    """The tables of a car's problem, made on the first question about it."""
    found = _TABLES.get(car)
    if found is None:
        found = _TABLES.setdefault(car, CarTables(car))
    return found
