"""Compile a build and what the customer said into a constraint problem.

Stations are variables, parts are values. Every reason (a joint, a requirement, a wish …) is a
group of clauses behind one switch, so that a proof can be read back as a set of reasons. Joints
have two switches: one for what clashes, one for what nobody has proven; a strict reading throws
both, a kindly one only the first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from itertools import product

from .build import Build, joints_of
from .catalogue import Catalogue, Joint, Part, Standing
from .interfaces.kind import Outcome
from .mating import NO_END, PROVEN, EndKey, Mating, end_key
from .sums import at_most
from .supply import Origin, Supply


class ReasonKind(StrEnum):
    """What a reason is of."""

    FIT = "fit"
    KEEP = "keep"
    JOINT = "joint"
    UNPROVEN = "unproven joint"
    REQUIREMENT = "requirement"
    EXCLUSION = "exclusion"
    MATCHED_SET = "matched set"
    LIMIT = "limit"


@dataclass(frozen=True, slots=True, order=True)
class Reason:
    """One reason a plan may be unworkable: what kind, about what, and what else it names.

    FIT, KEEP: subject station, other part. JOINT, UNPROVEN: subject joint. REQUIREMENT: subject
    part or family that asks, other family asked for. EXCLUSION: subject part, other family.
    MATCHED_SET: subject set. LIMIT: subject what the customer said, in words.
    """

    kind: ReasonKind
    subject: str
    other: str = ""


@dataclass(frozen=True, slots=True)
class Ban:
    """Parts the customer will not have, and the words he said it in ("wheels at most 15 inch")."""

    words: str
    parts: frozenset[str]


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

    `domains[station]` lists what may sit there, the present part first. `groups[reason]` is the
    switch of each reason.
    """

    def __init__(
        self, mating: Mating, build: Build, wishes: Wishes, supply: Supply | None = None
    ) -> None:
        self.mating, self.build, self.wishes = mating, build, wishes
        self.supply = supply or Supply()
        self.origins: dict[tuple[str, str], tuple[Origin, ...]] = {}
        self.operations: dict[str, int] = {}
        self.sums: list[SumLimit] = []
        self.sum_clauses: list[list[int]] = []
        self.catalogue: Catalogue = mating.catalogue
        self.joints: tuple[Joint, ...] = joints_of(self.catalogue, build)
        self.clauses: list[list[int]] = []
        self.groups: dict[Reason, int] = {}
        self.domains: dict[str, tuple[str | None, ...]] = {}
        self._variables: dict[tuple[str, str | None], int] = {}
        self._meanings: dict[int, tuple[str, str | None]] = {}
        self._classes: dict[tuple[str, str], dict[EndKey, int]] = {}
        self._top = 0
        self._compile()

    # ------------------------------------------------------------------ reading

    def variable(self, station: str, part: str | None) -> int:
        """The variable that says `part` (or nothing) sits at `station`."""
        return self._variables[station, part]

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
        meanings = self._meanings  # made station by station, so a model names them in that order
        return dict(meanings[v] for v in model if v in meanings)

    def fresh(self) -> int:
        """A variable nothing else uses, for a solver's own clauses."""
        return self._new()

    def reason_of(self, switch: int) -> Reason:
        """The reason behind a switch."""
        return self._by_switch[switch]

    # ------------------------------------------------------------------ compiling

    def _compile(self) -> None:
        by_station = self._parts_by_station()
        for station in self.build.fits:
            self._add_station(station, by_station.get(station, ()))
        for joint in self.joints:
            self._add_joint(joint)
        self._add_requirements()
        self._add_sets()
        for station, part in sorted(self.wishes.fits.items()):
            self._group(Reason(ReasonKind.FIT, station, part), [[self.variable(station, part)]])
        for station in sorted(self.wishes.keeps):
            current = self.build.fits[station] or ""
            self._group(Reason(ReasonKind.KEEP, station, current), [[self.kept(station)]])
        self._add_limits()
        self._by_switch = {switch: reason for reason, switch in self.groups.items()}

    def _add_limits(self) -> None:
        for ban in self.wishes.bans:
            refused = [
                [-literal]
                for station, part, literal in self._choices()
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
        encoded = at_most([n for n in numbers if n], bound, self._new)
        self.sum_clauses.extend([-switch, *clause] for clause in encoded)

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
        for station, part, literal in self._choices():
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
        clauses = list(clauses)
        if not clauses:
            return
        switch = self.groups.setdefault(reason, 0) or self._new()
        self.groups[reason] = switch
        self.clauses.extend([-switch, *clause] for clause in clauses)

    def _parts_by_station(self) -> dict[str, list[str]]:
        wanted = set(self.wishes.fits.values()) | {p for p in self.build.fits.values() if p}
        found: dict[str, list[str]] = {}
        for iri, part in self.catalogue.parts.items():
            for station in part.stations:
                if station not in self.build.fits:
                    continue
                origins = self.supply.origins(
                    self.catalogue, station, iri, self.build.fits[station]
                )
                if origins:
                    self.origins[station, iri] = origins
                if origins or iri in wanted:
                    found.setdefault(station, []).append(iri)
        return found

    def _add_station(self, station: str, parts: Iterable[str]) -> None:
        current = self.build.fits[station]
        choices: list[str | None] = [current]
        if not self.catalogue.stations[station].fixed:
            choices += (p for p in parts if p != current)
        wanted = self.wishes.fits.get(station)
        if wanted is not None and wanted not in choices:
            choices.append(wanted)
        if self.catalogue.stations[station].may_stand_empty and None not in choices:
            choices.append(None)
        self.domains[station] = tuple(choices)
        literals = []
        for part in choices:
            variable = self._new()
            self._variables[station, part] = variable
            self._meanings[variable] = (station, part)
            literals.append(variable)
        self.clauses.append(literals)
        self.clauses.extend(_at_most_one(literals, self._new))

    def _class(self, station: str, role: str) -> dict[EndKey, int]:
        """A variable for each different thing that can come to a place, true when it is there."""
        if (station, role) not in self._classes:
            members: dict[EndKey, list[int]] = {}
            for part in self.domains.get(station, (None,)):
                key = end_key(self.part_of(part), role)
                members.setdefault(key, [])
                if station in self.domains:
                    members[key].append(self.variable(station, part))
            table: dict[EndKey, int] = {}
            for key, literals in members.items():
                if len(literals) == 1:
                    table[key] = literals[0]
                    continue
                variable = self._new()
                table[key] = variable
                self.clauses.extend([-literal, variable] for literal in literals)
                self.clauses.append([-variable, *literals] if literals else [variable])
            self._classes[station, role] = table
        return self._classes[station, role]

    def _add_joint(self, joint: Joint) -> None:
        places = [self._class(m.station, m.role) for m in joint.members]
        clashing: list[list[int]] = []
        unproven: list[list[int]] = []

        def rule_out(keys: tuple[EndKey, ...], literals: list[int], half: str = "") -> None:
            mate = self.mating.meet_keys(joint, keys, half)
            if mate is None:
                return
            outcome = mate.under(self.wishes.floor)
            if outcome is Outcome.CLASHES:
                clashing.append([-literal for literal in literals])
            elif outcome is Outcome.UNPROVEN:
                unproven.append([-literal for literal in literals])

        has_via = bool(joint.via) and joint.via in self.domains
        direct = [self.variable(joint.via, None)] if has_via else []
        for choice in product(*(place.items() for place in places)):
            keys = tuple(key for key, _ in choice)
            rule_out(keys, [literal for _, literal in choice] + direct)
        if has_via:
            near, far = (self._class(joint.via, role) for role in joint.via_roles)
            for (a, la), (b, lb) in product(places[0].items(), near.items()):
                if b != NO_END:
                    rule_out((a, b), [la, lb], "first")
            for (a, la), (b, lb) in product(far.items(), places[1].items()):
                if a != NO_END:
                    rule_out((a, b), [la, lb], "second")
        self._group(Reason(ReasonKind.JOINT, joint.iri), clashing)
        self._group(Reason(ReasonKind.UNPROVEN, joint.iri), unproven)
        if self.wishes.only_proven:
            words = f"nothing weaker than {self.wishes.floor.word}"
            self._group(Reason(ReasonKind.LIMIT, words), unproven)

    def _choices(self) -> Iterator[tuple[str, Part, int]]:
        for station, parts in self.domains.items():
            for iri in parts:
                if iri is not None:
                    yield station, self.catalogue.parts[iri], self.variable(station, iri)

    def _add_requirements(self) -> None:
        of_family: dict[str, list[int]] = {}
        for _, part, literal in self._choices():
            for family in part.families:
                of_family.setdefault(family, []).append(literal)
        for _, part, literal in self._choices():
            # First-hand requirements say it all: what they ask for asks for the rest.
            for family, asker in part.asks.items():
                self._group(
                    Reason(ReasonKind.REQUIREMENT, asker, family),
                    [[-literal, *of_family.get(family, [])]],
                )
            for family in part.excludes:
                self._group(
                    Reason(ReasonKind.EXCLUSION, part.family or part.iri, family),
                    [[-literal, -other] for other in of_family.get(family, []) if other != literal],
                )

    def _add_sets(self) -> None:
        members: dict[str, dict[str, list[int]]] = {}
        for station, part, literal in self._choices():
            for matched in part.sets:
                members.setdefault(matched, {}).setdefault(station, []).append(literal)
        for matched, by_station in sorted(members.items()):
            clauses = [
                [-literal, *others]
                for station, literals in by_station.items()
                for other_station, others in by_station.items()
                if other_station != station
                for literal in literals
            ]
            self._group(Reason(ReasonKind.MATCHED_SET, matched), clauses)


def _at_most_one(literals: list[int], new: Callable[[], int]) -> Iterator[list[int]]:
    """Pairwise for a few, a ladder for many (clauses then grow with the count, not its square)."""
    if len(literals) <= 6:
        for i, a in enumerate(literals):
            for b in literals[i + 1 :]:
                yield [-a, -b]
        return
    carried: int | None = None
    for literal in literals:
        if carried is not None:
            yield [-carried, -literal]
        following = new()
        yield [-literal, following]
        if carried is not None:
            yield [-carried, following]
        carried = following
