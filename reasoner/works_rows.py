"""What left the works together at a chain of joints: looked up by what may be at its places.

Where the values of ends do not prove that they go together, that some car left the works with them
does; there are far fewer of these than combinations of what may be there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from itertools import product
from operator import or_

from .catalogue import Joint, Standing
from .interfaces.kind import Outcome
from .mating import Mating
from .part_sets import EVERY, PartSets, bits_of
from .places import EndKey


class WorksRows:
    """Of one joint; a row is what was at all its places on some car, told by a bit each."""

    def __init__(self, mating: Mating, joint: Joint, floor: Standing) -> None:
        self._mating, self._joint, self._floor = mating, joint, floor
        self._rows = mating.chains_of_works.get(joint.iri, ())
        sets = PartSets.of(mating)
        self._keys: list[dict[tuple[str, ...], list[tuple[EndKey, int]]]] = []
        self._with: list[dict[tuple[str, ...], int]] = []
        self._brought: list[list[tuple[int, int]]] = []
        for number, member in enumerate(joint.members):
            rows: dict[tuple[str, ...], int] = {}
            for row, ends in enumerate(self._rows):
                rows[ends[number]] = rows.get(ends[number], 0) | 1 << row
            keys: dict[tuple[str, ...], list[tuple[EndKey, int]]] = {}
            for of_sort in sets.brought(member.station, member.role).ends:
                for key, parts in of_sort.items():
                    if key[0] in rows:
                        keys.setdefault(key[0], []).append((key, parts))
            self._with.append(rows)
            self._keys.append(keys)
            self._brought.append(
                [
                    (reduce(or_, (parts for _, parts in of_ends)), rows[ends])
                    for ends, of_ends in keys.items()
                ]
            )
        self._proven: dict[tuple[EndKey, ...], bool] = {}

    def with_there(self, number: int, there: EndKey | int) -> int:
        """The rows with an end at a place that some of the parts `there` bring, or just this end,
        where what is there does not change."""
        if not isinstance(there, int):
            return self._with[number].get(there[0], 0)
        found = 0
        for bringing, rows in self._brought[number]:
            if there & bringing:
                found |= rows
        return found

    def proven(self, rows: int, there: Sequence[EndKey | int]) -> Iterator[tuple[int, ...]]:
        """Of some rows what of the parts `there` is proven to go together, place by place."""
        for row in bits_of(rows):
            each: list[list[tuple[EndKey, int]]] = []
            for number, at in enumerate(there):
                if isinstance(at, int):
                    keys = self._keys[number].get(self._rows[row][number], ())
                    each.append([(key, parts & at) for key, parts in keys if parts & at])
                else:
                    each.append([(at, EVERY)])
            for told in product(*each):
                if self._is_proven(tuple(key for key, _ in told)):
                    yield tuple(parts for _, parts in told)

    def _is_proven(self, keys: tuple[EndKey, ...]) -> bool:
        found = self._proven.get(keys)
        if found is None:
            said = self._mating.outcome(self._joint, keys, "", self._floor)
            found = self._proven[keys] = said is Outcome.MATES
        return found
