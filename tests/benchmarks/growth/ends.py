"""Section `ends`: every end of the catalogue against every other that its joints let it meet.

Ends of one size are compared once for all; which sizes can meet at all is looked up. What comes of
it holds for every pair, and the work grows with the ends, not with the pairs.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from .apart import DidNotFinish, apart
from .measured import Row, power_law
from .stand import Stand


def measure(stand: Stand) -> Iterator[Row]:
    """Every size in a process of its own."""
    points = []
    for size in stand.sizes:
        data = stand.data(size)
        stand.say(f"comparing all ends of {size.parts} parts")
        try:
            took = apart("ends:compare", {"data": str(data)}, stand.cache, stand.patience)
        except DidNotFinish as error:
            stand.could_not(f"ends of {size.parts} parts", error)
            continue
        known = size.parts, size.generations
        found = took.value
        note = f"{found['pairs']:.3g} pairs settled by {found['compared']} comparisons"
        points.append((float(size.parts), found["seconds"]))
        yield Row("ends", "all ends compared", *known, found["seconds"], "s", "compared", note=note)
        yield Row("ends", "ends", *known, found["ends"], "ends")
        yield Row("ends", "pairs that mate", *known, found["mates"], "pairs")
    law = power_law(points)
    if law:
        last = stand.sizes[-1]
        yield Row(
            "ends", "grows as parts to the power of", last.parts, last.generations, law[1], ""
        )


def compare(asked: dict[str, Any]) -> dict[str, Any]:
    """Settle every binary joint for every pair of groups of parts that may come to it."""
    from ..reasoner.interfaces.kind import Outcome
    from ..reasoner.load import load_catalogue
    from ..reasoner.mating import Mating

    catalogue = load_catalogue(Path(asked["data"]))
    mating = Mating(catalogue)
    began = time.perf_counter()
    sizes = _Sizes(catalogue)
    pairs = compared = mates = 0
    for joint in catalogue.joints.values():
        if len(joint.members) != 2:
            continue
        here, there = joint.members
        theirs = mating.places.place(there.station, there.role)
        others: dict[Any, int] = {}
        for key, _ in theirs.groups:
            others[sizes.of(key)] = others.get(sizes.of(key), 0) + 1
        seen: dict[Any, int] = {}
        first: dict[Any, Any] = {}
        for key, _ in mating.places.place(here.station, here.role).groups:
            size = sizes.of(key)
            seen[size] = seen.get(size, 0) + 1
            first.setdefault(size, key)
        pairs += sum(seen.values()) * len(theirs.groups)
        for size, key in first.items():
            done = set()
            candidates = mating.places.candidates(joint.kind, theirs, key)
            for other, _ in candidates:
                other_size = sizes.of(other)
                if other_size in done:
                    continue
                done.add(other_size)
                compared += 1
                met = mating.meet_keys(joint, (key, other))
                if met is not None and met.outcome is Outcome.MATES:
                    mates += seen[size] * others[other_size]
    return {
        "seconds": time.perf_counter() - began,
        "pairs": pairs,
        "compared": compared,
        "mates": mates,
        "ends": len(catalogue.ends),
    }


class _Sizes:
    """Numbers what parts bring to a place by all that a comparison looks at."""

    def __init__(self, catalogue: Any) -> None:
        self._catalogue = catalogue
        self._tried = {end for pair in catalogue.tried for end in pair}
        self._known: dict[Any, int] = {}
        self._of_end: dict[str, int] = {}

    def of(self, key: Any) -> tuple[Any, ...]:
        """The size of a group of parts: sizes of its ends, and its own tolerances."""
        ends, own = key
        return tuple(self._end(iri) for iri in ends), own

    def _end(self, iri: str) -> int:
        if iri not in self._of_end:
            end = self._catalogue.ends[iri]
            claims = tuple(
                (
                    quantity,
                    tuple((str(c.value), self._catalogue.standing(c.sources)) for c in found),
                )
                for quantity, found in sorted(end.claims.items())
            )
            alone = iri if iri in self._tried else ""
            size = (end.kind, end.side, claims, str(end.open), alone)
            self._of_end[iri] = self._known.setdefault(size, len(self._known))
        return self._of_end[iri]
