"""What may be newly fitted to a station, as a set of parts."""

from __future__ import annotations

from .part_sets import PartSets
from .supply import Offers


def newly_fitted(sets: PartSets, offers: Offers, station: str, present: str | None) -> int:
    """Every part that may come to a station at which one is `present`; bans aside.

    New parts are known as a set; of the others only those are looked at that may be there.
    """
    rules = sets.rules(station)
    found = rules.new if offers.brings_new else 0
    if offers.brings_new and offers.brings_reworked:
        found |= sets.made_of_new(station)
    # What is not made new is on a shelf, on a donor or on the car, or made of what is.
    bits, made_of = sets.bits(station), sets.made_of(station)
    others = set(offers.at_hand(station, bits))
    for base in {present, *offers.at_hand(station, made_of)}:
        others.update(filter(None, sets.named(station, made_of.get(base or "", 0))))
    for part in others:
        if not found & bits[part] and offers.may_come(station, part):
            found |= bits[part]
    return found
