"""What may be newly fitted to the stations of one car, as sets of parts."""

from __future__ import annotations

from .build import Build
from .part_sets import PartSets
from .supply import Offers


class Offered:
    """Every part that may come to a station, whatever is wished; each set is made once."""

    def __init__(self, sets: PartSets, offers: Offers, build: Build) -> None:
        self._sets, self._offers, self._build = sets, offers, build
        self._known: dict[str, int] = {}

    def at(self, station: str) -> int:
        """What may come to a station, and nothing where it may stand empty."""
        found = self._known.get(station)
        if found is None:
            found = self._known[station] = self._found(station)
        return found

    def _found(self, station: str) -> int:
        # New parts are known as a set; of the others only those are looked at that may be there.
        sets, offers, rules = self._sets, self._offers, self._sets.rules(station)
        found = rules.new if offers.brings_new else 0
        if offers.brings_new and offers.brings_reworked:
            found |= sets.made_of_new(station)
        # What is not made new is on a shelf, on a donor or on the car, or made of what is.
        bits, made_of = sets.bits(station), sets.made_of(station)
        others = set(offers.at_hand(station, bits))
        for base in {self._build.fits[station], *offers.at_hand(station, made_of)}:
            others.update(filter(None, sets.named(station, made_of.get(base or "", 0))))
        for part in others:
            if not found & bits[part] and offers.may_come(station, part):
                found |= bits[part]
        return found | sets.bit(station, None) if sets.may_stand_empty(station) else found
