"""Requirements, exclusions and matched sets of one car: what of them goes with what is there."""

from __future__ import annotations

from collections.abc import Collection, Container, Iterator, Mapping
from functools import cached_property, reduce
from operator import or_
from typing import TYPE_CHECKING, NamedTuple
from weakref import proxy

from .catalogue import Part
from .part_sets import EVERY
from .reason import ReasonKind
from .rules_within import Asking, RulesWithin

if TYPE_CHECKING:
    from .narrowing import Run
    from .trial import Trial


class _Asked(NamedTuple):
    """A family that is asked for: where a part of it stands as long as nothing changes there, its
    parts station by station, the stations at which one may come, and whom to blame for it."""

    stands: int
    members: Mapping[str, int]
    others: tuple[str, ...]
    told: int


class _Every:
    """Has everything in it."""

    def __contains__(self, what: object) -> bool:
        return True


class Named(NamedTuple):
    """The only rules that count: families asked for and excluded, and matched sets."""

    asked: Container[str] = _Every()
    excluded: Container[str] = _Every()
    matched: Container[str] = _Every()


ALL_RULES = Named()


class CarRules:
    """The rules of the parts on one car and of those that may come, as far as they are `named`."""

    def __init__(self, trial: Trial, named: Named) -> None:
        # The trial has the rules, and goes when nobody asks it any more.
        self._trial: Trial = proxy(trial)
        self._named = named
        self._are_none = not any(named)
        self._listed: dict[str, dict[str, int]] = {}
        self._there_or_coming: dict[str, int] = {}
        self._bonds: dict[str, dict[str, list[tuple[str, int, int]]]] = {}
        self._beside: dict[tuple[str, str, int | None], int] = {}
        self._bound_by: dict[tuple[str, str, int], int] = {}
        self._blamed: dict[tuple[str, str], int] = {}
        self._asked: dict[str, _Asked | None] = {}
        self._asked_by: dict[str, list[tuple[_Asked, int]]] = {}

    # ------------------------------------------------------------------ what stands there

    @cached_property
    def there(self) -> dict[str, Part]:
        """The part at each station that has one."""
        parts = self._trial.supports.mating.catalogue.parts
        return {s: parts[iri] for s, iri in self._trial.stands.items() if iri}

    @cached_property
    def serving(self) -> dict[str, list[str]]:
        """The stations at which there is a part of each family."""
        found: dict[str, list[str]] = {}
        for station, part in self.there.items():
            for family in part.families:
                found.setdefault(family, []).append(station)
        return found

    @cached_property
    def asking(self) -> list[tuple[str, str]]:
        """Stations and what the part there asks for."""
        each = ((station, part.asks) for station, part in self.there.items())
        return [(s, family) for s, asks in each for family in asks if family in self._named.asked]

    @cached_property
    def excluding(self) -> list[tuple[str, str]]:
        """Stations and what the part there goes with none of."""
        each = ((station, part.excludes) for station, part in self.there.items())
        excluded = self._named.excluded
        return [(s, family) for s, those in each for family in those if family in excluded]

    @cached_property
    def matching(self) -> list[tuple[str, str]]:
        """Stations and the matched sets of the part there."""
        each = ((station, part.sets) for station, part in self.there.items())
        return [
            (s, matched) for s, sets in each for matched in sets if matched in self._named.matched
        ]

    def listed(self, matched: str) -> Mapping[str, int]:
        """The stations at which a member of a matched set must sit, with those that may."""
        found = self._listed.get(matched)
        if found is None:
            found = self._listed[matched] = {}
            for station, members in self._trial.sets.of_set(matched).items():
                if station in self._trial.at and (here := members & self._may_be(station)):
                    found[station] = here
        return found

    def _may_be(self, station: str) -> int:
        """What may be at a station, or stands there."""
        found = self._there_or_coming.get(station)
        if found is None:
            trial = self._trial
            stands = trial.sets.bit(station, trial.stands[station])
            found = self._there_or_coming[station] = stands | self._may_come(station)
        return found

    def _may_come(self, station: str) -> int:
        """What may sit at a station at all."""
        trial = self._trial
        if trial.supports.mating.catalogue.stations[station].fixed:
            return trial.kept(station)
        # What no plan has counts too: a matched set asks for a member wherever one may come at all.
        return trial.offered(station) | trial.kept(station)

    def of_family(self, family: str) -> Mapping[str, int]:
        """The parts of a family, station by station."""
        return self._trial.sets.of_family(family)

    # ------------------------------------------------------------------ as it stands

    def walls(self) -> Iterator[int]:
        """Rules that are broken with nothing changed: of each set of stations one must change."""
        trial = self._trial
        if self._are_none:
            return
        for station, family in self.asking:
            if not self.serving.get(family):
                told = self.told(ReasonKind.REQUIREMENT, family)
                yield trial.at[station] | trial.mask(trial.sets.of_family(family)) | told
        for station, family in self.excluding:
            for other in self.serving.get(family, ()):
                if other != station:
                    told = self.told(ReasonKind.EXCLUSION, family)
                    yield trial.mask((station, other)) | told
        for station, matched in self.matching:
            for other in self.listed(matched):
                if other != station and not self.is_member(other, matched):
                    told = self.told(ReasonKind.MATCHED_SET, matched)
                    yield trial.mask((station, other)) | told

    # ------------------------------------------------------------------ while some change

    def concern(self, changing: Collection[str], all_changing: int) -> bool:
        """Whether a rule may say anything about what these stations, as a set too, take."""
        sets = self._trial.sets
        return not self._are_none and (
            any(sets.rules(station).says for station in changing)
            or any(not asked.stands & ~all_changing for _, asked in self._asking)
            or any(s in changing for _, m in self.matching for s in self.listed(m))
            or any(s in changing for _, f in self.excluding for s in sets.of_family(f))
        )

    @cached_property
    def _asking(self) -> list[tuple[str, _Asked]]:
        """Of `asking` those that may come to be asked for in vain."""
        each = ((station, self._served(family)) for station, family in self.asking)
        return [(station, asked) for station, asked in each if asked is not None]

    def _served(self, family: str) -> _Asked | None:
        """Who serves those who ask for a family; None if somebody always does."""
        if family not in self._asked:
            trial = self._trial
            serving = self.serving.get(family, ())
            members = self.of_family(family)
            others = tuple(station for station in members if station in trial.at)
            always = any(not trial.at[station] for station in serving)
            told = self.told(ReasonKind.REQUIREMENT, family)
            asked = _Asked(trial.mask(serving), members, others, told)
            self._asked[family] = None if always else asked
        return self._asked[family]

    def _asked_at(self, station: str) -> list[tuple[_Asked, int]]:
        """What parts of a station ask for and may ask for in vain, with those parts that are none
        themselves."""
        found = self._asked_by.get(station)
        if found is None:
            found = self._asked_by[station] = []
            may_come = self._may_come(station)
            for family, those in self._trial.sets.rules(station).asks.items():
                if not those & may_come or family not in self._named.asked:
                    continue
                asked = self._served(family)
                if asked is not None:
                    those &= may_come & ~asked.members.get(station, 0)
                    found.append((asked, those))
        return found

    def is_member(self, station: str, matched: str) -> bool:
        """Whether what stands at a station is of a matched set."""
        part = self.there.get(station)
        return part is not None and matched in part.sets

    def within(self, run: Run) -> RulesWithin:
        """The rules that may still matter for what a run has left."""
        sets, parts = self._trial.sets, run.parts
        stay = ~run.among.changing
        wanted = [
            (station, asked, 0)
            for station, asked in self._asking
            if not asked.stands & stay and station not in parts
        ]
        wanted += [
            (station, asked, those)
            for station, there in parts.items()
            for asked, those in self._asked_at(station)
            if those & there and not asked.stands & stay
        ]
        asking = []
        for station, asked, those in wanted:
            servers = tuple([(s, asked.members[s]) for s in asked.others if s in parts])
            asking.append(Asking(station, those, servers, asked.others, asked.told))
        excluding = [(s, EVERY, f) for s, f in self.excluding if s not in parts]
        for station, there in parts.items():
            rules = sets.rules(station)
            excluding += [
                (station, those, family)
                for family, those in rules.excludes.items()
                if those & there and family in self._named.excluded
            ]
        matching = tuple((s, m) for s, m in self.matching if s not in parts)
        of_sets = [s for s, there in parts.items() if there & sets.in_sets(s)]
        bound = tuple((s, other) for s in of_sets for other in self._bonds_of(s))
        return RulesWithin(self, tuple(asking), tuple(excluding), matching, bound)

    # ------------------------------------------------------------------ matched sets

    def _bonds_of(self, station: str) -> dict[str, list[tuple[str, int, int]]]:
        """For each other station the matched sets of which parts want another there, with these
        parts and those others."""
        found = self._bonds.get(station)
        if found is None:
            found = self._bonds[station] = {}
            may_come = self._may_come(station)
            for matched, those in self._trial.sets.rules(station).sets.items():
                if those & may_come and matched in self._named.matched:
                    for other, members in self.listed(matched).items():
                        if other != station:
                            found.setdefault(other, []).append((matched, those, members))
        return found

    def told(self, kind: ReasonKind, name: str) -> int:
        """Whom to blame for a rule itself."""
        return self._trial.because.of(kind, name)

    def blamed(self, station: str, other: str) -> int:
        """Whom to blame for all matched sets that bind what a station has to another one."""
        found = self._blamed.get((station, other))
        if found is None:
            bonds = self._bonds_of(station)[other]
            each = (self.told(ReasonKind.MATCHED_SET, matched) for matched, _, _ in bonds)
            found = self._blamed[station, other] = reduce(or_, each, 0)
        return found

    def beside(self, station: str, other: str, there: int | None) -> int:
        """What may be at a station beside what is `there` at another one; None: it does not change.

        Only matched sets are asked.
        """
        found = self._beside.get((station, other, there))
        if found is None:
            away = 0
            for matched, those, members in self._bonds_of(station)[other]:
                if not (self.is_member(other, matched) if there is None else there & members):
                    away |= those
            found = self._beside[station, other, there] = ~away
        return found

    def bound_by(self, station: str, other: str, there: int) -> int:
        """What may be at another station beside one of the parts `there`, by matched sets alone."""
        found = self._bound_by.get((station, other, there))
        if found is None:
            found = wanting = 0
            for _, those, members in self._bonds_of(station)[other]:
                if those & there:
                    wanting |= those
                    found |= members
            if there & ~wanting:
                found = EVERY
            self._bound_by[station, other, there] = found
        return found
