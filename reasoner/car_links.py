"""What meets what on one car: the joints as pairs of places, and chains of more than two."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from .catalogue import Joint
from .supports import Pair, Seat


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """A joint whose places are weighed together: more than two, or two at one station."""

    joint: Joint
    seats: tuple[Seat, ...]
    stations: tuple[str, ...]
    """The stations of its places, each once."""


class CarLinks:
    """Pairs and chains of a car, all of them and by station."""

    def __init__(self, stations: Collection[str], joints: Sequence[Joint]) -> None:
        self.joints = tuple(joint.iri for joint in joints)
        self.pairs_of: dict[str, list[Pair]] = {}
        self.chain_of: dict[str, Chain] = {}
        self.pairs_at: dict[str, list[tuple[Pair, int]]] = {station: [] for station in stations}
        self.guarded: dict[str, list[Pair]] = {station: [] for station in stations}
        self.chains_at: dict[str, list[Chain]] = {station: [] for station in stations}
        for joint in joints:
            seats = tuple((member.station, member.role) for member in joint.members)
            if joint.is_chain:
                stations = tuple(dict.fromkeys(station for station, _ in seats))
                self._add_chain(Chain(joint, seats, stations))
                continue
            has_via = bool(joint.via) and joint.via in self.pairs_at
            self._add_pair(Pair(joint, (seats[0], seats[1]), guard=joint.via if has_via else ""))
            if has_via:
                near, far = ((joint.via, role) for role in joint.via_roles)
                self._add_pair(Pair(joint, (seats[0], near), "first"))
                self._add_pair(Pair(joint, (far, seats[1]), "second"))

    def beside(self, station: str) -> set[str]:
        """The stations that share a joint with one."""
        pairs = (s for pair, _ in self.pairs_at[station] for s, _ in pair.seats)
        chains = (s for chain in self.chains_at[station] for s in chain.stations)
        guarded = (s for pair in self.guarded[station] for s, _ in pair.seats)
        guards = (pair.guard for pair, _ in self.pairs_at[station])
        return {s for s in (*pairs, *chains, *guarded, *guards) if s in self.pairs_at} - {station}

    def _add_pair(self, pair: Pair) -> None:
        self.pairs_of.setdefault(pair.joint.iri, []).append(pair)
        for place, (station, _) in enumerate(pair.seats):
            self.pairs_at[station].append((pair, place))
        if pair.guard:
            self.guarded[pair.guard].append(pair)

    def _add_chain(self, chain: Chain) -> None:
        self.chain_of[chain.joint.iri] = chain
        for station in chain.stations:
            if station in self.chains_at:
                self.chains_at[station].append(chain)
