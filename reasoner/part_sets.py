"""Sets of the parts that can sit at a station, each one whole number: a bit for every part.

What many parts have in common (an end of the same values, something they ask for) is one such set,
so that a joint rules out thousands of parts in a step or two. Bit i stands for the i-th part of
`Places.sitting`, the bit after the last for an empty station.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce
from operator import or_

from .mating import Mating
from .places import NO_END, EndKey, Place
from .station_rules import NO_RULES, StationRules

EVERY = -1
"""The set of all parts of any station."""


@dataclass(frozen=True, slots=True)
class Brought:
    """What comes to one place, sort by sort (see `places.values_of`); the first is no end.

    `keys` has one end of each sort, `parts` the set of those that bring any of it, `ends` each of
    the sort's ends with those that bring just that, `sort_of` the sort of an end. `place` is an
    index to the sorts. `tried` are what has an end that somebody put together with another, by
    that end.
    """

    keys: tuple[EndKey, ...]
    parts: tuple[int, ...]
    ends: tuple[Mapping[EndKey, int], ...]
    sort_of: Mapping[EndKey, int]
    place: Place
    tried: Mapping[str, tuple[EndKey, ...]]
    tried_sorts: frozenset[int]
    """The sorts of which some end was tried."""
    any_tried: int
    """The parts with a tried end."""
    sort_at: tuple[int, ...]
    """The sort of each part, in the catalogue's order, and of nothing there."""

    def alike(self, part: int, *, by_end: bool) -> int:
        """What brings the same sort as one part, as far as nobody tried it; or the same end."""
        sort = self.sort_at[part.bit_length() - 1]
        if by_end or part & self.any_tried:
            return next(parts for parts in self.ends[sort].values() if parts & part)
        return self.parts[sort] & ~self.any_tried

    def sorts_in(self, parts: int) -> list[int]:
        """The sorts that a set of parts brings."""
        if parts.bit_count() * 3 > len(self.parts):
            return [sort for sort, members in enumerate(self.parts) if parts & members]
        found = []
        while parts:
            sort = self.sort_at[lowest(parts).bit_length() - 1]
            parts &= ~self.parts[sort]
            found.append(sort)
        return found


class PartSets:
    """The sets of one catalogue, made when first asked for."""

    def __init__(self, mating: Mating) -> None:
        self._mating = mating
        self._catalogue = mating.catalogue
        self._bits: dict[str, dict[str, int]] = {}
        self._brought: dict[tuple[str, str], Brought] = {}
        self._rules: dict[str, StationRules] = {}
        self._of_one_rule: dict[str, list[int]] = {}
        self._of_family: dict[str, dict[str, int]] = {}
        self._of_set: dict[str, dict[str, int]] = {}
        self._in_sets: dict[str, int] = {}
        self._made_of_new: dict[str, int] = {}
        self._made_of: dict[str, dict[str, int]] = {}

    @classmethod
    def of(cls, mating: Mating) -> PartSets:
        """Those of one catalogue."""
        found = mating.partners.get(cls)
        if not isinstance(found, PartSets):
            found = mating.partners[cls] = PartSets(mating)
        return found

    def bit(self, station: str, part: str | None) -> int:
        """The set of one part alone; none if it cannot sit there."""
        if part is None:
            return 1 << len(self._mating.places.sitting(station))
        return self.bits(station).get(part, 0)

    def may_stand_empty(self, station: str) -> bool:
        """Whether nothing may be at a station."""
        return self._catalogue.stations[station].may_stand_empty

    def bits(self, station: str) -> Mapping[str, int]:
        """The set of each part alone that can sit at a station, in the catalogue's order."""
        bits = self._bits.get(station)
        if bits is None:
            sitting = self._mating.places.sitting(station)
            bits = self._bits[station] = {iri: 1 << at for at, iri in enumerate(sitting)}
        return bits

    def named(self, station: str, parts: int) -> tuple[str | None, ...]:
        """The parts of a set, in the catalogue's order."""
        sitting = self._mating.places.sitting(station)
        return tuple(sitting[at] if at < len(sitting) else None for at in bits_of(parts))

    def brought(self, station: str, role: str) -> Brought:
        """What comes to a place."""
        found = self._brought.get((station, role))
        if found is None:
            found = self._brought[station, role] = self._sorted(station, role)
        return found

    def rules(self, station: str) -> StationRules:
        """What the parts of a station say about others."""
        found = self._rules.get(station)
        if found is None:
            rules = self._catalogue.lookups.rules.get(station, NO_RULES)
            found = self._rules[station] = rules
        return found

    def of_one_rule(self, station: str, part: int) -> int:
        """The parts of a station of which all rules say the same as of one of them."""
        found = self._of_one_rule.get(station)
        if found is None:
            rules, named = self.rules(station), dict[int, list[int]]()
            tables = (rules.asks, rules.excludes, rules.sets, rules.members)
            each = [parts for table in tables for parts in table.values()]
            for number, parts in enumerate(each):
                for at in bits_of(parts):
                    named.setdefault(at, []).append(number)
            groups: dict[tuple[int, ...], int] = {}
            signs = [tuple(named.get(at, ())) for at in range(self.bit(station, None).bit_length())]
            for at, sign in enumerate(signs):
                groups[sign] = groups.get(sign, 0) | 1 << at
            found = self._of_one_rule[station] = [groups[sign] for sign in signs]
        return found[part.bit_length() - 1]

    def of_family(self, family: str) -> Mapping[str, int]:
        """The parts of a family, station by station."""
        found = self._of_family.get(family)
        if found is None:
            known = self._catalogue.families.get(family)
            found = self._of_family[family] = self._by_station(() if known is None else known.parts)
        return found

    def of_set(self, matched: str) -> Mapping[str, int]:
        """The parts of a matched set, station by station."""
        found = self._of_set.get(matched)
        if found is None:
            members = self._mating.places.set_members(matched)
            found = self._of_set[matched] = self._by_station(members)
        return found

    def in_sets(self, station: str) -> int:
        """The parts of a station that are of some matched set."""
        found = self._in_sets.get(station)
        if found is None:
            found = self._in_sets[station] = reduce(or_, self.rules(station).sets.values(), 0)
        return found

    def made_of_new(self, station: str) -> int:
        """The parts of a station that are made of another one which is to be had new."""
        found = self._made_of_new.get(station)
        if found is None:
            found, parts = 0, self._catalogue.parts
            for base, made in self.made_of(station).items():
                if not parts[base].rework_of and not parts[base].superseded_by:
                    found |= made
            self._made_of_new[station] = found
        return found

    def made_of(self, station: str) -> Mapping[str, int]:
        """The parts of a station that are made of another one, at once or in the end, by that."""
        found = self._made_of.get(station)
        if found is None:
            sitting, parts = self._mating.places.sitting(station), self._catalogue.parts
            found = self._made_of[station] = {}
            for number in bits_of(self.rules(station).reworked):
                base = parts[sitting[number]].rework_of
                while base:
                    found[base] = found.get(base, 0) | 1 << number
                    base = parts[base].rework_of
        return found

    def _by_station(self, parts: Iterable[str]) -> dict[str, int]:
        found: dict[str, int] = {}
        for iri in parts:
            for station in self._catalogue.parts[iri].stations:
                found[station] = found.get(station, 0) | self.bit(station, iri)
        return found

    def _sorted(self, station: str, role: str) -> Brought:
        place = self._mating.places.place(station, role)
        ends: dict[int, dict[EndKey, int]] = {}
        having = 0
        for (key, parts), sort in zip(place.groups, place.sorts, strict=True):
            members = sum(self.bit(station, part) for part in parts)
            having |= members
            ends.setdefault(sort, {})[key] = members
        empty = self.bit(station, None)
        sorts: list[dict[EndKey, int]] = [{NO_END: (empty * 2 - 1) & ~having}, *ends.values()]
        keys = tuple(next(iter(of_sort)) for of_sort in sorts)
        sort_of = {key: number for number, of_sort in enumerate(sorts) for key in of_sort}
        tried = self._tried(place)
        alone = {key: sorts[sort_of[key]][key] for of_end in tried.values() for key in of_end}
        in_all = tuple(sum(of_sort.values()) for of_sort in sorts)
        any_tried = sum(alone.values())
        sort_at = [0] * empty.bit_length()
        for sort, of_sort in enumerate(in_all):
            for at in bits_of(of_sort):
                sort_at[at] = sort
        return Brought(
            keys,
            in_all,
            tuple(sorts),
            sort_of,
            self._mating.places.index_of(station, role, keys[1:]),
            tried,
            frozenset(sort_of[key] for key in alone),
            any_tried,
            tuple(sort_at),
        )

    def _tried(self, place: Place) -> dict[str, tuple[EndKey, ...]]:
        found: dict[str, list[EndKey]] = {}
        for key, _ in place.groups:
            for end in key[0]:
                if end in self._mating.tried_with:
                    found.setdefault(end, []).append(key)
        return {end: tuple(keys) for end, keys in found.items()}


def bits_of(parts: int) -> Iterator[int]:
    """The places of the bits that are set, in rising order."""
    while parts:
        first = lowest(parts)
        yield first.bit_length() - 1
        parts ^= first


def lowest(parts: int) -> int:
    """The set of its first member alone."""
    return parts & -parts


def halves(parts: int) -> tuple[int, int]:
    """A set of two or more in two parts, the later members first."""
    members = list(bits_of(parts))
    split = 1 << members[len(members) // 2]
    return parts & ~(split - 1), parts & split - 1
