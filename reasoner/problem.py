"""Add what the customer said to what his car decides: the constraint problem of one question."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property, reduce
from operator import or_

from .beyond import Beyond
from .build import Build, as_it_stands
from .car_problem import CarProblem, add_group
from .catalogue import Catalogue, Joint, Part, Standing
from .mating import Mating
from .neighbourhood import Sought, everything, in_question, is_small
from .places import PROVEN
from .reason import Reason, ReasonKind
from .remembering import remember
from .sums import at_most
from .supply import Offers, Origin, Supply

__all__ = ["Ban", "Problem", "Reason", "ReasonKind", "SumLimit", "Wishes"]


@dataclass(frozen=True, slots=True)
class Ban:
    """Parts the customer will not have, and the words he said it in ("wheels at most 15 inch")."""

    words: str
    parts: Set[str]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the customer said.

    `fits` maps stations to the part wanted there; `keeps` are stations to leave as they are;
    `bans` are parts not to be newly fitted; `budget` (EUR) and `hours` bound the whole plan;
    `floor` is the weakest standing that counts as proof, and with `only_proven` nothing else will
    do.
    """

    fits: Mapping[str, str] = field(default_factory=dict)
    keeps: tuple[str, ...] = ()
    bans: tuple[Ban, ...] = ()
    budget: Decimal | None = None
    hours: Decimal | None = None
    floor: Standing = PROVEN
    only_proven: bool = False

    @property
    def limits_sums(self) -> bool:
        """Whether money or hours are limited."""
        return self.budget is not None or self.hours is not None

    @property
    def sought(self) -> Sought:
        """What parts are looked for by; limits on sums are for the solver to weigh."""
        refused = reduce(or_, (ban.parts for ban in self.bans)) if self.bans else None
        return Sought(self.fits, self.keeps, refused, self.only_proven)

    @property
    def banned(self) -> dict[str, Set[str]]:
        """What each ban refuses, by its words."""
        return {ban.words: ban.parts for ban in self.bans}

    def stated(self, build: Build) -> tuple[Reason, ...]:
        """What is fitted, kept and banned on a build, as reasons."""
        fits = (Reason(ReasonKind.FIT, *at) for at in self.fits.items())
        keeps = (Reason(ReasonKind.KEEP, s, build.fits[s] or "") for s in self.keeps)
        bans = (Reason(ReasonKind.LIMIT, ban.words) for ban in self.bans)
        return tuple(sorted((*fits, *keeps, *bans)))


@dataclass(frozen=True, slots=True)
class SumLimit:
    """A bound on a weighted sum, in cents or hundredths of an hour, in force with its switch."""

    switch: int
    terms: tuple[tuple[int, int], ...]
    most: int


class Problem:
    """The clauses, with the variable for each part at each station.

    `sums` are the limits on money and hours, and `sum_clauses` the same for a solver that knows
    no sums.

    `domains[station]` lists what may sit there, the present part first: the parts that come in
    question for the wishes (see `neighbourhood`), or with `whole` every part of the catalogue.
    `groups[reason]` is the switch of each reason.
    """

    def __init__(
        self,
        mating: Mating,
        build: Build,
        wishes: Wishes,
        supply: Supply | None = None,
        *,
        whole: bool = False,
        car: CarProblem | None = None,
    ) -> None:
        self.mating, self.build, self.wishes = mating, build, wishes
        self.supply = supply or Supply()
        self.catalogue: Catalogue = mating.catalogue
        self.car = car or _car_problem(mating, build, self.supply, wishes, whole=whole)
        self.joints: tuple[Joint, ...] = self.car.joints
        self.domains: Mapping[str, tuple[str | None, ...]] = self.car.domains
        self.operations: dict[str, int] = {}
        self.sums: list[SumLimit] = []
        self._numbers: list[tuple[int, list[list[tuple[int, int]]], int]] = []
        self.clauses: list[list[int]] = [*self.car.clauses]
        self.groups: dict[Reason, int] = {**self.car.groups}
        self._top = self.car.top
        self._compile()

    # ------------------------------------------------------------------ reading

    @property
    def origins(self) -> Mapping[tuple[str, str], tuple[Origin, ...]]:
        """Where parts may come from, by station: see `CarProblem.origins`."""
        return self.car.origins

    def variable(self, station: str, part: str | None) -> int:
        """The variable that says `part` (or nothing) sits at `station`."""
        return self.car.variables[station, part]

    def kept(self, station: str) -> int:
        """The variable that says `station` keeps what it has."""
        return self.variable(station, self.build.fits[station])

    def part_of(self, iri: str | None) -> Part | None:
        """The part of an IRI; None stays None."""
        return self.catalogue.parts[iri] if iri else None

    def assumptions(self, *, strict: bool) -> list[int]:
        """The switches to throw for a reading, in a fixed order."""
        return [
            switch
            for reason, switch in self.groups.items()
            if strict or reason.kind is not ReasonKind.UNPROVEN
        ]

    def plan_of(self, model: Iterable[int]) -> dict[str, str | None]:
        """The part at each station in a solver's model."""
        meanings = self.car.meanings  # made station by station, so a model names them in that order
        return dict(meanings[v] for v in model if v in meanings)

    def fresh(self) -> int:
        """A variable nothing else uses, for a solver's own clauses."""
        return self._new()

    def reason_of(self, switch: int) -> Reason:
        """The reason behind a switch."""
        return self._by_switch[switch]

    # ------------------------------------------------------------------ all parts there are

    @property
    def in_question(self) -> int:
        """How many parts are, station by station."""
        return sum(part is not None for there in self.domains.values() for part in there)

    def against_all(self, keeping: Collection[str]) -> Sequence[Reason] | None:
        """Where only some parts are in question: reasons that leave no plan with any parts of the
        catalogue in which some stations keep theirs. None where limits on sums would have to be
        weighed."""
        if self._beyond is None:
            return None
        station, *_ = keeping
        staying, blamed = self.car.readings.blamed.get(station, (None, []))
        if staying is not None and staying.issubset(keeping):
            return self._beyond.told(self._stated, blamed)
        return self._beyond.against(self._stated, keeping)

    def irreducible(self, reasons: Sequence[Reason]) -> Sequence[Reason]:
        """Where nothing is workable: reasons that leave no plan with any parts of the catalogue,
        none of which can be left out; the same ones if they are found among all parts anyway."""
        if self._beyond is None:
            return reasons
        at = (tuple(reasons), self._stated)
        found = self.car.irreducible.get(at)
        if found is None:
            found = self.car.irreducible[at] = self._beyond.irreducible(self._stated, reasons)
        return found

    @property
    def is_told_of_all(self) -> bool:
        """Whether `irreducible` reasons are those of all parts of the catalogue."""
        return not self.car.is_partial or self._beyond is not None

    @cached_property
    def _beyond(self) -> Beyond | None:
        # Limits on sums, and that nothing unproven will do, are for the solver to weigh.
        if not self.car.is_partial or self.sums or self.wishes.only_proven:
            return None
        parts = self.car.all_parts(strict=False)
        return Beyond(self.car.as_it_stands, parts, self.wishes.banned)

    @cached_property
    def _stated(self) -> tuple[Reason, ...]:
        return self.wishes.stated(self.build)

    # ------------------------------------------------------------------ compiling

    def _compile(self) -> None:
        for reason in self._stated:
            if reason.kind is not ReasonKind.LIMIT:
                taken = self.variable(reason.subject, reason.other or None)
                self._group(reason, [[taken]])
        if self.wishes.only_proven:
            words = f"nothing weaker than {self.wishes.floor.word}"
            self._group(Reason(ReasonKind.LIMIT, words), self.car.unproven)
        self._add_limits()
        self._by_switch = {switch: reason for reason, switch in self.groups.items()}

    def _add_limits(self) -> None:
        for ban in self.wishes.bans:
            refused = [
                [-literal]
                for station, part, literal in self.car.choices()
                if part.iri in ban.parts and part.iri != self.build.fits[station]
            ]
            self._group(Reason(ReasonKind.LIMIT, ban.words), refused)
        if self.wishes.budget is not None:
            reason = Reason(ReasonKind.LIMIT, f"at most {self.wishes.budget:f} EUR")
            costs = [
                [(self.variable(s, p), cents) for p in parts if (cents := self.cents(s, p))]
                for s, parts in self.domains.items()
            ]
            self._add_sum(reason, costs, self.wishes.budget)
        if self.wishes.hours is not None:
            reason = Reason(ReasonKind.LIMIT, f"at most {self.wishes.hours:f} hours")
            self.add_operations()
            self._add_sum(reason, [[t] for t in self.hour_terms()], self.wishes.hours)

    def _add_sum(self, reason: Reason, numbers: list[list[tuple[int, int]]], most: Decimal) -> None:
        switch = self.groups[reason] = self._new()
        numbers = [[term for term in number if term[1]] for number in numbers]
        bound = int((most * 100).to_integral_value(ROUND_HALF_UP))
        terms = tuple(term for number in numbers for term in number)
        self.sums.append(SumLimit(switch, terms, bound))
        self._numbers.append((switch, [n for n in numbers if n], bound))

    @cached_property
    def sum_clauses(self) -> list[list[int]]:
        """The limits on sums for a solver that knows none; made when first read, which is rare."""
        return [
            [-switch, *clause]
            for switch, numbers, bound in self._numbers
            for clause in at_most(numbers, bound, self._new)
        ]

    def cents(self, station: str, part: str | None) -> int:
        """What it costs to have `part` at `station`; nothing for what is already there."""
        if part is None or part == self.build.fits[station]:
            return 0
        origins = self.origins.get((station, part), ())
        return int((origins[0].price * 100).to_integral_value(ROUND_HALF_UP)) if origins else 0

    def add_operations(self) -> None:
        """Variables for workshop operations: a changed station needs one that opens it, and that
        one those before it. Called once, by whoever counts hours."""
        if self.operations:
            return
        catalogue = self.catalogue.operations
        self.operations = {iri: self._new() for iri in catalogue}
        opening: dict[str, list[int]] = {}
        for iri, operation in catalogue.items():
            for before in operation.after:
                if before in self.operations:
                    self.clauses.append([-self.operations[iri], self.operations[before]])
            for station in operation.opens:
                opening.setdefault(station, []).append(self.operations[iri])
        for station in self.build.fits:
            if station in opening:
                self.clauses.append([self.kept(station), *opening[station]])

    def hour_terms(self) -> list[tuple[int, int]]:
        """Operations and rework with their hours, in hundredths."""
        terms = [
            (v, int(self.catalogue.operations[iri].hours * 100))
            for iri, v in self.operations.items()
        ]
        for station, part, literal in self.car.choices():
            if part.rework_hours and part.iri != self.build.fits[station]:
                terms.append((literal, int(part.rework_hours * 100)))
        return terms

    @property
    def top(self) -> int:
        """The highest variable in use."""
        return self._top

    def _new(self) -> int:
        self._top += 1
        return self._top

    def _group(self, reason: Reason, clauses: Iterable[list[int]]) -> None:
        self._top = add_group(self.groups, self.clauses, reason, clauses, self._top)


_MOST_CARS = 64
"""So many cars' problems are kept for the next question about them."""


def _car_problem(
    mating: Mating, build: Build, supply: Supply, wishes: Wishes, *, whole: bool
) -> CarProblem:
    """The car's own problem: of a small catalogue one for all questions, else one for each."""
    few = not whole and not is_small(mating, build)

    def made(wanted: Mapping[str, str]) -> CarProblem:
        car = as_it_stands(mating, build, wishes.floor)
        offers = Offers(supply, mating.catalogue, build, wanted.values())
        if not few:
            parts = everything(mating, build)
            return CarProblem(mating, car, offers, wishes.floor, wanted, parts)
        near, readings = in_question(mating, car, offers, wishes.floor, wishes.sought)
        return CarProblem(mating, car, offers, wishes.floor, wanted, near, readings)

    donors = tuple((donor.name, tuple(donor.fits.items())) for donor in supply.donors)
    source = (supply.kinds, id(supply.stock), donors, tuple(supply.prices.items()))
    about = (build.car, tuple(build.fits.items()), source, wishes.floor)

    def kept(wanted: Mapping[str, str], *also: object) -> CarProblem:
        at = (*about, tuple(wanted.items()), *also)
        found = mating.remembered.get(at)
        if not isinstance(found, CarProblem):
            # It keeps the supply, so that the stock's identity in its key stays its own.
            found = made(wanted)
            remember(mating.remembered, at, found, _MOST_CARS)
        return found

    if few:
        fits = dict(sorted(wishes.fits.items()))
        # Whether two bans refuse the same takes a walk through the catalogue to say.
        also = (tuple(sorted(wishes.keeps)), wishes.only_proven)
        return made(fits) if wishes.bans else kept(fits, *also)
    car = kept({})
    strangers = {
        station: part
        for station, part in sorted(wishes.fits.items())
        if not all(
            part in car.domains[s]
            for s in (station, *mating.catalogue.parts[part].stations)
            if s in car.domains
        )
    }
    return kept(strangers) if strangers else car
