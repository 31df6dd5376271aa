"""What meets what on one car: the joints as pairs of places, and chains of more than two.

Most cars of a catalogue have the same stations and joints, so what was looked up for one of them is
there for the next.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from .catalogue import Joint
from .remembering import remember
from .supports import Facing, Pair, Seat, Supports

_MOST = 16


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """A joint whose places are weighed together: more than two, or two at one station."""

    joint: Joint
    seats: tuple[Seat, ...]
    stations: tuple[str, ...]
    """The stations of its places, each once."""


class CarLinks:
    """Pairs and chains of a car, all of them and by station.

    `facings_at[station]` are the pairs it is in, seen from there, `joints_at[station]` its joints.
    """

    def __init__(
        self, supports: Supports, stations: Collection[str], joints: Sequence[Joint]
    ) -> None:
        self._supports = supports
        self.joints = tuple(joint.iri for joint in joints)
        self.pairs_of: dict[str, list[Pair]] = {}
        self.chain_of: dict[str, Chain] = {}
        self.facings_at: dict[str, list[Facing]] = {station: [] for station in stations}
        self._facings: dict[tuple[str, str, int], Facing] = {}
        self.guarded: dict[str, list[Pair]] = {station: [] for station in stations}
        self.chains_at: dict[str, list[Chain]] = {station: [] for station in stations}
        self.joints_at: dict[str, list[str]] = {}
        self._besides: dict[str, frozenset[str]] = {}
        for joint in joints:
            for station in joint.stations:
                self.joints_at.setdefault(station, []).append(joint.iri)
            seats = tuple((member.station, member.role) for member in joint.members)
            if joint.is_chain:
                stations = tuple(dict.fromkeys(station for station, _ in seats))
                self._add_chain(Chain(joint, seats, stations))
                continue
            has_via = bool(joint.via) and joint.via in self.facings_at
            self._add_pair(Pair(joint, (seats[0], seats[1]), guard=joint.via if has_via else ""))
            if has_via:
                near, far = ((joint.via, role) for role in joint.via_roles)
                self._add_pair(Pair(joint, (seats[0], near), "first"))
                self._add_pair(Pair(joint, (far, seats[1]), "second"))

    @classmethod
    def of(cls, supports: Supports, stations: Collection[str], joints: Sequence[Joint]) -> CarLinks:
        """The links of a car, or of one with the same stations and joints."""
        known = supports.links
        at = (*stations, *(joint.iri for joint in joints))
        found = known.get(at)
        if not isinstance(found, CarLinks):
            found = CarLinks(supports, stations, joints)
            remember(known, at, found, _MOST)
        return found

    def only(self, stations: Collection[str], joints: Sequence[Joint]) -> CarLinks:
        """What meets what at some joints alone; `stations` are those that count, theirs at least.
        What was found of sets of parts is shared."""
        found = CarLinks(self._supports, stations, ())
        those = found.joints = tuple(joint.iri for joint in joints)
        found.pairs_of = {iri: self.pairs_of[iri] for iri in those if iri in self.pairs_of}
        found.chain_of = {iri: self.chain_of[iri] for iri in those if iri in self.chain_of}
        found._facings = self._facings
        for station in dict.fromkeys(s for joint in joints for s in joint.stations):
            found.joints_at[station] = [i for i in self.joints_at.get(station, ()) if i in those]
            if station in found.facings_at:
                found.facings_at[station] = [
                    facing for facing in self.facings_at[station] if facing.pair.joint.iri in those
                ]
                found.guarded[station] = [
                    pair for pair in self.guarded[station] if pair.joint.iri in those
                ]
                found.chains_at[station] = [
                    chain for chain in self.chains_at[station] if chain.joint.iri in those
                ]
        return found

    def facing(self, pair: Pair, place: int) -> Facing:
        """A pair seen from one of its places."""
        return self._facings[*pair.at, place]

    def beside(self, station: str) -> frozenset[str]:
        """The stations that share a joint with one."""
        found = self._besides.get(station)
        if found is None:
            found = self._besides[station] = frozenset(self._beside(station))
        return found

    def _beside(self, station: str) -> set[str]:
        met = self.facings_at[station]
        pairs = (s for facing in met for s, _ in facing.pair.seats)
        chains = (s for chain in self.chains_at[station] for s in chain.stations)
        guarded = (s for pair in self.guarded[station] for s, _ in pair.seats)
        guards = (facing.pair.guard for facing in met)
        return {s for s in (*pairs, *chains, *guarded, *guards) if s in self.facings_at} - {station}

    def _add_pair(self, pair: Pair) -> None:
        self.pairs_of.setdefault(pair.joint.iri, []).append(pair)
        near = Facing(self._supports, pair)
        for facing in (near, near.back):
            self._facings[*pair.at, facing.place] = facing
            self.facings_at[facing.near].append(facing)
        if pair.guard:
            self.guarded[pair.guard].append(pair)

    def _add_chain(self, chain: Chain) -> None:
        self.chain_of[chain.joint.iri] = chain
        for station in chain.stations:
            if station in self.chains_at:
                self.chains_at[station].append(chain)
