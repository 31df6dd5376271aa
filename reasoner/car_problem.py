"""What a car and the catalogue alone decide: which parts come in question, and what goes with what.

Stations are variables, parts are values. Every reason (a joint, a requirement …) is a group of
clauses behind one switch, so that a proof can be read back as a set of reasons. Joints have two
switches: one for what clashes, one for what nobody has proven; a strict reading throws both, a
kindly one only the first.

Most of a problem does not depend on what the customer wishes, so it is made once for a car and
shared by all questions about it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from .all_parts import AllParts
from .build import AsItStands
from .catalogue import Joint, Part, Standing
from .interfaces.kind import Outcome
from .mating import Mating
from .neighbourhood import Readings
from .places import NO_END, EndKey, end_key
from .reason import Reason, ReasonKind
from .shelf import read_ahead
from .supply import Offers, Origin


@dataclass(frozen=True, slots=True)
class _Sort:
    """Ends of the same values at one place: their number (see `ByValues.alike`), the first of them,
    the variable that says one of them is there, and one for each of them; `tried` are the ends that
    somebody put together with one of them."""

    number: int
    first: EndKey
    variable: int
    ends: dict[EndKey, int]
    tried: frozenset[str]


class CarProblem:
    """The clauses of one car without any wishes, with the variable for each part at each station.

    `domains[station]` lists what may sit there, the present part first: of the `parts` that come
    in question (see `neighbourhood`) those that `offers` lets come, and what is `wanted` there.
    `readings` are the ways that were found with them, limits on sums aside; without any the parts
    are all there are, else the problem `is_partial`.
    `groups[reason]` is the switch of each reason. `unproven` is what a strict reading adds. Never
    changed once made.
    """

    def __init__(
        self,
        mating: Mating,
        car: AsItStands,
        offers: Offers,
        floor: Standing,
        wanted: Mapping[str, str],
        parts: Mapping[str, Sequence[str]],
        readings: Readings | None = None,
    ) -> None:
        self.mating, self.floor, self.as_it_stands = mating, floor, car
        self.build, self.joints = car.build, car.joints
        self.catalogue = mating.catalogue
        self.offers, self.readings = offers, readings or Readings()
        self.is_partial = readings is not None
        self.irreducible: dict[object, Sequence[Reason]] = {}
        """Why nothing works, of all parts there are, as far as somebody asked before."""
        self._there: dict[str, list[str]] = {}
        self.clauses: list[list[int]] = []
        self.unproven: list[list[int]] = []
        self.groups: dict[Reason, int] = {}
        self.domains: dict[str, tuple[str | None, ...]] = {}
        self.variables: dict[tuple[str, str | None], int] = {}
        self.meanings: dict[int, tuple[str, str | None]] = {}
        self.top = 0
        self._here: dict[str, list[tuple[Part | None, int]]] = {}
        self._in_question: dict[str, int] = {}
        self._classes: dict[tuple[str, str], list[_Sort]] = {}
        read_ahead(self.catalogue.parts, (part for some in parts.values() for part in some))
        for station in self.build.fits:
            self._add_station(station, parts.get(station, ()), wanted.get(station))
        changing = {station for station, there in self.domains.items() if len(there) > 1}
        for joint in self.joints:
            # Nothing is ruled out where nothing changes and all goes together.
            if joint.iri in car.amiss or not changing.isdisjoint(joint.stations):
                self._add_joint(joint)
        self._add_requirements()
        self._add_sets()

    def choices(self) -> Iterator[tuple[str, Part, int]]:
        """Every station, part that may sit there, and the variable that says it does."""
        for station, here in self._here.items():
            for part, variable in here:
                if part is not None:
                    yield station, part, variable

    def in_question(self, station: str) -> int:
        """The domain of a station as a set of all parts; none where the car lacks it."""
        found = self._in_question.get(station)
        if found is None:
            there = self.domains.get(station, ())
            found = self._in_question[station] = self._all_kindly.set_of(station, there)
        return found

    def all_parts(self, *, strict: bool) -> AllParts:
        """Every part that may be on the car, in question or not; strictly nothing unproven goes."""
        return self._all_strictly if strict else self._all_kindly

    @cached_property
    def _all_kindly(self) -> AllParts:
        return AllParts.of_car(self.mating, self.as_it_stands, self.offers, self.floor)

    @cached_property
    def _all_strictly(self) -> AllParts:
        return self._all_kindly.strictly()

    @cached_property
    def origins(self) -> Mapping[tuple[str, str], tuple[Origin, ...]]:
        """Where each part that comes in question may come from, by station; made when first asked
        for: only plans and prices need it."""
        each = ((s, part) for s, there in self._there.items() for part in there)
        known = ((at, self.offers.origins(*at)) for at in each)
        return {at: origins for at, origins in known if origins}

    def _new(self) -> int:
        self.top += 1
        return self.top

    def _group(self, reason: Reason, clauses: Iterable[list[int]]) -> None:
        self.top = add_group(self.groups, self.clauses, reason, clauses, self.top)

    def _add_station(self, station: str, parts: Sequence[str], wish: str | None) -> None:
        current = self.build.fits[station]
        described = self.catalogue.stations[station]
        choices: list[str | None] = [current]
        there = [part for part in parts if self.offers.may_come(station, part)]
        self._there[station] = there
        if not described.fixed:
            choices += (part for part in there if part != current)
        if wish is not None and wish not in choices:
            choices.append(wish)
        if described.may_stand_empty and None not in choices:
            choices.append(None)
        self.domains[station] = tuple(choices)
        here = self._here[station] = []
        for part in choices:
            variable = self._new()
            self.variables[station, part] = variable
            self.meanings[variable] = (station, part)
            here.append((self.catalogue.parts[part] if part else None, variable))
        literals = [variable for _, variable in here]
        self.clauses.append(literals)
        self.clauses.extend(_at_most_one(literals, self._new))

    def _sorts(self, station: str, role: str) -> list[_Sort]:
        """What can come to a place, sorted by the values of its ends (see `ByValues.alike`)."""
        if (station, role) not in self._classes:
            members: dict[EndKey, list[int]] = {}
            for part, variable in self._here.get(station, ()):
                members.setdefault(end_key(part, role), []).append(variable)
            if station not in self.domains:
                members[NO_END] = []
            alike: dict[int, dict[EndKey, int]] = {}
            for key, literals in members.items():
                number = self.mating.values.alike_at(station, role, key)
                alike.setdefault(number, {})[key] = self._any_of(literals)
            self._classes[station, role] = [
                _Sort(
                    number,
                    next(iter(ends)),
                    next(iter(ends.values()))
                    if len(ends) == 1
                    else self._any_of([literal for key in ends for literal in members[key]]),
                    ends,
                    frozenset(
                        partner
                        for key in ends
                        for end in key[0]
                        for partner in self.mating.tried_with.get(end, ())
                    ),
                )
                for number, ends in alike.items()
            ]
        return self._classes[station, role]

    def _any_of(self, literals: list[int]) -> int:
        """A variable that is true if and only if one of the literals is."""
        if len(literals) == 1:
            return literals[0]
        variable = self._new()
        self.clauses.extend([-literal, variable] for literal in literals)
        self.clauses.append([-variable, *literals] if literals else [variable])
        return variable

    def _add_joint(self, joint: Joint) -> None:
        places = [self._sorts(m.station, m.role) for m in joint.members]
        clashing: list[list[int]] = []
        unproven: list[list[int]] = []

        def rule_out(sorts: Sequence[_Sort], half: str = "", also: Sequence[int] = ()) -> None:
            said = known[half].get(tuple([sort.number for sort in sorts]))
            if said is None:
                first = tuple(sort.first for sort in sorts)
                said = self.mating.values.outcome(joint, first, half, self.floor)
            if said is Outcome.MATES:
                return
            if said is Outcome.CLASHES and not self._is_tried(sorts):
                clashing.append([*(-sort.variable for sort in sorts), *also])
                return
            for ends in product(*(sort.ends.items() for sort in sorts)):
                keys = tuple(key for key, _ in ends)
                outcome = self.mating.outcome(joint, keys, half, self.floor)
                if outcome is not Outcome.MATES:
                    ruled_out = unproven if outcome is Outcome.UNPROVEN else clashing
                    ruled_out.append([*(-literal for _, literal in ends), *also])

        has_via = bool(joint.via) and joint.via in self.domains
        halves = ("", "first", "second") if has_via else ("",)
        known = {half: self.mating.values.known(joint, half, self.floor) for half in halves}
        direct = [-self.variables[joint.via, None]] if has_via else []
        for choice in product(*places):
            rule_out(choice, also=direct)
        if has_via:
            near, far = (self._sorts(joint.via, role) for role in joint.via_roles)
            for a, b in product(places[0], near):
                if NO_END not in b.ends:
                    rule_out((a, b), "first")
            for a, b in product(far, places[1]):
                if NO_END not in a.ends:
                    rule_out((a, b), "second")
        self._group(Reason(ReasonKind.JOINT, joint.iri), clashing)
        self._group(Reason(ReasonKind.UNPROVEN, joint.iri), unproven)
        self.unproven.extend(unproven)

    def _is_tried(self, sorts: Sequence[_Sort]) -> bool:
        """Whether somebody put ends of two of the sorts together."""
        return any(
            not sort.tried.isdisjoint(key[0])
            for sort in sorts
            if sort.tried
            for other in sorts
            for key in other.ends
        )

    def _add_requirements(self) -> None:
        of_family: dict[str, list[int]] = {}
        for _, part, literal in self.choices():
            for family in part.families:
                of_family.setdefault(family, []).append(literal)
        for _, part, literal in self.choices():
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
        for station, part, literal in self.choices():
            for matched in part.sets:
                members.setdefault(matched, {}).setdefault(station, []).append(literal)
        for matched, by_station in sorted(members.items()):
            # Where a member can sit one must, even if none of them is among the parts in question.
            for iri in self.mating.places.set_members(matched):
                for station in self.catalogue.parts[iri].stations:
                    if self._could_come(station, iri):
                        by_station.setdefault(station, [])
            clauses = [
                [-literal, *others]
                for station, literals in by_station.items()
                for other_station, others in by_station.items()
                if other_station != station
                for literal in literals
            ]
            self._group(Reason(ReasonKind.MATCHED_SET, matched), clauses)

    def _could_come(self, station: str, part: str) -> bool:
        """Whether a part could sit at a station of this car, in question or not."""
        if station not in self.domains or self.catalogue.stations[station].fixed:
            return False
        return self.offers.may_come(station, part)


def add_group(
    groups: dict[Reason, int],
    clauses: list[list[int]],
    reason: Reason,
    of_reason: Iterable[list[int]],
    top: int,
) -> int:
    """Put the clauses of a reason behind its switch; the highest variable in use after that."""
    of_reason = list(of_reason)
    if not of_reason:
        return top
    if reason not in groups:
        top += 1
        groups[reason] = top
    switch = groups[reason]
    clauses.extend([-switch, *clause] for clause in of_reason)
    return top


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
