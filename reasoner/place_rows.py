"""Rows of the index to places, made again quickly: what an end is like is remembered.

Each row is what `places.rows_of` makes of the whole; a test holds the two against each other.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from .catalogue import Catalogue
from .interfaces.kind import Kind, Scalar
from .interfaces.registry import kinds
from .places import EndKey, Place, kinds_of_places, sizes_of, values_of

_Equal: TypeAlias = tuple[Scalar | None, ...]
_Sizes: TypeAlias = tuple[_Equal, Decimal, Decimal] | None

Moves: TypeAlias = Mapping[EndKey, Sequence[str]]
"""The groups of a place that are other than before, with their parts now; none: it is gone."""


class PlaceRows:
    """Makes rows of one catalogue after another, and remembers what it found out about ends."""

    def __init__(self) -> None:
        self._kinds = kinds()
        self._alike: dict[EndKey, int] = {}
        self._numbers: dict[object, int] = {}
        self._likes: dict[str, tuple[Place, list[int]]] = {}

    def forget(self, ends: Iterable[str]) -> None:
        """These ends are other than they were."""
        changed = set(ends)
        if changed:
            alike = self._alike.items()
            self._alike = {key: n for key, n in alike if changed.isdisjoint(key[0])}

    def ready(self, catalogue: Catalogue) -> None:
        """Find out now what the ends of a catalogue are like."""
        for at, row in catalogue.lookups.places.items():
            if isinstance(row, Place):
                self._likes[at] = row, self._alike_in(catalogue, row)

    def rows(
        self, catalogue: Catalogue, old: Mapping[str, object], moves: Mapping[str, Moves]
    ) -> dict[str, Place | None]:
        """The rows of places ("station role") at which groups of parts, or their ends, changed."""
        kind_of = kinds_of_places(catalogue)
        found: dict[str, Place | None] = {}
        for at in sorted(moves):
            row = old.get(at)
            before = row if isinstance(row, Place) else Place()
            kind = self._kinds[kind_of[at]]
            held = self._likes.get(at)
            likes = (
                held[1]
                if held is not None and held[0] is row
                else self._alike_in(catalogue, before, moves[at])
            )
            made = _Remade(catalogue, kind, before, moves[at])
            new = [self._like(catalogue, key) for key, _ in made.new]
            likes = made.carried(likes, new)
            place = made.place(likes)
            found[at] = place if place.groups else None
            self._likes[at] = place, likes
        return found

    def _alike_in(self, catalogue: Catalogue, place: Place, but: Moves | None = None) -> list[int]:
        """What the groups of a place are like; of those that change it does not matter."""
        but = but or {}
        return [-1 if key in but else self._like(catalogue, key) for key, _ in place.groups]

    def _like(self, catalogue: Catalogue, key: EndKey) -> int:
        """The same number for ends that are alike."""
        number = self._alike.get(key)
        if number is None:
            told = values_of(catalogue, key)
            number = self._alike[key] = self._numbers.setdefault(told, len(self._numbers))
        return number


class _Remade:
    """One place with some of its groups changed: the others only have other numbers."""

    def __init__(self, catalogue: Catalogue, kind: Kind, old: Place, moves: Moves) -> None:
        self._catalogue, self._kind, self._old = catalogue, kind, old
        self.new = [(key, tuple(sorted(parts))) for key, parts in sorted(moves.items()) if parts]
        self._stay = [number for number, (key, _) in enumerate(old.groups) if key not in moves]
        stay = [old.groups[number] for number in self._stay]
        groups = stay.copy()
        for group in self.new:
            insort(groups, group)
        self._groups = tuple(groups)
        self._at = [bisect_left(groups, group) for group in self.new]
        gone, new_number = [-1] * len(old.groups), iter(self._free(len(groups)))
        for number in self._stay:
            gone[number] = next(new_number)
        self._number = gone

    def _free(self, count: int) -> Iterator[int]:
        """The numbers that groups which stay have now."""
        taken = set(self._at)
        return (number for number in range(count) if number not in taken)

    def carried(self, old: Sequence[int], new: Sequence[int]) -> list[int]:
        """What was known of each group, by its number now."""
        found = [0] * len(self._groups)
        for number in self._stay:
            found[self._number[number]] = old[number]
        for number, value in zip(self._at, new, strict=True):
            found[number] = value
        return found

    def place(self, likes: Sequence[int]) -> Place:
        """The place as it is now, whose groups are like these."""
        sizes = [
            (number, self._sizes(iri))
            for number, (key, _) in zip(self._at, self.new, strict=True)
            for iri in key[0]
        ]
        first: dict[int, int] = {}
        return Place(
            groups=self._groups,
            sized=self._sized([(number, size) for number, size in sizes if size is not None]),
            loose=self._loose([number for number, size in sizes if size is None]),
            reach=self._reach(size for _, size in sizes),
            sorts=tuple([first.setdefault(like, len(first)) for like in likes]),
        )

    def _sizes(self, iri: str) -> _Sizes:
        return sizes_of(self._catalogue, self._kind, self._catalogue.ends[iri])

    def _sized(
        self, new: list[tuple[int, tuple[_Equal, Decimal, Decimal]]]
    ) -> dict[_Equal, tuple[tuple[Decimal, ...], tuple[int, ...]]]:
        number_of = self._number.__getitem__
        found: dict[_Equal, tuple[tuple[Decimal, ...], tuple[int, ...]]] = {}
        for equal, (values, numbers) in self._old.sized.items():
            now = tuple(map(number_of, numbers))
            if -1 in now:
                left = [(v, n) for v, n in zip(values, now, strict=True) if n >= 0]
                values, now = tuple(v for v, _ in left), tuple(n for _, n in left)
            if now:
                found[equal] = values, now
        for number, (equal, value, _) in new:
            pairs = list(zip(*found.get(equal, ((), ())), strict=True))
            insort(pairs, (value, number))
            found[equal] = tuple(v for v, _ in pairs), tuple(n for _, n in pairs)
        return dict(sorted(found.items(), key=lambda row: str(row[0])))

    def _loose(self, new: Iterable[int]) -> tuple[int, ...]:
        stay = (now for number in self._old.loose if (now := self._number[number]) >= 0)
        return tuple(sorted((*stay, *new)))

    def _reach(self, new: Iterable[_Sizes]) -> Decimal:
        """By how much values may differ: the most that a kind, a part or a slot allows."""
        catalogue, kind = self._catalogue, self._kind
        least = catalogue.tolerances.get(kind.name, {}).get(kind.tolerance, Decimal(0))
        slacks = [size[2] for size in new if size is not None]
        own = [amount for key, _ in self._groups for _, amount in key[1]]
        if self._old.reach > max([least, *own, *slacks]):
            # Somebody who stays may have a slot; who went may have been the one that had.
            slacks += [
                size[2]
                for number in self._stay
                for iri in self._old.groups[number][0][0]
                if (size := self._sizes(iri)) is not None
            ]
        return max([least, *own, *slacks])
