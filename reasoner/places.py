"""What can come to each place of a car: the distinct ends, who brings them, and an index to them.

A place is a role at a station. Parts of one family bring the same ends there, so ends are compared
once for a group of parts. Where a kind says which quantities must be equal and which lie within a
tolerance (see `Kind`), the groups that may meet an end are looked up by those, never by trying all.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from itertools import product

from .catalogue import Catalogue, End, Joint, Part, Standing
from .interfaces.kind import Kind, Scalar
from .interfaces.registry import kinds

PROVEN = Standing.REPORTED
"""The weakest standing on which a joint still counts as proven, unless the question says more."""

EndKey = tuple[tuple[str, ...], tuple[tuple[str, Decimal], ...]]
"""What a part brings to a place: its ends there, and tolerances of its own."""

NO_END: EndKey = ((), ())

FEW = 40
"""So many parts or groups are looked at one by one; more are looked up."""

_Sizes = tuple[Scalar | None, ...]


def end_key(part: Part | None, role: str) -> EndKey:
    """What `part` brings to a place with `role`; parts of one family share it."""
    if part is None or role not in part.ends:
        return NO_END
    return part.ends[role], tuple(part.tolerances.items())


@dataclass(frozen=True, slots=True)
class Place:
    """The groups of parts that bring an end to one place, in the order of their ends.

    `sized` maps the quantities that must be equal (None where they need not be stated and are not)
    to the groups that have them: their values of the toleranced quantity in rising order, and which
    groups these are. `loose` are groups that no value rules out: one is missing, disputed, presumed
    or made to suit. `reach` is by how much a toleranced value may differ here at most. `sorts`
    gives the same number to groups whose ends are of the same values (see `values_of`).
    """

    groups: tuple[tuple[EndKey, tuple[str, ...]], ...] = ()
    sized: Mapping[_Sizes, tuple[tuple[Decimal, ...], tuple[int, ...]]] = field(
        default_factory=dict
    )
    loose: tuple[int, ...] = ()
    reach: Decimal = Decimal(0)
    sorts: tuple[int, ...] = ()

    def among(self, numbers: Iterable[int]) -> Iterator[tuple[EndKey, tuple[str, ...]]]:
        """The groups of these numbers, in order."""
        return (self.groups[number] for number in sorted(set(numbers)))


class Places:
    """Every place of a catalogue, made when first asked for or read from what was kept.

    `kept` maps "station role" to the place, and "station" to all parts that sit there.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        kept: Mapping[str, Place | tuple[str, ...]] | None = None,
    ) -> None:
        self._catalogue = catalogue
        self._kept = kept
        self._kinds = kinds()
        self._firsts: dict[tuple[str, str], dict[EndKey, EndKey]] = {}

    def sitting(self, station: str) -> tuple[str, ...]:
        """Every part that can sit at a station, in the catalogue's order."""
        found = self._rows().get(station, ())
        return found if isinstance(found, tuple) else ()

    def place(self, station: str, role: str) -> Place:
        """What can come to a place; parts without the role are not in it."""
        found = self._rows().get(f"{station} {role}")
        return found if isinstance(found, Place) else _NOTHING

    def like(self, station: str, role: str, key: EndKey) -> EndKey:
        """The first end at a place that is of the same values."""
        firsts = self._firsts.get((station, role))
        if firsts is None:
            place = self.place(station, role)
            of_sort: dict[int, EndKey] = {}
            firsts = self._firsts[station, role] = {
                other: of_sort.setdefault(sort, other)
                for (other, _), sort in zip(place.groups, place.sorts, strict=True)
            }
        return firsts.get(key, key)

    def set_members(self, matched: str) -> tuple[str, ...]:
        """Every part of a matched set."""
        found = self._rows().get(f"set {matched}", ())
        return found if isinstance(found, tuple) else ()

    def index_of(self, station: str, role: str, keys: Iterable[EndKey]) -> Place:
        """An index to some of the ends of a place."""
        kind = self._kind_of.get(f"{station} {role}")
        if kind is None:
            return _NOTHING
        groups = dict.fromkeys(keys, ("",))
        return _place(self._catalogue, self._kinds[kind], groups)

    def candidates(
        self, kind: str, place: Place, other: EndKey
    ) -> tuple[tuple[EndKey, tuple[str, ...]], ...]:
        """Groups at a place that may meet what `other` brings: all that do, and some that don't."""
        if len(place.groups) <= FEW:
            return place.groups
        described = self._kinds[kind]
        found: set[int] = set(place.loose)
        own = max((amount for _, amount in other[1]), default=Decimal(0))
        for iri in other[0]:
            at = sizes_of(self._catalogue, described, self._catalogue.ends[iri])
            if at is None:
                return place.groups
            found.update(_near(place, described, at, own))
        return tuple(place.among(found))

    @cached_property
    def _kind_of(self) -> dict[str, str]:
        return kinds_of_places(self._catalogue)

    def _rows(self) -> Mapping[str, Place | tuple[str, ...]]:
        if self._kept is None:
            self._kept = dict(rows_of(self._catalogue))
        return self._kept


_NOTHING = Place()


def rows_of(catalogue: Catalogue) -> Iterator[tuple[str, Place | tuple[str, ...]]]:
    """Every row of the index of a catalogue, with its key: see `Places`. In sorted order."""
    kind_of = kinds_of_places(catalogue)
    sitting: dict[str, list[str]] = {}
    groups: dict[str, dict[EndKey, list[str]]] = {}
    for iri, part in catalogue.parts.items():
        for matched in part.sets:
            sitting.setdefault(f"set {matched}", []).append(iri)
        for station in part.stations:
            sitting.setdefault(station, []).append(iri)
            for role in part.ends:
                at = f"{station} {role}"
                if at in kind_of:
                    groups.setdefault(at, {}).setdefault(end_key(part, role), []).append(iri)
    known = kinds()
    for at in sorted({*sitting, *groups}):
        if at in groups:
            yield at, _place(catalogue, known[kind_of[at]], groups[at])
        else:
            yield at, tuple(sorted(sitting[at]))


def rows_again(
    catalogue: Catalogue, rows: Mapping[str, Place | tuple[str, ...]], keys: Iterable[str]
) -> dict[str, Place | tuple[str, ...]]:
    """Those of the rows that are places, for a catalogue whose ends alone have changed."""
    kind_of = kinds_of_places(catalogue)
    known = kinds()
    found: dict[str, Place | tuple[str, ...]] = {}
    for key in sorted(keys):
        row = rows.get(key)
        if isinstance(row, Place):
            found[key] = _place(catalogue, known[kind_of[key]], dict(row.groups))
    return found


def kinds_of_places(catalogue: Catalogue) -> dict[str, str]:
    """The kind of the ends that meet at each place ("station role")."""
    return {
        f"{station} {role}": joint.kind
        for joint in catalogue.joints.values()
        for station, role in seats(joint)
    }


def seats(joint: Joint) -> Iterator[tuple[str, str]]:
    """Station and role of every place of a joint, those of a go-between last."""
    for member in joint.members:
        yield member.station, member.role
    if joint.via:
        for role in joint.via_roles:
            yield joint.via, role


def _place(catalogue: Catalogue, kind: Kind, groups: Mapping[EndKey, Sequence[str]]) -> Place:
    ordered = tuple((key, tuple(sorted(groups[key]))) for key in sorted(groups))
    sized: dict[_Sizes, list[tuple[Decimal, int]]] = {}
    loose: list[int] = []
    sorts: dict[tuple[str, object], int] = {}
    reach = catalogue.tolerances.get(kind.name, {}).get(kind.tolerance, Decimal(0))
    for number, ((ends, own), _) in enumerate(ordered):
        reach = max([reach, *(amount for _, amount in own)])
        for iri in ends:
            at = sizes_of(catalogue, kind, catalogue.ends[iri])
            if at is None:
                loose.append(number)
            else:
                equal, value, slack = at
                sized.setdefault(equal, []).append((value, number))
                reach = max(reach, slack)
    rows = {equal: tuple(sorted(found)) for equal, found in sized.items()}
    return Place(
        ordered,
        {
            equal: (tuple(value for value, _ in found), tuple(number for _, number in found))
            for equal, found in sorted(rows.items(), key=lambda row: str(row[0]))
        },
        tuple(loose),
        reach,
        tuple(sorts.setdefault(values_of(catalogue, key), len(sorts)) for key, _ in ordered),
    )


def values_of(catalogue: Catalogue, key: EndKey) -> tuple[str, object]:
    """What tells ends apart by their kind, their values and how firmly these stand."""
    ends, own = key
    standing = catalogue.standing
    told = repr(
        [
            (
                end.kind,
                end.side,
                [
                    (q, [(c.value, standing(c.sources)) for c in claims])
                    for q, claims in end.claims.items()
                ],
                end.open,
            )
            for end in map(catalogue.ends.__getitem__, ends)
        ]
    )
    return told, own


def sizes_of(catalogue: Catalogue, kind: Kind, end: End) -> tuple[_Sizes, Decimal, Decimal] | None:
    """What an end is looked up by: values that must be equal, the toleranced one, its own slack.

    None where nothing can be ruled out by them: a value is missing, disputed, too weak to prove a
    clash, or made to suit, or the kind has no such quantities.
    """
    if not kind.equal and not kind.near:
        return None
    open_ones = {value.quantity for value in end.open}

    def firm(quantity: str) -> Scalar | None:
        claims = end.claims.get(quantity, ())
        if len(claims) != 1 or quantity in open_ones or isinstance(claims[0].value, tuple):
            return None
        return claims[0].value if catalogue.standing(claims[0].sources) <= PROVEN else None

    equal: list[Scalar | None] = []
    for quantity in kind.equal:
        value = firm(quantity)
        if value is None:
            return None
        equal.append(value)
    equal += map(firm, kind.if_stated)
    number, slack = Decimal(0), Decimal(0)
    if kind.near:
        value = firm(kind.near)
        if not isinstance(value, (int, Decimal)):
            return None
        number = Decimal(value)
        if kind.slack in end.claims:
            # A slot lets the value stand off by half its length, whoever states it.
            stated = [c.value for c in end.claims[kind.slack]]
            slack = max(Decimal(v) for v in stated if isinstance(v, (int, Decimal)))
    return tuple(equal), number, slack


def _near(
    place: Place, kind: Kind, at: tuple[_Sizes, Decimal, Decimal], own: Decimal
) -> Iterator[int]:
    equal, value, slack = at
    # Each side may widen what is allowed: by its own tolerance, or by a slot.
    reach = place.reach * 2 + own + slack
    for like in _like(place, equal, len(kind.equal)):
        values, numbers = place.sized[like]
        if kind.near:
            within = bisect_left(values, value - reach), bisect_right(values, value + reach)
            numbers = numbers[slice(*within)]
        yield from numbers


def _like(place: Place, equal: _Sizes, must: int) -> Iterable[_Sizes]:
    """The rows of a place that are equal in the first so many sizes, and in others where stated."""
    first, others = equal[:must], equal[must:]
    if None not in others:
        each = ((*first, *rest) for rest in product(*((value, None) for value in others)))
        return (like for like in each if like in place.sized)
    return (
        like
        for like in place.sized
        if like[:must] == first
        and all(a == b or a is None or b is None for a, b in zip(like[must:], others, strict=True))
    )
