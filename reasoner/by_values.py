"""What comes of ends by their stated values alone: worked out once for all that are alike.

Ends of the same kind and values, of which these stand equally firm, share a number, and joints that
compare ends alike another, so that what was found of some is found again by numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import count

from .catalogue import Catalogue, End, Joint, Standing
from .interfaces.kind import EndValues, Outcome, Value, overall
from .interfaces.registry import kinds
from .places import EndKey, Places, values_of

_Seat = dict[EndKey, int]
"""The numbers of the ends that were seen at one place."""


class ByValues:
    """The outcomes of one catalogue.

    `weighed` says what comes of ends of which claims must be weighed. What was found out for
    another catalogue, `like`, holds here too if the tolerances are the same.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        places: Places,
        weighed: Callable[[Joint, tuple[EndKey, ...], str, Standing], Outcome],
        like: ByValues | None = None,
    ) -> None:
        self._catalogue, self._places, self._weighed = catalogue, places, weighed
        self._rules = {iri: kind.rule for iri, kind in kinds().items()}
        self._forms: dict[tuple[str, str], tuple[int, tuple[_Seat, ...]]] = {}
        self._seats: dict[tuple[str, str], _Seat] = {}
        self._of_keys: dict[EndKey, int] = {}
        self._numbers: dict[object, int] = {}
        self._next = count()
        self._outcomes: dict[tuple[int, Standing], dict[tuple[int, ...], Outcome]] = {}
        self._firm: dict[tuple[int, int, Standing], EndValues | None] = {}
        if like is not None and like._catalogue.tolerances == catalogue.tolerances:
            self._numbers, self._next = like._numbers, like._next
            self._outcomes, self._firm = like._outcomes, like._firm

    def outcome(
        self, joint: Joint, keys: tuple[EndKey, ...], half: str, floor: Standing
    ) -> Outcome:
        """What comes of ends at a joint or a half of it; that nothing meets counts as mating."""
        form, seats = self._forms.get((joint.iri, half)) or self._form(joint, half)
        try:
            numbers = [seat[key] for seat, key in zip(seats, keys, strict=True)]
        except KeyError:
            places = zip(_places_of(joint, half), keys, strict=True)
            numbers = [self.alike_at(*place, key) for place, key in places]
        at, known = tuple(numbers), self._of_form(form, floor)
        found = known.get(at)
        if found is None:
            found = self._plainly(joint, keys, half, floor, numbers)
            if found is None:
                found = self._weighed(joint, keys, half, floor)
            known[at] = found
        return found

    def known(self, joint: Joint, half: str, floor: Standing) -> Mapping[tuple[int, ...], Outcome]:
        """The outcomes of a joint that were found so far, by the numbers of ends (see `alike_at`):
        for who asks very often."""
        form, _ = self._forms.get((joint.iri, half)) or self._form(joint, half)
        return self._of_form(form, floor)

    def _of_form(self, form: int, floor: Standing) -> dict[tuple[int, ...], Outcome]:
        found = self._outcomes.get((form, floor))
        if found is None:
            found = self._outcomes.setdefault((form, floor), {})
        return found

    def alike(self, key: EndKey) -> int:
        """The number of an end."""
        number = self._of_keys.get(key)
        if number is None:
            number = self._of_keys[key] = self._number(values_of(self._catalogue, key))
        return number

    def alike_at(self, station: str, role: str, key: EndKey) -> int:
        """The number of an end that comes to a place."""
        seat = self._seats.setdefault((station, role), {})
        number = seat.get(key)
        if number is None:
            first = self._places.like(station, role, key) if key[0] else key
            number = seat[key] = self.alike(first)
        return number

    def firm(self, end: End, sign: int, floor: Standing) -> EndValues | None:
        """What a rule sees of an end of which nothing is open, disputed or weaker than `floor`;
        None of any other."""
        values: dict[str, Value] = {}
        for quantity, claims in end.claims.items():
            if len(claims) > 1 or self._catalogue.standing(claims[0].sources) > floor:
                return None
            values[quantity] = claims[0].value
        return None if end.open else EndValues(end.side, values, sign)

    def _number(self, told: object) -> int:
        # Two threads that meet something new at the same time give it the same number.
        return self._numbers.setdefault(told, next(self._next))

    def _form(self, joint: Joint, half: str) -> tuple[int, tuple[_Seat, ...]]:
        """The number of all joints that compare ends alike, and its places."""
        members = tuple((member.sign, member.alone) for member in joint.members)
        seats = tuple(self._seats.setdefault(seat, {}) for seat in _places_of(joint, half))
        found = self._number((joint.kind, members, half)), seats
        self._forms[joint.iri, half] = found
        return found

    def _plainly(
        self,
        joint: Joint,
        keys: Sequence[EndKey],
        half: str,
        floor: Standing,
        numbers: Sequence[int],
    ) -> Outcome | None:
        """What comes of single ends of which all is firm, so that nothing need be weighed; None of
        any others."""
        if standing_alone(joint, keys, half) is not None:
            return None
        values: list[EndValues] = []
        tolerances = self._catalogue.tolerances.get(joint.kind, {})
        for (ends, own), member, number in zip(keys, joint.members, numbers, strict=True):
            if own:
                tolerances = {**tolerances, **dict(own)}
            if not ends:
                continue
            at = (number, member.sign, floor)
            if at not in self._firm:
                end = self._catalogue.ends[ends[0]]
                self._firm[at] = None if len(ends) > 1 else self.firm(end, member.sign, floor)
            seen = self._firm[at]
            if seen is None:
                return None
            values.append(seen)
        return overall(self._rules[joint.kind](values, tolerances))


def standing_alone(joint: Joint, keys: Sequence[EndKey], half: str) -> str | None:
    """None when enough ends meet; else "idle", "MustMeet" or "WantsBlank"."""
    there = [bool(ends) for ends, _ in keys]
    if all(there):
        return None
    if not any(there):
        return "idle"
    if half:
        return "MustMeet"
    if len(joint.members) > 2:
        needed = [m.alone == "MustMeet" for m in joint.members]
        present = [t for t, n in zip(there, needed, strict=True) if n]
        if all(present):
            return None if sum(there) > 1 else "idle"
        return "MustMeet" if any(present) else "idle"
    alone = next(m.alone for m, t in zip(joint.members, there, strict=True) if t)
    return "idle" if alone == "MayStandAlone" else alone


def _places_of(joint: Joint, half: str) -> list[tuple[str, str]]:
    """The stations and roles that meet at a joint, or at one half of it."""
    seats = [(member.station, member.role) for member in joint.members]
    if not half:
        return seats
    near, far = ((joint.via, role) for role in joint.via_roles)
    return [seats[0], near] if half == "first" else [far, seats[1]]
