"""Which parts go with an end at a joint, looked up once in a catalogue and remembered."""

from __future__ import annotations

from collections.abc import Iterator

from .catalogue import Joint, Standing
from .interfaces.kind import Outcome
from .mating import Mating
from .places import NO_END, EndKey


class Partners:
    """Parts that do not clash with an end, by joint and place."""

    def __init__(self, mating: Mating, floor: Standing) -> None:
        self._mating, self._floor = mating, floor
        self._found: dict[tuple[str, str, int, str, EndKey], tuple[str, ...]] = {}
        self._counts: dict[tuple[str, str, int, str, EndKey], int] = {}
        self._lacking: dict[tuple[str, str], tuple[str, ...]] = {}

    @classmethod
    def of(cls, mating: Mating, floor: Standing) -> Partners:
        """Those of one catalogue, where a mate that rests on less than `floor` proves nothing."""
        found = mating.partners.get(floor)
        if not isinstance(found, Partners):
            found = mating.partners[floor] = Partners(mating, floor)
        return found

    def count(
        self, joint: Joint, half: str, station: str, role: str, other: EndKey, place: int
    ) -> int:
        """How many parts may go with `other`: at least as many as do."""
        at = (joint.iri, half, place, station, other)
        if at in self._found:
            return len(self._found[at])
        if at not in self._counts:
            groups = self._mating.places.candidates(joint.kind, station, role, other)
            self._counts[at] = sum(len(parts) for _, parts in groups)
            if self._goes(joint, half, NO_END, other, place):
                self._counts[at] += len(self._without(station, role))
        return self._counts[at]

    def found(
        self, joint: Joint, half: str, station: str, role: str, other: EndKey, place: int
    ) -> tuple[str, ...]:
        """Parts for `station` that do not clash with `other`, in the catalogue's order.

        `place` (0 or 1) is theirs in the joint, or in the `half` of it.
        """
        at = (joint.iri, half, place, station, other)
        if at not in self._found:
            self._found[at] = tuple(sorted(self._all(joint, half, station, role, other, place)))
        return self._found[at]

    def _all(
        self, joint: Joint, half: str, station: str, role: str, other: EndKey, place: int
    ) -> Iterator[str]:
        for key, parts in self._mating.places.candidates(joint.kind, station, role, other):
            if self._goes(joint, half, key, other, place):
                yield from parts
        if self._goes(joint, half, NO_END, other, place):
            yield from self._without(station, role)

    def _goes(self, joint: Joint, half: str, key: EndKey, other: EndKey, place: int) -> bool:
        if half and key == NO_END:
            # A go-between without the role stands in nobody's way.
            return station_is_between(joint, half, place)
        keys = (key, other) if place == 0 else (other, key)
        return self._mating.outcome(joint, keys, half, self._floor) is not Outcome.CLASHES

    def _without(self, station: str, role: str) -> tuple[str, ...]:
        at = (station, role)
        if at not in self._lacking:
            self._lacking[at] = self._mating.places.lacking(station, role)
        return self._lacking[at]


def station_is_between(joint: Joint, half: str, place: int) -> bool:
    """Whether a place of half a joint is the go-between's."""
    return bool(joint.via) and place == (1 if half == "first" else 0)
