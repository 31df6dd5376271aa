"""What is known of one problem so far: what has been seen to hold together, and what cannot.

Whatever a search may take for granted is an *atom*: a reason (a joint, a requirement, a wish …) or
that a station keeps its part. A set of atoms is one number, a bit for each, so that a question is
first held against the answers there are, and the solver is only asked what does not follow from
them. The order of bits is the order in which reasons are preferred for a proof, the nearest to what
is fitted first; so proofs are the same whatever the solver came upon.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import compress

from .car_tables import CarTables, tables_of
from .engine import SatEngine
from .limits import Scales
from .problem import Problem, Reason, ReasonKind

_MOST_REMEMBERED = 60
_BITS = bytes.maketrans(b"01", b"\x00\x01")


class Oracle:
    """Answers whether sets of atoms hold together.

    `kindly` and `strictly` are the reasons that count in a reading, `limited` the limits on sums
    that a plan may overstep. `distance` counts the joints
    between each station and what is fitted.
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
        self.limited = 0
        self._limits: list[tuple[int, Scales]] = []
        self._single: list[int] = []
        self._wide: list[tuple[int, tuple[int, ...]]] = []
        self._places: list[int] = []
        self._bits: list[int] = []
        self._other: list[tuple[int, tuple[int, ...]]] = []
        self._atoms_of: dict[int, list[int]] = {}
        self._atom_of: dict[int, int] = {}
        self._foreign: dict[int, int] = {}
        self._kept = {station: self.atom(tables.kept[station]) for station in tables.free}
        self.all_kept = (1 << len(self._single)) - 1
        self.reasons: dict[int, Reason] = {}
        self.bits: dict[Reason, int] = {}
        self._add_reasons()
        self.strictly = sum(self.reasons)
        self.stated = sum(b for b, r in self.reasons.items() if r.kind is ReasonKind.REQUIREMENT)
        self.kindly = sum(b for b, r in self.reasons.items() if r.kind is not ReasonKind.UNPROVEN)

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

    def switched(self, literal: int) -> int:
        """The atom of a reason, by its switch, or of any other literal."""
        reason = self.tables.switches.get(literal) or self._own.get(literal)
        return self.atom(literal) if reason is None else self.bits[reason]

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

    def _add_reasons(self) -> None:
        literals = self._of_wishes()
        far = max(self.distance.values(), default=0) + 1
        reach = {reason: self._reach(reason, far) for reason in self.problem.groups}
        nearest = sorted(
            self.problem.groups,
            key=lambda r: (*reach[r], r.kind.value, r.subject, r.other),
        )
        for reason in nearest:
            switch = self.problem.groups[reason]
            bit = self._enter(tuple(literals.get(switch, (switch,))))
            self.reasons[bit] = reason
            self.bits[reason] = bit
        for limit in self.problem.sums:
            scales = Scales(self.problem, limit)
            if not scales.idle:
                bit = self.bits[self.problem.reason_of(limit.switch)]
                self.limited |= bit
                self._limits.append((bit, scales))

    def _reach(self, reason: Reason, far: int) -> tuple[int, int]:
        """How far from what is fitted a reason's stations are, the farthest and all together;
        wishes are at hand."""
        if reason.kind in (ReasonKind.JOINT, ReasonKind.UNPROVEN):
            members = self.tables.members_of[reason.subject]
            distances = [self.distance.get(station, far) for station in members]
            return max(distances), sum(distances)
        if reason.kind in (ReasonKind.FIT, ReasonKind.KEEP, ReasonKind.LIMIT):
            return 0, 0
        return 1, 1

    def _of_wishes(self) -> dict[int, list[int]]:
        """For reasons that only this question has, what they say; the solver knows only the car."""
        problem, own = self.problem, self.tables.groups
        self._own = {s: r for r, s in problem.groups.items() if r not in own}
        found: dict[int, list[int]] = {switch: [] for switch in self._own}
        wider: dict[int, list[list[int]]] = {}
        for clause in problem.clauses[len(problem.car.clauses) :]:
            switch = -clause[0]
            if switch not in found:
                continue  # of workshop operations: they matter with a limit on hours
            if len(clause) == 2:
                found[switch].append(clause[1])
            else:
                wider.setdefault(switch, []).append(clause[1:])
        for switch, clauses in wider.items():
            if clauses == problem.car.unproven:
                found[switch] += self.tables.unproven
                continue
            found[switch].append(self._known(switch))
            for clause in clauses:
                self.engine.add([-self._known(switch), *map(self._known, clause)])
        return found

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
        if not self.engine.solve(self.literals(atoms)):
            self.refuted = self._core(atoms)
            return None
        model = self.engine.model()
        if all(scales.within(model) for bit, scales in self._limits if atoms & bit):
            return model
        self._weigh()
        return self._asked(atoms)

    def literals(self, atoms: int) -> list[int]:
        """What the solver is to assume for the atoms, the nearest first."""
        marks = bin(atoms)[:1:-1].encode().translate(_BITS)
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
            if found & bit and not scales.within(model):
                found &= ~bit
        return found

    def _core(self, atoms: int) -> int:
        """The atoms behind the solver's own proof; of two that say the same, the nearer."""
        found = 0
        for literal in self.engine.core():
            found |= next(bit for bit in self._atoms_of[literal] if atoms & bit)
        return found

    def _weigh(self) -> None:
        """Give the solver the limits on sums as clauses, now that one has been overstepped."""
        operations = self.problem.clauses[len(self.problem.car.clauses) :]
        for clause in (*operations, *self.problem.sum_clauses):
            self.engine.add([*map(self._known, clause)])
        limited = {bit for bit, _ in self._limits}
        self._limits = []
        self._other = [(bit, literals) for bit, literals in self._other if bit not in limited]
        self._wide = [(bit, literals) for bit, literals in self._wide if bit not in limited]
        for bit in limited:
            switch = self._known(self.problem.groups[self.reasons[bit]])
            self._single[bit.bit_length() - 1] = switch
            self._places.append(switch - 1)
            self._bits.append(bit)
            self._atoms_of.setdefault(switch, []).append(bit)


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
