"""The best complete sets of parts, and others that differ in kind.

CP-SAT minimises what the shop cares about in the order it states: parts, cost, hours, what cannot
be undone, what nobody has proven. A further plan must resolve something in a different way: it may
not change all the stations of an earlier plan with parts of the same families at the branch points
(the stations whose choice settles the others).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from ortools.sat.python import cp_model

from .advice import advice_for
from .catalogue import Advice, Operation, Part, Standing
from .interfaces.kind import Outcome, Value
from .plan_model import model_of, weighed
from .problem import Problem, ReasonKind
from .reasons import Meeting
from .supply import Origin


class Aim(StrEnum):
    """What a plan can have little of."""

    PARTS = "parts"
    COST = "cost"
    HOURS = "hours"
    IRREVERSIBLE = "irreversible"
    UNPROVEN = "unproven"


USUAL_ORDER = (Aim.PARTS, Aim.COST, Aim.HOURS, Aim.IRREVERSIBLE, Aim.UNPROVEN)

_PATIENCE = 20.0
"""Deterministic time (CP-SAT's own unit, near seconds) for one plan; the same on every machine."""


@dataclass(frozen=True, slots=True)
class PlanPart:
    """One station that changes: from `was` to `part` (None: left empty), from `origin`.

    `made` gives end, quantity and value of what is made to suit.
    """

    station: str
    was: str | None
    part: str | None
    quantity: int
    origin: Origin | None
    made: tuple[tuple[str, str, Value], ...] = ()


@dataclass(frozen=True, slots=True)
class Consumables:
    """A one-use fastener, seal, gasket or fluid that an opened station wants renewed."""

    iri: str
    label: str
    count: str
    because: str
    price: Decimal | None


@dataclass(frozen=True, slots=True)
class Plan:
    """One complete workable set of parts.

    `cost` is in EUR without labour and without parts nobody has priced (`unpriced`); `hours` the
    union of `operations` (in an order that gives access) and rework; `unproven` the joints it
    rests on that nobody has proven; `blanks` openings that want a plug; `lost` joints that met
    before and meet nothing now; `advice` cautions that the new parts bring; `standing` the weakest
    claim among its changed joints. `optimal` is False where the search was cut short.
    """

    fits: dict[str, str | None]
    parts: tuple[PlanPart, ...]
    cost: Decimal
    unpriced: tuple[str, ...]
    operations: tuple[str, ...]
    hours: Decimal
    irreversible: tuple[str, ...]
    unproven: tuple[Meeting, ...]
    blanks: tuple[str, ...]
    lost: tuple[str, ...]
    consumables: tuple[Consumables, ...]
    advice: tuple[Advice, ...]
    standing: Standing
    optimal: bool

    def figure(self, aim: Aim) -> Decimal:
        """How much of one aim the plan has."""
        return {
            Aim.PARTS: Decimal(len(self.parts)),
            Aim.COST: self.cost,
            Aim.HOURS: self.hours,
            Aim.IRREVERSIBLE: Decimal(len(self.irreversible)),
            Aim.UNPROVEN: Decimal(len({m.mate.joint for m in self.unproven})),
        }[aim]


def find_plans(
    problem: Problem,
    *,
    most: int = 5,
    order: Sequence[Aim] = USUAL_ORDER,
    points: Collection[str] | None = None,
    strict: bool = False,
) -> tuple[Plan, ...]:
    """Up to `most` plans, best first, each different in kind from those before it.

    `order` lists aims, most important first; aims it leaves out follow in the usual order.
    `points` are the branch points (see `branches`); without them every station is one.
    """
    order = (*order, *(aim for aim in USUAL_ORDER if aim not in order))
    problem.add_operations()
    search = _PlanSearch(problem, order, points, strict=strict)
    found: list[Plan] = []
    while len(found) < most:
        plan = search.next()
        if plan is None:
            break
        found.append(plan)
    return tuple(found)


class _PlanSearch:
    def __init__(
        self,
        problem: Problem,
        order: Sequence[Aim],
        points: Collection[str] | None,
        *,
        strict: bool,
    ) -> None:
        self.problem = problem
        self.points = points
        self.model = model_of(problem.car).clone()
        known = problem.car.top + 1
        self._variables = {at: self.model.new_bool_var("") for at in range(known, problem.top + 1)}
        for clause in problem.clauses[len(problem.car.clauses) :]:
            self.model.add_bool_or([self._literal(literal) for literal in clause])
        for switch in problem.assumptions(strict=strict):
            self.model.add_bool_or([self._literal(switch)])
        for limit in problem.sums:
            total = cp_model.LinearExpr.weighted_sum(
                [self._literal(v) for v, _ in limit.terms], [w for _, w in limit.terms]
            )
            self.model.add(total <= limit.most)
        self.model.minimize(self._objective(order))
        for station in problem.build.fits:
            self.model.add_hint(self._variable(problem.kept(station)), True)
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = 1
        self.solver.parameters.random_seed = 0
        self.solver.parameters.max_deterministic_time = _PATIENCE
        # Most questions are settled before preparations of any kind pay; from below, as the best
        # plan changes little, the optimum is soonest proven.
        self.solver.parameters.cp_model_presolve = False
        self.solver.parameters.symmetry_level = 0
        self.solver.parameters.linearization_level = 0
        self.solver.parameters.optimize_with_core = True

    def _literal(self, literal: int) -> cp_model.LiteralT:
        variable = self._variable(abs(literal))
        return variable if literal > 0 else variable.negated()

    def _variable(self, number: int) -> cp_model.IntVar:
        if number not in self._variables:
            found = self.model.get_bool_var_from_proto_index(number)
            self._variables[number] = found
        return self._variables[number]

    def _objective(self, order: Sequence[Aim]) -> cp_model.LinearExprT:
        """One weighted sum in which no amount of a later aim outweighs one step of an earlier."""
        aims = [self._terms(aim) for aim in reversed(order)]
        found = weighed(self.problem.car, [self._tie_break(), *aims])
        if found is None:
            # Plans equal in every aim are then told apart by the solver, always in the same way.
            found = weighed(self.problem.car, aims)
        if found is None:
            raise OverflowError("the aims together are too large to be weighed exactly")
        literals = [self._literal(v) for v, _ in found]
        return cp_model.LinearExpr.weighted_sum(literals, [w for _, w in found])

    def _terms(self, aim: Aim) -> list[tuple[int, int]]:
        problem = self.problem
        if aim is Aim.PARTS:
            return [(-problem.kept(s), 1) for s in problem.build.fits]
        if aim is Aim.COST:
            return [
                (problem.variable(s, p), cents)
                for s, parts in problem.domains.items()
                for p in parts
                if (cents := problem.cents(s, p))
            ]
        if aim is Aim.HOURS:
            return [term for term in problem.hour_terms() if term[1]]
        if aim is Aim.IRREVERSIBLE:
            return [(v, 1) for v in self._irreversible()]
        return [
            (-switch, 1)
            for reason, switch in problem.groups.items()
            if reason.kind is ReasonKind.UNPROVEN
        ]

    def _irreversible(self) -> list[int]:
        problem = self.problem
        acts = [
            problem.variable(s, p)
            for s, parts in problem.domains.items()
            for p in parts
            if p and p != problem.build.fits[s] and problem.catalogue.parts[p].irreversible
        ]
        works = [
            v
            for iri, v in problem.operations.items()
            if problem.catalogue.operations[iri].irreversible
        ]
        return acts + works

    def _tie_break(self) -> list[tuple[int, int]]:
        """Of plans otherwise equal, the one with the parts that come first in the catalogue."""
        problem = self.problem
        return [
            (problem.variable(s, p), at)
            for s, parts in problem.domains.items()
            for at, p in enumerate(parts)
            if at
        ]

    def next(self) -> Plan | None:
        """The best plan not yet ruled out, which is then ruled out with all that contain it."""
        status = self.solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        values = list(self.solver.response_proto.solution)
        model = [n for n, value in enumerate(values[: self.problem.top + 1]) if n and value]
        fits = self.problem.plan_of(model)
        done = set(model)
        operations = [iri for iri, v in self.problem.operations.items() if v in done]
        plan = complete_plan(self.problem, fits, operations, optimal=status == cp_model.OPTIMAL)
        self._rule_out(plan)
        return plan

    def _rule_out(self, plan: Plan) -> None:
        """Not again all these stations changed with the same families at the branch points."""
        problem = self.problem
        ways_out: list[cp_model.LiteralT] = []
        for changed in plan.parts:
            if changed.station in problem.wishes.fits:
                continue
            if self.points is not None and changed.station not in self.points:
                ways_out.append(self._literal(problem.kept(changed.station)))
                continue
            away = self.model.new_bool_var("")
            for part in problem.domains[changed.station]:
                if part != changed.was and self._family(part) == self._family(changed.part):
                    variable = problem.variable(changed.station, part)
                    self.model.add_implication(away, self._literal(-variable))
            ways_out.append(away)
        self.model.add_bool_or(ways_out)

    def _family(self, part: str | None) -> str:
        return self.problem.catalogue.parts[part].family if part else ""


def complete_plan(
    problem: Problem, fits: dict[str, str | None], operations: Sequence[str], *, optimal: bool
) -> Plan:
    """Everything a workshop wants to know of a plan, from the parts at its stations."""
    catalogue, build = problem.catalogue, problem.build
    meetings = list(_meetings(problem, fits))
    made: dict[str, dict[str, Value]] = {}
    for _, meeting in meetings:
        for end, quantity, value in meeting.mate.made:
            made.setdefault(end, {})[quantity] = value
    parts = tuple(
        _plan_part(problem, station, part, made)
        for station, part in fits.items()
        if part != build.fits[station]
    )
    changed = {p.station for p in parts}
    touched = [m for j, m in meetings if changed.intersection(catalogue.joints[j].stations)]
    acts = [(p.part, catalogue.parts[p.part]) for p in parts if p.part]
    ordered = order_of_work(catalogue.operations, operations)
    hours = sum((catalogue.operations[o].hours for o in ordered), Decimal(0))
    hours += sum((part.rework_hours for _, part in acts), Decimal(0))
    return Plan(
        fits=fits,
        parts=parts,
        cost=sum((p.origin.price for p in parts if p.origin), Decimal(0)),
        unpriced=tuple(p.part for p in parts if p.part and p.origin and not p.origin.priced),
        operations=ordered,
        hours=hours,
        irreversible=(
            *(part.rework_act or part.label for _, part in acts if part.irreversible),
            *(
                catalogue.operations[o].label
                for o in ordered
                if catalogue.operations[o].irreversible
            ),
        ),
        unproven=tuple(
            m for m in touched if m.mate.under(problem.wishes.floor) is Outcome.UNPROVEN
        ),
        blanks=tuple(
            m.mate.joint for m in touched if any(f.quantity == "blank" for f in m.mate.findings)
        ),
        lost=_lost(problem, fits, changed),
        consumables=_consumables(problem, changed),
        advice=advice_for(catalogue, build.fits, fits),
        standing=max((m.mate.standing for m in touched), default=Standing.MEASURED),
        optimal=optimal,
    )


def _plan_part(
    problem: Problem, station: str, part: str | None, made: dict[str, dict[str, Value]]
) -> PlanPart:
    origins = problem.origins.get((station, part), ()) if part else ()
    suited = [
        (end, quantity, value)
        for ends in (problem.catalogue.parts[part].ends.values() if part else ())
        for end in ends
        for quantity, value in sorted(made.get(end, {}).items())
    ]
    return PlanPart(
        station=station,
        was=problem.build.fits[station],
        part=part,
        quantity=problem.catalogue.stations[station].quantity,
        origin=origins[0] if origins else None,
        made=tuple(suited),
    )


def _meetings(problem: Problem, fits: dict[str, str | None]) -> list[tuple[str, Meeting]]:
    found = []
    for joint in problem.joints:
        chosen = tuple(fits.get(s) for s in joint.stations)
        parts: list[Part | None] = [problem.part_of(p) for p in chosen]
        for mate in problem.mating.meet(joint, parts):
            found.append((joint.iri, Meeting(chosen[: len(joint.members)], mate)))
    return found


def _lost(problem: Problem, fits: dict[str, str | None], changed: set[str]) -> tuple[str, ...]:
    """Joints that did something on the car as it stands, of which one end is left alone now."""
    lost = []
    for joint in problem.joints:
        if not changed.intersection(joint.stations):
            continue
        roles = [(m.station, m.role) for m in joint.members]
        before = [_has_end(problem, problem.build.fits.get(s), r) for s, r in roles]
        after = [_has_end(problem, fits.get(s), r) for s, r in roles]
        if sum(before) > 1 and sum(after) == 1:
            lost.append(joint.iri)
    return tuple(lost)


def _has_end(problem: Problem, part: str | None, role: str) -> bool:
    described = problem.part_of(part)
    return described is not None and role in described.ends


def order_of_work(operations: Mapping[str, Operation], needed: Sequence[str]) -> tuple[str, ...]:
    """The operations so that each comes after those that give it access; else by name."""
    waiting = sorted(needed)
    done: list[str] = []
    while waiting:
        ready = [o for o in waiting if not any(b in waiting for b in operations[o].after if b != o)]
        # A ring of "after" is a fault of the data; take the first rather than stop the job sheet.
        following = (ready or waiting)[0]
        done.append(following)
        waiting.remove(following)
    return tuple(done)


def _consumables(problem: Problem, changed: set[str]) -> tuple[Consumables, ...]:
    found = []
    for consumable in problem.catalogue.consumables.values():
        opened = sorted(changed.intersection(consumable.follows))
        if opened:
            found.append(
                Consumables(
                    consumable.iri,
                    consumable.label,
                    consumable.count,
                    opened[0],
                    consumable.price,
                )
            )
    return tuple(found)
