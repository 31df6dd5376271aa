"""Rows of the index to places, made again quickly: what an end is like is remembered.

Each row is what `places.rows_of` makes of the whole; a test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from .catalogue import Catalogue
from .interfaces.kind import Kind, Scalar
from .interfaces.registry import kinds
from .places import EndKey, Place, kinds_of_places, sizes_of, values_of

_Sizes: TypeAlias = tuple[tuple[Scalar, ...], Decimal, Decimal] | None


class PlaceRows:
    """Makes rows of one catalogue after another, and remembers what it found out about ends."""

    def __init__(self) -> None:
        self._kinds = kinds()
        self._sizes: dict[tuple[str, str], _Sizes] = {}
        self._alike: dict[EndKey, int] = {}
        self._numbers: dict[object, int] = {}

    def forget(self, ends: Iterable[str]) -> None:
        """These ends are other than they were."""
        changed = set(ends)
        if changed:
            self._sizes = {at: s for at, s in self._sizes.items() if at[1] not in changed}
            alike = self._alike.items()
            self._alike = {key: n for key, n in alike if changed.isdisjoint(key[0])}

    def rows(
        self, catalogue: Catalogue, groups: Mapping[str, Mapping[EndKey, Sequence[str]]]
    ) -> dict[str, Place]:
        """The rows of places ("station role") to which these groups of parts come."""
        kind_of = kinds_of_places(catalogue)
        tried = {end for pair in catalogue.tried for end in pair}
        return {
            at: self._row(catalogue, self._kinds[kind_of[at]], groups[at], tried)
            for at in sorted(groups)
        }

    def _row(
        self,
        catalogue: Catalogue,
        kind: Kind,
        groups: Mapping[EndKey, Sequence[str]],
        tried: set[str],
    ) -> Place:
        keys = sorted(groups)
        found = {iri: self._size(catalogue, kind, iri, tried) for key in keys for iri in key[0]}
        at_sizes: dict[tuple[Scalar, ...], list[tuple[Decimal, int]]] = {}
        for number, key in enumerate(keys):
            for at in filter(None, map(found.__getitem__, key[0])):
                at_sizes.setdefault(at[0], []).append((at[1], number))
        for near in at_sizes.values():
            near.sort()
        first: dict[int, int] = {}
        alike = (self._like(catalogue, tried, key) for key in keys)
        return Place(
            groups=tuple((key, tuple(sorted(groups[key]))) for key in keys),
            sized={
                equal: (tuple(v for v, _ in at_sizes[equal]), tuple(n for _, n in at_sizes[equal]))
                for equal in sorted(at_sizes, key=str)
            },
            loose=tuple(n for n, key in enumerate(keys) for iri in key[0] if found[iri] is None),
            reach=max(
                [
                    catalogue.tolerances.get(kind.name, {}).get(kind.tolerance, Decimal(0)),
                    *(amount for _, own in keys for _, amount in own),
                    *(at[2] for at in found.values() if at is not None),
                ]
            ),
            sorts=tuple(first.setdefault(like, len(first)) for like in alike),
        )

    def _size(self, catalogue: Catalogue, kind: Kind, iri: str, tried: set[str]) -> _Sizes:
        if iri in tried:
            return None
        at = (kind.name, iri)
        if at not in self._sizes:
            self._sizes[at] = sizes_of(catalogue, kind, catalogue.ends[iri])
        return self._sizes[at]

    def _like(self, catalogue: Catalogue, tried: set[str], key: EndKey) -> int:
        """The same number for ends that are alike."""
        number = self._alike.get(key)
        if number is None:
            told = values_of(catalogue, tried, key)
            number = self._alike[key] = self._numbers.setdefault(told, len(self._numbers))
        return number
