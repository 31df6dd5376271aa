"""Which parts of a catalogue come in question for one car.

Where few parts of the whole catalogue can sit at a station, all of them do. Where many can, those
that can be on this car at all. Nobody changes a car's fixed stations (body, engine). What joins
them must go with what stands there, what joins those must go with one of these, and so on outward:
whatever has no partner that way is in no workable plan, so the verdicts are those of the whole
catalogue. Reasons are told among these parts. One walk serves every question about the car.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from .build import Build
from .catalogue import Joint
from .interfaces.kind import Outcome
from .interfaces.registry import kinds
from .mating import Mating
from .places import FEW, NO_END, PROVEN, EndKey, end_key


@dataclass(frozen=True, slots=True)
class _Anchor:
    """A joint by which a station hangs on one that is nearer to the fixed ones.

    `at` is the place of the nearer member.
    """

    joint: Joint
    at: int


class Neighbourhood:
    """The parts that come in question for a car, and partners among them."""

    def __init__(self, mating: Mating, build: Build, joints: Sequence[Joint]) -> None:
        self._mating, self._build, self._joints = mating, build, joints
        self._stations = mating.catalogue.stations
        self._anchors = self._anchored(joints)
        self._parts: dict[str, frozenset[str] | None] = {}

    @classmethod
    def of(cls, mating: Mating, build: Build, joints: Sequence[Joint]) -> Neighbourhood:
        """What is known of a car so far: the same for all builds that only differ in parts."""
        stations = mating.catalogue.stations
        fixed = tuple((s, part) for s, part in build.fits.items() if stations[s].fixed)
        empty = tuple(s for s, part in build.fits.items() if part is None)
        at = (build.car, fixed, empty, tuple(build.fits))
        found = mating.neighbourhoods.get(at)
        if not isinstance(found, Neighbourhood):
            found = mating.neighbourhoods[at] = Neighbourhood(mating, build, joints)
        return found

    def everything(self) -> dict[str, tuple[str, ...]]:
        """Per station of the car every part of the catalogue that can sit there."""
        return {station: self._mating.places.sitting(station) for station in self._build.fits}

    def parts(self, wanted: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
        """Per station of the car the parts in question, in the catalogue's order.

        `wanted` are wishes for parts that are not among them by themselves: they bring the parts
        they go with, so that it can be told what stands against these.
        """
        found = {s: {*self._in_question(s)} for s in self._build.fits}
        for station, part in wanted.items():
            described = self._mating.catalogue.parts[part]
            for s in (station, *described.stations):
                if s in found:
                    found[s].add(part)
            for joint in self._joints:
                if len(joint.members) == 2:
                    for at, member in enumerate(joint.members):
                        other = joint.members[1 - at]
                        if member.station == station and other.station in found:
                            key = end_key(described, member.role)
                            found[other.station].update(self._partners(joint, key, at))
        return {s: tuple(sorted(parts)) for s, parts in found.items()}

    def _in_question(self, station: str) -> Iterable[str]:
        sitting = self._mating.places.sitting(station)
        if len(sitting) <= FEW:
            return sitting
        viable = self.viable(station)
        return sitting if viable is None else viable

    def _partners(self, joint: Joint, key: EndKey, at: int) -> Iterable[str]:
        """Parts that go with an end at member `at`, if they are few."""
        other = joint.members[1 - at]
        if key == NO_END or other.station not in self._build.fits:
            return ()
        found = [*self._all(joint, "", other.station, other.role, (key,), 1 - at, None)]
        return found if len(found) <= FEW else ()

    def viable(self, station: str) -> frozenset[str] | None:
        """What can sit at a station in some workable plan, and maybe more; None: anything."""
        if station not in self._parts:
            self._parts[station] = self._walked(station)
        return self._parts[station]

    def _goes(self, joint: Joint, half: str, key: EndKey, other: EndKey, place: int) -> bool:
        if half and key == NO_END:
            return True  # a go-between without the role stands in nobody's way
        keys = (key, other) if place == 0 else (other, key)
        mate = self._mating.meet_keys(joint, keys, half)
        return mate is None or mate.under(PROVEN) is not Outcome.CLASHES

    # ------------------------------------------------------------------ walking outward

    def _anchored(self, joints: Iterable[Joint]) -> dict[str, list[_Anchor]]:
        """For each station the looked-up joints to stations nearer to the fixed ones."""
        known = kinds()
        of: dict[str, list[Joint]] = {}
        for joint in joints:
            kind = known[joint.kind]
            if len(joint.members) == 2 and (kind.equal or kind.near):
                for station in {member.station for member in joint.members}:
                    of.setdefault(station, []).append(joint)
        level = {s: 0 for s in self._build.fits if self._stations[s].fixed}
        edge = sorted(level)
        while edge:
            following: set[str] = set()
            for station in edge:
                for joint in of.get(station, ()):
                    following.update(m.station for m in joint.members if m.station not in level)
            for station in sorted(following):
                level[station] = 1 + level[edge[0]]
            edge = sorted(following)
        anchors: dict[str, list[_Anchor]] = {}
        for station, found in of.items():
            for joint in found:
                at = 0 if joint.members[1].station == station else 1
                nearer = joint.members[at].station
                if level.get(nearer, 10_000) < level.get(station, 0):
                    anchors.setdefault(station, []).append(_Anchor(joint, at))
        # Joints without a go-between first: they narrow most and cost least.
        return {
            s: sorted(a, key=lambda x: (bool(x.joint.via), x.joint.iri)) for s, a in anchors.items()
        }

    def _walked(self, station: str) -> frozenset[str] | None:
        present = self._build.fits.get(station)
        own = frozenset([present] if present else [])
        if self._stations[station].fixed:
            return own
        found: frozenset[str] | None = None
        for anchor in self._anchors.get(station, ()):
            reached = self._reached(anchor, found)
            if reached is not None:
                found = reached
        return None if found is None else found | own

    def _reached(self, anchor: _Anchor, among: frozenset[str] | None) -> frozenset[str] | None:
        """Parts, of those in `among`, that go with something at the nearer station."""
        joint, at = anchor.joint, anchor.at
        nearer, further = joint.members[at], joint.members[1 - at]
        keys = self._keys(nearer.station, nearer.role)
        if keys is None:
            return among
        reached = set(self._all(joint, "", further.station, further.role, keys, 1 - at, among))
        if joint.via in self._build.fits:
            half, other_half = ("first", "second") if at == 0 else ("second", "first")
            betweens = set(
                self._all(joint, half, joint.via, joint.via_roles[at], keys, 1 - at, None)
            )
            parts = self._mating.catalogue.parts
            far = {end_key(parts[b], joint.via_roles[1 - at]) for b in betweens}
            reached.update(
                self._all(joint, other_half, further.station, further.role, far, 1 - at, among)
            )
        return frozenset(reached)

    def _keys(self, station: str, role: str) -> set[EndKey] | None:
        """What can come to a nearer place; None if that may be anything."""
        parts = self.viable(station)
        if parts is None:
            return None
        found = {end_key(self._mating.catalogue.parts[p], role) for p in sorted(parts)}
        if self._stations[station].may_stand_empty or self._build.fits[station] is None:
            found.add(NO_END)
        return found

    def _all(
        self,
        joint: Joint,
        half: str,
        station: str,
        role: str,
        keys: Iterable[EndKey],
        place: int,
        among: frozenset[str] | None,
    ) -> Iterator[str]:
        places = self._mating.places
        lacking = places.lacking(station, role)
        for other in sorted(keys):
            for key, parts in places.candidates(joint.kind, station, role, other):
                there = [p for p in parts if among is None or p in among]
                if there and self._goes(joint, half, key, other, place):
                    yield from there
            if self._goes(joint, half, NO_END, other, place):
                yield from (p for p in lacking if among is None or p in among)
                lacking = ()
