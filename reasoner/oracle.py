"""What is known of one problem so far: what has been seen to hold together, and what cannot.

Whatever a search may take for granted is an *atom*: a reason (a joint, a requirement, a wish …) or
that a station keeps its part. A set of atoms is one number, a bit for each, so that a question is
first held against the answers there are, and the solver is only asked what does not follow from
them. The order of bits is the order in which reasons are preferred for a proof, the nearest to what
is fitted first; so proofs are the same whatever the solver came upon.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import compress, islice

from .car_tables import CarTables, tables_of
from .engine import SatEngine
from .limits import Scales
from .problem import Problem, Reason, ReasonKind

_MOST_REMEMBERED = 60
_MOST_CUTS = 100
_MARKS = bytes.maketrans(b"01", b"\x00\x01")


class Oracle:
    """Answers whether sets of atoms hold together.

    `kindly` and `strictly` are the reasons that count in a reading, `limited` the limits on sums
    that a plan may overstep. `distance` counts the joints between each station and what is fitted.
    `reasons` names the atoms that are reasons.
    """

    def __init__(
        self,
        problem: Problem,
        tables: CarTables,
        engine: SatEngine,
        distance: Mapping[str, int],
    ) -> None:
        self.problem, self.tables, self.engine = problem, tables, engine
        self.distance = distance
        self.refuted = 0
        self._models: list[int] = []
        self._cores: list[int] = []
        self._single: list[int] = []
        self._wide: list[tuple[int, tuple[int, ...]]] = []
        self._places: list[int] = []
        self._bits: list[int] = []
        self._other: list[tuple[int, tuple[int, ...]]] = []
        self._atoms_of: dict[int, list[int]] = {}
        self._atom_of: dict[int, int] = {}
        self._foreign: dict[int, int] = {}
        self._groups: dict[tuple[int, ...], int] = {}
        self._cuts = 0
        self._enter_all(tables.kept[station] for station in tables.free)
        self._kept = dict(zip(tables.free, self._bits, strict=True))
        self.all_kept = (1 << len(self._single)) - 1
        self.reasons: dict[int, Reason] = {}
        self._add_wishes()
        self._add_reasons()
        sums = {limit.switch: limit for limit in problem.sums}
        for reason in [r for r, switch in problem.groups.items() if switch in sums]:
            self.reasons[self._enter(())] = reason
        self._of_switch = {self.problem.groups[r]: bit for bit, r in self.reasons.items()}
        self.strictly = (1 << len(self._single)) - 1 & ~self.all_kept
        self.stated = self._of_kind(ReasonKind.REQUIREMENT)
        self.kindly = self.strictly & ~self._of_kind(ReasonKind.UNPROVEN)
        self._ways = self._known_ways()
        weighed = [(self._of_switch[v], Scales(problem, limit)) for v, limit in sums.items()]
        self._limits = [(bit, scales) for bit, scales in weighed if not scales.idle]
        self.limited = sum(bit for bit, _ in self._limits)

    def _of_kind(self, kind: ReasonKind) -> int:
        return sum(bit for bit, reason in self.reasons.items() if reason.kind is kind)

    def ways(self, reading: int) -> tuple[frozenset[str], ...] | None:
        """All ways of a reading, if they were found when parts were looked for."""
        return self._ways.get(reading)

    def _known_ways(self) -> dict[int, tuple[frozenset[str], ...]]:
        problem, readings = self.problem, self.problem.car.readings
        # Limits on sums, and that nothing unproven will do, were not asked for then.
        if problem.sums or problem.wishes.only_proven:
            return {}
        found = {self.kindly: readings.kindly, self.strictly: readings.strictly}
        for joint, ways in readings.refuted.items():
            if doubt := self.reason(Reason(ReasonKind.UNPROVEN, joint)):
                found[self.kindly | doubt] = ways
        return {reading: ways for reading, ways in found.items() if ways is not None}

    # ------------------------------------------------------------------ atoms

    def kept(self, station: str) -> int:
        """The atom that a station keeps its part; 0 where it can do nothing else."""
        return self._kept.get(station, 0)

    def keeping(self, stations: Iterable[str]) -> int:
        """The atoms that each of the stations keeps its part."""
        found = 0
        for station in stations:
            found |= self._kept.get(station, 0)
        return found

    def all_but(self, stations: Iterable[str]) -> int:
        """The atoms that every station but these keeps its part."""
        return self.all_kept & ~self.keeping(stations)

    def changed(self, model: int) -> frozenset[str]:
        """The stations that do not keep their part in what was found to hold."""
        return frozenset(station for station, bit in self._kept.items() if not model & bit)

    def reason(self, reason: Reason) -> int:
        """The atom of a reason; 0 if the problem does not have it."""
        switch = self.problem.groups.get(reason)
        return 0 if switch is None else self._of_switch[switch]

    def switched(self, literal: int) -> int:
        """The atom of a reason, by its switch, or of any other literal."""
        return self._of_switch.get(literal) or self.atom(literal)

    def atom(self, literal: int) -> int:
        """The atom that a literal holds."""
        if literal not in self._atom_of:
            self._atom_of[literal] = self._enter((literal,))
        return self._atom_of[literal]

    def forbidden(self, clause: Iterable[int]) -> int:
        """A new atom that at least one of the literals holds."""
        gate = self.engine.fresh()
        self.engine.add([-gate, *clause])
        return self._enter((gate,))

    def _enter(self, literals: tuple[int, ...]) -> int:
        bit = 1 << len(self._single)
        single = literals[0] if len(literals) == 1 else 0
        self._single.append(single)
        if not single:
            self._wide.append((bit, literals))
        if single > 0:
            self._places.append(single - 1)
            self._bits.append(bit)
        else:
            self._other.append((bit, literals))
        for literal in literals:
            self._atoms_of.setdefault(literal, []).append(bit)
        return bit

    def _enter_all(self, literals: Iterable[int]) -> None:
        """Many atoms of one positive literal each."""
        literals = list(literals)
        first = len(self._single)
        bits = [1 << at for at in range(first, first + len(literals))]
        self._single += literals
        self._places += [literal - 1 for literal in literals]
        self._bits += bits
        for literal, bit in zip(literals, bits, strict=True):
            # A wish for nothing unproven has the car's own switches too.
            self._atoms_of.setdefault(literal, []).append(bit)

    def _add_wishes(self) -> None:
        """The reasons that only this question has: what they say, as the solver knows only the car.

        They are at hand, so they come first; but limits on sums last, as they narrow nothing by
        themselves.
        """
        problem = self.problem
        own = {s: r for r, s in islice(problem.groups.items(), len(self.tables.reasons), None)}
        literals: dict[int, list[int]] = {switch: [] for switch in own}
        wider: dict[int, list[list[int]]] = {}
        for clause in islice(problem.clauses, len(problem.car.clauses), None):
            switch = -clause[0]
            if switch not in own:
                continue  # of workshop operations: they matter with a limit on hours
            if len(clause) == 2:
                literals[switch].append(clause[1])
            else:
                wider.setdefault(switch, []).append(clause[1:])
        for switch, clauses in wider.items():
            if clauses == problem.car.unproven:
                literals[switch] += self.tables.unproven
                continue
            literals[switch].append(self._known(switch))
            for clause in clauses:
                self.engine.add([-self._known(switch), *map(self._known, clause)])
        sums = {limit.switch for limit in problem.sums}
        for switch, reason in sorted(own.items(), key=lambda item: item[1]):
            if switch not in sums:
                self.reasons[self._enter(tuple(literals[switch]))] = reason

    def _add_reasons(self) -> None:
        """The car's reasons: the farthest station counts first, then all together."""
        distance, far = self.distance, max(self.distance.values(), default=0) + 1
        reach: list[tuple[int, int, int]] = []
        for rank, (_, _, members) in enumerate(self.tables.reasons):
            distances = [distance.get(station, far) for station in members] or [1]
            reach.append((max(distances), sum(distances), rank))
        nearest = [self.tables.reasons[rank] for _, _, rank in sorted(reach)]
        first = len(self._single)
        self._enter_all(switch for switch, _, _ in nearest)
        for at, (_, reason, _) in enumerate(nearest, first):
            self.reasons[1 << at] = reason

    def _known(self, literal: int) -> int:
        """A literal of the problem as the solver has it: only the car's variables are the same."""
        variable = abs(literal)
        if variable <= self.problem.car.top:
            return literal
        if variable not in self._foreign:
            self._foreign[variable] = self.engine.fresh()
        return self._foreign[variable] if literal > 0 else -self._foreign[variable]

    # ------------------------------------------------------------------ asking

    def find(self, atoms: int) -> int | None:
        """All atoms seen to hold beside `atoms`, or None; then `refuted` are some that clash."""
        for at, known in enumerate(self._models):
            if atoms & known == atoms:
                if at > 8:
                    self._models.insert(0, self._models.pop(at))
                return known
        for core in self._cores:
            if core & atoms == core:
                self.refuted = core
                return None
        model = self._asked(atoms)
        if model is None:
            self._cores.insert(0, self.refuted)
            del self._cores[_MOST_REMEMBERED:]
            return None
        seen = self._seen(model)
        self._models.insert(0, seen)
        del self._models[_MOST_REMEMBERED:]
        return seen

    def plan(self, atoms: int) -> dict[str, str | None] | None:
        """Some plan that has the atoms, or None."""
        model = self._asked(atoms)
        return None if model is None else self.problem.plan_of(model)

    def implied(self, atoms: int) -> Sequence[int] | None:
        """Literals that plainly follow; None where the atoms plainly clash."""
        return self.engine.implied(self.literals(atoms))

    def _asked(self, atoms: int) -> Sequence[int] | None:
        while self.engine.solve(self.literals(atoms)):
            model = self.engine.model()
            over = [(b, s) for b, s in self._limits if atoms & b and not s.within(model)]
            if not over:
                return model
            for bit, scales in over:
                cover = scales.cover(model) if self._cuts < _MOST_CUTS else None
                if cover is None:
                    self._weigh()
                    break
                self._cut(bit, cover)
        self.refuted = self._core(atoms)
        return None

    def literals(self, atoms: int) -> list[int]:
        """What the solver is to assume for the atoms, the nearest first."""
        marks = bin(atoms)[:1:-1].encode().translate(_MARKS)
        found = list(compress(self._single, marks))
        for bit, literals in self._wide:
            if atoms & bit:
                found.extend(literals)
        return [literal for literal in found if literal] if self._wide else found

    def _seen(self, model: Sequence[int]) -> int:
        """The atoms that a model is seen to have; it may have more reasons, never fewer."""
        found = sum(compress(self._bits, [model[at] > 0 for at in self._places]))
        for bit, literals in self._other:
            if all((model[abs(v) - 1] > 0) == (v > 0) for v in literals):
                found |= bit
        for bit, scales in self._limits:
            found = found | bit if scales.within(model) else found & ~bit
        return found

    def _core(self, atoms: int) -> int:
        """The atoms behind the solver's own proof; of two that say the same, the nearer."""
        found = 0
        for literal in self.engine.core():
            found |= next(bit for bit in self._atoms_of[literal] if atoms & bit)
        return found

    def _cut(self, bit: int, cover: Sequence[Sequence[int]]) -> None:
        """Let the solver know of parts that no plan within a limit has all of."""
        self._cuts += 1
        clause = [-self._switch_of(bit)]
        for group in cover:
            among = tuple(group)
            if among not in self._groups:
                self._groups[among] = among[0] if len(among) == 1 else self.engine.fresh()
                for variable in among if len(among) > 1 else ():
                    self.engine.add([-variable, self._groups[among]])
            clause.append(-self._groups[among])
        self.engine.add(clause)

    def _switch_of(self, bit: int) -> int:
        """The switch of a limit, which the solver is to assume from now on."""
        switch = self._known(self.problem.groups[self.reasons[bit]])
        at = bit.bit_length() - 1
        if not self._single[at]:
            self._single[at] = switch
            self._atoms_of[switch] = [bit]
            self._wide = [(b, literals) for b, literals in self._wide if b != bit]
            self._other = [(b, literals) for b, literals in self._other if b != bit]
        return switch

    def _weigh(self) -> None:
        """Give the solver the limits as sums: it takes longer, but says all there is to say."""
        operations = self.problem.clauses[len(self.problem.car.clauses) :]
        for clause in (*operations, *self.problem.sum_clauses):
            self.engine.add([*map(self._known, clause)])
        for bit, _ in self._limits:
            self._places.append(self._switch_of(bit) - 1)
            self._bits.append(bit)
        self._limits = []


def joint_distances(problem: Problem) -> dict[str, int]:
    """Joints between each station and the nearest fitted one."""
    neighbours = tables_of(problem.car).neighbours
    distance = dict.fromkeys(sorted(problem.wishes.fits), 0)
    edge, step = sorted(distance), 0
    while edge:
        step += 1
        edge = sorted({n for s in edge for n in neighbours.get(s, ()) if n not in distance})
        distance.update(dict.fromkeys(edge, step))
    return distance
