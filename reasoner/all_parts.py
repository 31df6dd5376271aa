"""Every part that may be on a car, as sets: what of them goes with what, reason by reason.

A reason why a part cannot stay speaks of all parts there are, not only of those that come in
question; so it is followed among all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import reduce
from operator import and_, or_

from .build import AsItStands
from .car_links import CarLinks, Chain
from .catalogue import Joint, Standing
from .chain_trial import MOST_TRIED, what_goes
from .mating import Mating
from .narrowing import Among, Run
from .offered import Offered
from .part_sets import bits_of, lowest
from .reason import Reason, ReasonKind
from .remembering import remember
from .supply import Offers
from .supports import Pair, Supports
from .trial import Trial

_MOST_KNOWN = 500
_MOST_NAMED = 1000
"""So many combinations of a chain are weighed where what is left is named."""


class AllParts:
    """The sets of one car; with a trial that mistrusts joints, what is unproven there is apart."""

    def __init__(self, trial: Trial, offered: Offered) -> None:
        self._trial, self._sets, self.offered = trial, trial.sets, offered
        self.supports = trial.supports
        self._catalogue = trial.supports.mating.catalogue
        self._sides: dict[Reason, tuple[Mapping[str, int], Mapping[str, int]]] = {}
        self._known: dict[tuple[object, ...], int] = {}
        self.meetings: dict[tuple[object, ...], object] = {}
        """What was told of joints (see `telling`), kept for who tells it."""
        self._askers: dict[tuple[ReasonKind, str], dict[str, dict[str, int]]] = {}

    @classmethod
    def of_car(cls, mating: Mating, car: AsItStands, offers: Offers, floor: Standing) -> AllParts:
        """Those of a car, where nothing is mistrusted."""
        supports = Supports.of(mating, floor)
        links = CarLinks.of(supports, car.build.fits, car.joints)
        offered = Offered(supports.sets, offers, car.build)
        return cls(Trial(supports, car, links, offered, forced={}, held=()), offered)

    def strictly(self) -> AllParts:
        """The same where all joints are mistrusted."""
        return AllParts(self._trial.stricter(self._trial.links.joints), self.offered)

    def of(self, station: str) -> int:
        """What may be at a station: what is there, and what may come."""
        kept = self._trial.kept(station)
        return kept | self._trial.offered(station) if self._trial.at[station] else kept

    def kept(self, station: str) -> int:
        """The part that is there, as a set."""
        return self._trial.kept(station)

    def one(self, station: str, part: str | None) -> int:
        """One part, or that nothing is there, as a set."""
        return self._sets.bit(station, part)

    def set_of(self, station: str, parts: Iterable[str | None]) -> int:
        """Some parts of a station as a set."""
        return reduce(or_, (self._sets.bit(station, part) for part in parts), 0)

    def named(self, station: str, parts: int) -> tuple[str | None, ...]:
        """The parts of a set, the present one first."""
        kept = parts & self._trial.kept(station)
        return (*self._sets.named(station, kept), *self._sets.named(station, parts ^ kept))

    def but(self, station: str, parts: int, banned: Iterable[str]) -> int:
        """The set without what is banned, as far as it is not there already."""
        away = self.set_of(station, banned)
        return parts & ~(away & ~self._trial.kept(station))

    # ------------------------------------------------------------------ joints

    def beside(self, joint: Joint, station: str, there: Mapping[str, int]) -> int:
        """What of a station goes with something of what is there at the others of a joint."""
        at = (joint.iri, station, *map(there.get, joint.stations))
        found = self._known.get(at)
        if found is None:
            found = self._beside(joint, station, there)
            remember(self._known, at, found, _MOST_KNOWN)
        return found

    def _beside(self, joint: Joint, station: str, there: Mapping[str, int]) -> int:
        chain = self._trial.links.chain_of.get(joint.iri)
        if chain is not None:
            return self._in_chain(chain, station, there, MOST_TRIED)
        pair, *halves = self._trial.links.pairs_of[joint.iri]
        place = [at for at, _ in pair.seats].index(station) if station != joint.via else -1
        if not halves:
            return there[station] & self._goes(pair, 1 - place, there)
        first, second = halves
        between, empty = there[joint.via], self.one(joint.via, None)
        if place < 0:
            left = self._goes(first, 0, there) & self._goes(second, 1, there) & ~empty
            at, _ = pair.seats[0]
            meet = self._goes(pair, 1, there) & there.get(at, -1)
            return there[station] & (left | (empty if meet else 0))
        # With nothing between it meets the other at once, else what stands between.
        left = self._goes(pair, 1 - place, there) if between & empty else 0
        near, far = (first, second) if place == 0 else (second, first)
        standing = between & ~empty & self._goes(far, 1 - place, there)
        if standing:
            left |= self._goes(near, 1 - place, {**there, joint.via: standing})
        return there[station] & left

    def _goes(self, pair: Pair, place: int, there: Mapping[str, int]) -> int:
        """What goes at the other place of a pair with something of what is there at one."""
        parts, strict = there.get(pair.seats[place][0]), bool(self._trial.mistrust(pair.joint.iri))
        if parts is None:
            return self._trial.beside(pair, place, strict=strict)
        return self._trial.links.facing(pair, place).look(parts, strict=strict)

    def exactly(self, joint: Joint, station: str, there: Mapping[str, int], left: int) -> int:
        """What is really left of a station beside the others of a joint, where it was found that no
        more is: many combinations of a chain are only weighed for who names what is left."""
        chain = self._trial.links.chain_of.get(joint.iri)
        if chain is None:
            return left
        return self._in_chain(chain, station, {**there, station: left}, _MOST_NAMED)

    def _in_chain(self, chain: Chain, station: str, there: Mapping[str, int], most: int) -> int:
        parts = {at: there[at] for at in chain.stations if at in there}
        run = Run(self._trial, parts, Among(self._trial, ()))
        strict = bool(self._trial.mistrust(chain.joint.iri))
        goes = what_goes(run, chain, strict=strict, most=most)
        return there[station] & goes[station] if goes is not None else 0

    def firsts(self, joint: Joint, station: str, *sets: int) -> Iterator[str | None]:
        """Of each sort in some sets, one after the other, by what it brings to a joint: the first
        part, or the present one."""
        if station not in self._trial.build.fits:
            yield None
            return
        roles = [member.role for member in joint.members if member.station == station]
        if station == joint.via:
            roles.extend(joint.via_roles)
        brought = [self._sets.brought(station, role) for role in roles]
        done = 0
        for some in sets:
            parts = some & ~done
            while parts:
                first = parts & self._trial.kept(station) or lowest(parts)
                yield from self._sets.named(station, first)
                alike = reduce(and_, (b.alike(first, by_end=True) for b in brought))
                done |= alike
                parts &= ~alike

    # ------------------------------------------------------------------ rules

    def sides(self, rule: Reason) -> tuple[Mapping[str, int], Mapping[str, int]]:
        """Of a requirement, exclusion or matched set: what asks, and what serves, per station."""
        found = self._sides.get(rule)
        if found is None:
            if rule.kind is ReasonKind.MATCHED_SET:
                asking = serving = self._there(self._sets.of_set(rule.subject))
            else:
                asking = self._by_asker(rule.kind, rule.other).get(rule.subject, {})
                serving = self._there(self._sets.of_family(rule.other))
            found = self._sides[rule] = asking, serving
        return found

    def rules(self, kind: ReasonKind, name: str) -> list[Reason]:
        """The rules that `Because` names so: by whoever may be there and asks."""
        if kind is ReasonKind.MATCHED_SET:
            return [Reason(kind, name)]
        return [Reason(kind, asker, name) for asker in sorted(self._by_asker(kind, name))]

    def _by_asker(self, kind: ReasonKind, family: str) -> dict[str, dict[str, int]]:
        """Who asks for a family, or rules it out, with the parts of which that is said."""
        found = self._askers.get((kind, family))
        if found is None:
            found = self._askers[kind, family] = {}
            parts, places = self._catalogue.parts, self._trial.supports.mating.places
            is_asked = kind is ReasonKind.REQUIREMENT
            for station in self._trial.build.fits:
                rules, sitting = self._sets.rules(station), places.sitting(station)
                said = (rules.asks if is_asked else rules.excludes).get(family, 0)
                for number in bits_of(said & self.of(station)):
                    part = parts[sitting[number]]
                    asker = part.asks[family] if is_asked else part.family or part.iri
                    at = found.setdefault(asker, {})
                    at[station] = at.get(station, 0) | 1 << number
        return found

    def _there(self, members: Mapping[str, int]) -> dict[str, int]:
        there = {s: members.get(s, 0) & self.of(s) for s in self._trial.build.fits}
        return {station: parts for station, parts in there.items() if parts}
