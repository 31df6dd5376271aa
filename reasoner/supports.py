"""Which parts go with what stands at the other place of a joint: as sets, looked up and remembered.

Ends are compared sort by sort (see `part_sets.Brought`), each pair once in a catalogue.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from .catalogue import Joint, Member, Standing
from .interfaces.kind import EndValues, Outcome, Span
from .interfaces.registry import kinds
from .mating import Mating
from .part_sets import EVERY, Brought, PartSets
from .places import NO_END, PROVEN, EndKey
from .works_rows import WorksRows

Seat = tuple[str, str]
"""A station and a role there."""


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """Two places that meet at a joint, or at one `half` of it, where a go-between stands in it.

    `guard` is the station that must stand empty for them to meet; "" where there is none. `at`
    tells pairs apart.
    """

    joint: Joint
    seats: tuple[Seat, Seat]
    half: str = ""
    guard: str = ""
    at: tuple[str, str] = field(init=False)

    def __post_init__(self) -> None:
        """Pairs are told apart by joint and half."""
        object.__setattr__(self, "at", (self.joint.iri, self.half))


@dataclass(frozen=True, slots=True)
class Beside:
    """What goes with an end by its values: `kindly` all that does not clash, `unproven` the sorts
    among them that nobody has proven."""

    kindly: int
    unproven: tuple[int, ...] = ()


_ANY = Beside(EVERY)
ANYWHERE: Span = (Decimal("-Infinity"), Decimal("Infinity"))
"""How far an end reaches that says something else than one thing."""

SILENT: Span = (Decimal("-Infinity"), Decimal("Infinity"))
"""How far an end reaches that says nothing: it can do with all, and is proven to do with none."""


_MOST_LOOKS = 500
"""So many sets are remembered for each place of a pair."""


class Reach(NamedTuple):
    """How far an end reaches, and what may be missing for it to go with others."""

    span: Span
    grace: Decimal


class _Known:
    """What was found of one place of a pair: by sorts, by ends, sorts told apart by what is proven
    to go with their ends, and of ends somebody tried."""

    __slots__ = ("apart", "beside", "strictly", "tried")

    def __init__(self) -> None:
        self.beside: dict[int, Beside] = {}
        self.strictly: dict[EndKey, int] = {}
        self.apart: dict[int, tuple[tuple[int, int], ...]] = {}
        self.tried: dict[EndKey, tuple[int, int]] = {}


class Facing:
    """The places of a pair seen from one of them, with what was found of sets of its parts.

    `near` is the station it is seen from, at `place` of the pair, `far` the other one; `back` is
    the pair seen from there.
    """

    __slots__ = ("_supports", "back", "far", "kindly", "near", "pair", "place", "strictly")

    def __init__(
        self, supports: Supports, pair: Pair, place: int = 0, back: Facing | None = None
    ) -> None:
        self._supports, self.pair, self.place = supports, pair, place
        self.back = back or Facing(supports, pair, 1 - place, self)
        self.near, self.far = pair.seats[place][0], pair.seats[1 - place][0]
        self.kindly: dict[int, int] = {}
        self.strictly: dict[int, int] = {}

    def look(self, parts: int, *, strict: bool) -> int:
        """What goes at the other place with one of the parts at this one."""
        known = self.strictly if strict else self.kindly
        found = known.get(parts)
        if found is None:
            if len(known) >= _MOST_LOOKS:
                known.clear()
            found = self._supports.from_any(self.pair, self.place, parts, strict=strict)
            known[parts] = found
        return found


class Supports:
    """What goes with what in one catalogue, where claims weaker than `floor` prove nothing."""

    def __init__(self, mating: Mating, floor: Standing) -> None:
        self.mating, self.floor = mating, floor
        self.sets = PartSets.of(mating)
        self._all_known: dict[tuple[str, str, int], _Known] = {}
        self._works: dict[str, WorksRows] = {}
        self.chains: dict[str, object] = {}
        """What was found of chains (see `chain_trial`), by joint, kept for who looks it up."""
        self.links: dict[object, object] = {}
        """What meets what on cars (see `car_links`), kept for who looks it up."""

    @classmethod
    def of(cls, mating: Mating, floor: Standing) -> Supports:
        """Those of one catalogue."""
        found = mating.partners.get(floor)
        if not isinstance(found, Supports):
            found = mating.partners[floor] = Supports(mating, floor)
        return found

    def beside(self, pair: Pair, place: int, key: EndKey) -> Beside:
        """What may sit at the other place of a pair by its values if `key` is at `place`."""
        sort, known = self.sort(*pair.seats[place], key), self._known(pair, place)
        found = known.beside.get(sort)
        if found is None:
            found = known.beside[sort] = self._look(pair, place, key)
        return found

    def _known(self, pair: Pair, place: int) -> _Known:
        found = self._all_known.get((*pair.at, place))
        if found is None:
            found = self._all_known[*pair.at, place] = _Known()
        return found

    def sort(self, station: str, role: str, key: EndKey) -> int:
        """The sort of an end among those of a place; what does not belong there is told by its
        values, below all of them."""
        found = self.sets.brought(station, role).sort_of.get(key)
        return -1 - self.mating.values.alike(key) if found is None else found

    def works_of(self, joint: Joint) -> WorksRows:
        """What left the works together at a chain."""
        found = self._works.get(joint.iri)
        if found is None:
            found = self._works[joint.iri] = WorksRows(self.mating, joint, self.floor)
        return found

    def kindly(self, pair: Pair, place: int, key: EndKey) -> int:
        """What does not clash at the other place with `key` at `place`."""
        return self.beside(pair, place, key).kindly | self._tried(pair, place, key)[0]

    def strictly(self, pair: Pair, place: int, key: EndKey) -> int:
        """What is proven to go at the other place with `key` at `place`."""
        known = self._known(pair, place).strictly
        found = known.get(key)
        if found is None:
            said, proven = self.beside(pair, place, key), self._tried(pair, place, key)[1]
            ends = self.sets.brought(*pair.seats[1 - place]).ends
            away = 0
            for sort in said.unproven:
                for other, parts in ends[sort].items():
                    if self._is_unproven(pair, place, key, other):
                        away |= parts
            found = known[key] = said.kindly & ~away | proven
        return found

    def doubts(self, pair: Pair, place: int, key: EndKey, there: int) -> Iterator[EndKey]:
        """The ends that parts `there` bring to the other place of which it may be unproven that
        they go with `key`."""
        brought = self.sets.brought(*pair.seats[1 - place])
        for sort in self.beside(pair, place, key).unproven:
            if brought.parts[sort] & there:
                for other, parts in brought.ends[sort].items():
                    if parts & there:
                        yield other
        for end in key[0]:
            for partner in self.mating.tried_with.get(end, ()):
                for other in brought.tried.get(partner, ()):
                    if brought.ends[brought.sort_of[other]][other] & there:
                        yield other

    def from_any(self, pair: Pair, place: int, parts: int, *, strict: bool) -> int:
        """What may sit at the other place if one of `parts` sits at `place`."""
        brought, known = self.sets.brought(*pair.seats[place]), self._known(pair, place)
        found = 0
        for sort in brought.sorts_in(parts):
            said = known.beside.get(sort) or self.beside(pair, place, brought.keys[sort])
            if not strict or not said.unproven:
                found |= said.kindly
                continue
            apart = known.apart.get(sort)
            if apart is None:
                apart = known.apart[sort] = self._apart(pair, place, brought.ends[sort])
            for of_some, goes in apart:
                if parts & of_some:
                    found |= goes
        if parts & brought.any_tried:
            for keys in brought.tried.values():
                for key in keys:
                    if parts & brought.ends[brought.sort_of[key]][key]:
                        found |= self._tried(pair, place, key)[strict]
        return found

    def _apart(
        self, pair: Pair, place: int, ends: Mapping[EndKey, int]
    ) -> tuple[tuple[int, int], ...]:
        """The parts of a sort that are proven to go with the same, and what that is."""
        found: dict[int, int] = {}
        for key, parts in ends.items():
            goes = self.strictly(pair, place, key)
            found[goes] = found.get(goes, 0) | parts
        return tuple((parts, goes) for goes, parts in found.items())

    def _is_unproven(self, pair: Pair, place: int, key: EndKey, other: EndKey) -> bool:
        """Whether nobody knows better of just these ends, of sorts that are unproven."""
        keys = _in_order(place, key, other)
        mating, floor = self.mating, self.floor
        said = mating.settled(pair.joint, keys, pair.half, floor, Outcome.UNPROVEN)
        return said is Outcome.UNPROVEN

    def _tried(self, pair: Pair, place: int, key: EndKey) -> tuple[int, int]:
        """What goes with `key` against its values as somebody has tried it: at all, and proven."""
        if not self.mating.is_tried(key):
            return 0, 0
        with_ = self.mating.tried_with
        known = self._known(pair, place).tried
        found = known.get(key)
        if found is None:
            brought = self.sets.brought(*pair.seats[1 - place])
            kindly = proven = 0
            for end in key[0]:
                for partner in with_.get(end, ()):
                    for other in brought.tried.get(partner, ()):
                        said = self.outcome(pair, *_in_order(place, key, other))
                        parts = brought.ends[brought.sort_of[other]][other]
                        kindly |= 0 if said is Outcome.CLASHES else parts
                        proven |= parts if said is Outcome.MATES else 0
            found = known[key] = kindly, proven
        return found

    def _look(self, pair: Pair, place: int, key: EndKey) -> Beside:
        mine, theirs = pair.seats[place], pair.seats[1 - place]
        if pair.half and key == NO_END and mine[0] == pair.joint.via:
            # A go-between without the role stands in nobody's way.
            return _ANY
        brought = self.sets.brought(*theirs)
        kindly, unproven = 0, []
        for other in (NO_END, *self._candidates(pair.joint.kind, brought, key)):
            sort = brought.sort_of[other]
            if pair.half and other == NO_END and theirs[0] == pair.joint.via:
                kindly |= brought.parts[sort]
                continue
            said = self._by_values(pair, place, key, other)
            if said is Outcome.CLASHES:
                continue
            kindly |= brought.parts[sort]
            if said is Outcome.UNPROVEN:
                unproven.append(sort)
        return Beside(kindly, tuple(sorted(unproven)))

    def _candidates(self, kind: str, brought: Brought, key: EndKey) -> Iterable[EndKey]:
        if key == NO_END or self.floor < PROVEN:
            # An end may stand alone; and what proves a clash as a rule may prove none here.
            return brought.keys[1:]
        return (found for found, _ in self.mating.places.candidates(kind, brought.place, key))

    def reach(self, joint: Joint, member: Member, key: EndKey) -> Reach | None:
        """From where to where an end at one place of a chain reaches.

        Ends cannot go together whose spans, summed up and given the grace of one of them, do not
        hold 0. An end that says nothing is `SILENT`. None where the kind knows no spans.
        """
        span = kinds()[joint.kind].span
        allowed = self.mating.catalogue.tolerances.get(joint.kind, {})
        if span is None or not allowed:
            return None
        grace = max([*allowed.values(), *(amount for _, amount in key[1])])
        brought = self.sets.brought(member.station, member.role)
        if brought.sort_of.get(key) in brought.tried_sorts:
            return Reach(ANYWHERE, grace)
        spare = member.alone == "MayStandAlone"
        return Reach(self._span(span, member.sign, key, spare=spare), grace)

    def _span(
        self, span: Callable[[EndValues], Span | None], sign: int, key: EndKey, *, spare: bool
    ) -> Span:
        if key == NO_END:
            return (Decimal(0), Decimal(0)) if spare else ANYWHERE
        each = [self._span_of(span, sign, end) for end in key[0]]
        if all(of_end is SILENT for of_end in each):
            return SILENT
        return min(low for low, _ in each), max(high for _, high in each)

    def _span_of(self, span: Callable[[EndValues], Span | None], sign: int, iri: str) -> Span:
        values = self.mating.values.firm(self.mating.catalogue.ends[iri], sign, self.floor)
        return ANYWHERE if values is None else span(values) or SILENT

    def _by_values(self, pair: Pair, place: int, key: EndKey, other: EndKey) -> Outcome:
        keys = _in_order(place, key, other)
        return self.mating.values.outcome(pair.joint, keys, pair.half, self.floor)

    def outcome(self, pair: Pair, near: EndKey, far: EndKey) -> Outcome:
        """What comes of two ends at the places of a pair; a go-between without the role stands in
        nobody's way."""
        via = pair.joint.via
        for (station, _), key in zip(pair.seats, (near, far), strict=True):
            if pair.half and key == NO_END and station == via:
                return Outcome.MATES
        return self.mating.outcome(pair.joint, (near, far), pair.half, self.floor)


def _in_order(place: int, key: EndKey, other: EndKey) -> tuple[EndKey, EndKey]:
    """An end at one place and another at the other, as the joint names them."""
    return (key, other) if place == 0 else (other, key)
