"""What the parts that can sit at a station say about others, as sets of parts (see `part_sets`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from .catalogue import Catalogue


@dataclass(frozen=True, slots=True)
class StationRules:
    """What the parts of one station say about others.

    `asks` maps families to the parts that ask for one of them, `excludes` to those that go with
    none of them, `sets` maps matched sets to their members here, and `members` each family that
    somebody asks for or excludes to those of it here. `new` are parts that are to be had new,
    `reworked` those made of another part.
    """

    asks: Mapping[str, int] = field(default_factory=dict)
    excludes: Mapping[str, int] = field(default_factory=dict)
    sets: Mapping[str, int] = field(default_factory=dict)
    members: Mapping[str, int] = field(default_factory=dict)
    new: int = 0
    reworked: int = 0

    @property
    def says(self) -> bool:
        """Whether any of them asks for, excludes or belongs with something."""
        return bool(self.asks or self.excludes or self.sets)


NO_RULES = StationRules()


def all_rules(catalogue: Catalogue) -> Iterator[tuple[str, StationRules]]:
    """The rules of every station of a catalogue, in order."""
    places = catalogue.lookups.places
    named: set[str] = set()
    for part in catalogue.parts.values():
        named.update(part.asks, part.excludes)
    for station in sorted(catalogue.stations):
        sitting = places.get(station, ())
        if isinstance(sitting, tuple) and sitting:
            yield station, _rules(catalogue, sitting, named)


def _rules(catalogue: Catalogue, sitting: Iterable[str], named: set[str]) -> StationRules:
    asks: dict[str, int] = {}
    excludes: dict[str, int] = {}
    sets: dict[str, int] = {}
    members: dict[str, int] = {}
    new = reworked = 0
    for at, iri in enumerate(sitting):
        part, bit = catalogue.parts[iri], 1 << at
        of_part: tuple[tuple[dict[str, int], Iterable[str]], ...] = (
            (asks, part.asks),
            (excludes, part.excludes),
            (sets, part.sets),
            (members, part.families & named),
        )
        for table, names in of_part:
            for name in names:
                table[name] = table.get(name, 0) | bit
        if part.rework_of:
            reworked |= bit
        elif not part.superseded_by:
            new |= bit
    asks, excludes, sets, members = (
        dict(sorted(table.items())) for table in (asks, excludes, sets, members)
    )
    return StationRules(asks, excludes, sets, members, new, reworked)
