"""Which parts can be on a car at all, however much of it changes: what its fixed stations leave.

A station that is never changed (the body, the engine) takes only what it has. What cannot meet that
at a joint is in no workable plan; nor is what can meet nothing that is left at a neighbour. What is
unproven counts as mating, and longer joints are looked at only where little is left at them: more
may remain than any plan can take, never less. Parts are found through the index of places, so what
is far from fitting costs nothing.
"""

from __future__ import annotations

from collections import OrderedDict, deque
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from ..build import Build
from ..catalogue import Catalogue, Joint
from ..interfaces.kind import Outcome
from ..mating import Mating
from ..places import NO_END, PROVEN, EndKey, end_key
from ..supports import Pair, Seat, Supports
from .loosened import loosened

Parts = int
"""Parts that can sit at a station, a bit for each in the catalogue's order; then one for nothing
there, and one for what is on the car although the catalogue does not seat it there."""

Left = Mapping[str, Parts]
"""What is left at the stations that joints narrow. One that is not named may take anything."""

_MOST_CHOICES = 4_000
"""A chain of more is not looked at: it would take longer than it saves."""

_MOST_LEFT = 256
"""So many cars, or changes to what is fixed on them, are remembered."""


@dataclass(frozen=True, slots=True)
class _Pair:
    """A joint of two members, seen from one of them: `place` (0 or 1) is that of the other."""

    pair: Pair
    place: int

    @property
    def near(self) -> Seat:
        """The place it is seen from."""
        return self.pair.seats[1 - self.place]

    @property
    def far(self) -> Seat:
        """The place of the other."""
        return self.pair.seats[self.place]


class Links:
    """What goes with what in one catalogue, remembered for all cars.

    `fixed` are the stations that are never changed. `usual` is the catalogue's own mating, and
    `mating` that of one without any such: what may sit there is for whoever asks to say.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.fixed = frozenset(s for s, station in catalogue.stations.items() if station.fixed)
        self.usual = Mating(catalogue)
        self.mating = Mating(loosened(catalogue))
        self._bits: dict[str, dict[str | None, Parts]] = {}
        self._seated: dict[Seat, dict[EndKey, Parts]] = {}
        self._supports = Supports.of(self.mating, PROVEN)
        self._left: OrderedDict[object, Left | None] = OrderedDict()

    def bits(self, station: str) -> Mapping[str | None, Parts]:
        """The bit of each part that can sit at a station, and of nothing there."""
        if station not in self._bits:
            sitting = self.mating.places.sitting(station)
            self._bits[station] = {part: 1 << at for at, part in enumerate((*sitting, None))}
        return self._bits[station]

    def left(
        self, build: Build, joints: Sequence[Joint], bound: Mapping[str, frozenset[str | None]]
    ) -> Left | None:
        """What joints leave if at these stations nothing else may sit; None: nothing goes.

        It hangs on nothing else of the car but which stations it has and what could only be on it
        because it is there, so most cars of a line share it.
        """
        own = {s: p for s, p in build.fits.items() if p is not None and p not in self.bits(s)}
        empty = frozenset(s for s, part in build.fits.items() if part is None)
        at = (tuple(j.iri for j in joints), *map(tuple, (build.fits, bound.items(), own.items())),
              empty)  # fmt: skip
        if at in self._left:
            self._left.move_to_end(at)
        else:
            self._left[at] = _Narrowing(self, build, joints, bound).left
            if len(self._left) > _MOST_LEFT:
                self._left.popitem(last=False)
        return self._left[at]

    def seated(self, seat: Seat) -> Mapping[EndKey, Parts]:
        """What comes to a seat: each end with the parts that bring it, an empty station too."""
        if seat not in self._seated:
            bits = self.bits(seat[0])
            groups = self.mating.places.place(*seat).groups
            found = {key: sum(bits[part] for part in parts) for key, parts in groups}
            found[NO_END] = (1 << len(bits)) - 1 - sum(found.values())
            self._seated[seat] = found
        return self._seated[seat]

    def partners(self, pair: _Pair, near: EndKey) -> Parts:
        """What the catalogue seats at the far seat and does not clash with an end at the near."""
        return self._supports.kindly(pair.pair, 1 - pair.place, near)

    def told(self, key: EndKey) -> object:
        """The same for ends that go with the same others: ends of the same values, of which nobody
        tried one."""
        return key if self.mating.is_tried(key) else self.mating.values.alike(key)

    def goes(self, pair: _Pair, near: EndKey, far: EndKey) -> bool:
        """Whether two ends do not clash."""
        return self.go_together(pair.pair.joint, (far, near) if pair.place == 0 else (near, far))

    def go_together(self, joint: Joint, keys: tuple[EndKey, ...]) -> bool:
        """Whether ends do not clash at a joint; what is not proven of them is not looked into."""
        clashes = Outcome.CLASHES
        return (
            self.mating.values.outcome(joint, keys, "", PROVEN) is not clashes
            or self.mating.outcome(joint, keys, "", PROVEN) is not clashes
        )


class _Narrowing:
    """One car narrowed: `left` is what is left, None if nothing is at some station."""

    def __init__(
        self,
        links: Links,
        build: Build,
        joints: Sequence[Joint],
        bound: Mapping[str, frozenset[str | None]],
    ) -> None:
        self._links, self._build = links, build
        self._pairs: dict[str, list[_Pair]] = {}
        for pair in _pairs(joints, build.fits):
            self._pairs.setdefault(pair.near[0], []).append(pair)
        self._chains: dict[str, list[Joint]] = {}
        for joint in joints:
            if len(joint.members) > 2 and joint.via not in build.fits:
                for station in dict.fromkeys(joint.stations):
                    self._chains.setdefault(station, []).append(joint)
        self._now: dict[str, Parts] = {
            s: sum(self._bit(s, part) for part in parts) for s, parts in bound.items()
        }
        self._waiting = deque(sorted(bound))
        self.left: Left | None = self._now if self._narrows() else None

    def _bit(self, station: str, part: str | None) -> Parts:
        bits = self._links.bits(station)
        return bits[part] if part in bits else 1 << len(bits)

    def _narrows(self) -> bool:
        while self._waiting:
            station = self._waiting.popleft()
            for pair in self._pairs.get(station, ()):
                if not self._narrow(pair.far[0], self._goes_with(pair, self._now[station])):
                    return False
            for chain in self._chains.get(station, ()):
                for member, now in self._in_chain(chain).items():
                    if not self._narrow(member, now):
                        return False
        return True

    def _narrow(self, station: str, now: Parts) -> bool:
        was = self._now.get(station)
        if was is None:
            described = self._links.catalogue.stations[station]
            if not described.may_stand_empty and self._build.fits[station] is not None:
                now &= ~self._links.bits(station)[None]
        else:
            now &= was
        if now != was:
            self._now[station] = now
            if station not in self._waiting:
                self._waiting.append(station)
        return now != 0

    def _ends(self, seat: Seat, among: Parts) -> Iterator[tuple[EndKey, Parts]]:
        """The ends that some parts bring to a seat, each with those parts."""
        for key, parts in self._links.seated(seat).items():
            if parts & among:
                yield key, parts & among
        own = 1 << len(self._links.bits(seat[0]))
        if own & among:
            yield self._own_end(seat), own

    def _own_end(self, seat: Seat) -> EndKey:
        part = self._build.fits[seat[0]]
        return end_key(self._links.catalogue.parts[part] if part else None, seat[1])

    def _goes_with(self, pair: _Pair, beside: Parts) -> Parts:
        """What at the far seat goes with something of what is at the near one."""
        near = [key for key, _ in self._ends(pair.near, beside)]
        found = 0
        for key in near:
            found |= self._links.partners(pair, key)
        station = pair.far[0]
        part = self._build.fits[station]
        if part is not None and part not in self._links.bits(station):
            far = self._own_end(pair.far)
            if any(self._links.goes(pair, key, far) for key in near):
                found |= self._bit(station, part)
        return found

    def _in_chain(self, chain: Joint) -> dict[str, Parts]:
        """What of each station goes with something of all others in a chain, where that is soon
        found out."""
        told = self._links.told
        places: list[dict[object, tuple[EndKey, Parts]]] = []
        for member in chain.members:
            sorts: dict[object, tuple[EndKey, Parts]] = {}
            if member.station in self._build.fits:
                if member.station not in self._now:
                    return {}
                for key, parts in self._ends(
                    (member.station, member.role), self._now[member.station]
                ):
                    first, others = sorts.get(told(key), (key, 0))
                    sorts[told(key)] = first, others | parts
            places.append(sorts or {0: (NO_END, 0)})
        if prod(map(len, places)) > _MOST_CHOICES:
            return {}
        going: list[set[object]] = [set() for _ in places]
        for choice in product(*places):
            if all(sort in found for sort, found in zip(choice, going, strict=True)):
                continue
            keys = tuple(place[sort][0] for sort, place in zip(choice, places, strict=True))
            if self._links.go_together(chain, keys):
                for sort, found in zip(choice, going, strict=True):
                    found.add(sort)
        result: dict[str, Parts] = {}
        for member, place, found in zip(chain.members, places, going, strict=True):
            if member.station in self._build.fits:
                now = sum(place[sort][1] for sort in found)
                result[member.station] = result.get(member.station, now) & now
        return result


def _pairs(joints: Iterable[Joint], stations: Collection[str]) -> Iterator[_Pair]:
    """The joints of two members that nothing can come between, from both sides."""
    for joint in joints:
        if len(joint.members) == 2 and joint.via not in stations:
            first, second = ((m.station, m.role) for m in joint.members)
            if first[0] != second[0]:
                pair = Pair(joint, (first, second))
                yield _Pair(pair, 1)
                yield _Pair(pair, 0)
