"""What parts say about others at each station (see `station_rules`), carried over a change.

A station's sets of parts are numbers with a bit for each part that sits there, in order. Where a
part comes or goes the bits after it move, so that nobody has to look at the other parts again.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from .catalogue import Catalogue, Part
from .station_rules import NO_RULES, StationRules

Row = Mapping[str, StationRules]
Sitting = Mapping[str, object]
"""What comes to places, by their keys; at a station the parts that sit there."""


def rules_after(
    rules: Row,
    catalogue: Catalogue,
    sitting: tuple[Sitting, Sitting],
    parts: Mapping[str, tuple[Part | None, Part | None]],
) -> dict[str, StationRules | None]:
    """The rows that differ after a change.

    `sitting` is what came to places before and what comes now, `parts` what was and is of each part
    that came, went or differs.
    """
    known = {name for row in rules.values() for name in (*row.asks, *row.excludes, *row.members)}
    before = {name for was, _ in parts.values() for name in _names(was)}
    after = {name for _, now in parts.values() for name in _names(now)}
    moves: dict[str, dict[str, Part | None]] = {}
    for iri, (was, now) in parts.items():
        for part in (was, now):
            for station in part.stations if part is not None else ():
                here = now if now is not None and station in now.stations else None
                moves.setdefault(station, {})[iri] = here
    newly = {name: set(_members(catalogue, name)) for name in after - known}
    for members in newly.values():
        for iri in members:
            for station in catalogue.parts[iri].stations:
                moves.setdefault(station, {})
    named = known | after
    found: dict[str, StationRules | None] = {}
    for station, moved in moves.items():
        old, new = (_parts_at(each, station) for each in sitting)
        made = _moved(rules.get(station, NO_RULES), old, new, moved, named)
        found[station] = _told(made, new, newly) if new and station in catalogue.stations else None
    rows = {station: row for station, row in {**rules, **found}.items() if row is not None}
    # Every part sits somewhere, so that whom no station names nobody does.
    still = {name for row in rows.values() for name in (*row.asks, *row.excludes)}
    unnamed = before - after - still
    for station, row in rows.items():
        if not unnamed.isdisjoint(row.members):
            left = {name: bits for name, bits in row.members.items() if name not in unnamed}
            found[station] = replace(row, members=left)
    return found


def _names(part: Part | None) -> Iterator[str]:
    if part is not None:
        yield from part.asks
        yield from part.excludes


def _members(catalogue: Catalogue, family: str) -> Sequence[str]:
    known = catalogue.families.get(family)
    return () if known is None else known.parts


def _parts_at(places: Sitting, station: str) -> tuple[str, ...]:
    found = places.get(station, ())
    return found if isinstance(found, tuple) else ()


@dataclass(slots=True)
class _Row:
    """A row in the making."""

    asks: dict[str, int]
    excludes: dict[str, int]
    sets: dict[str, int]
    members: dict[str, int]
    new: int
    reworked: int


def _moved(
    row: StationRules,
    old: tuple[str, ...],
    new: tuple[str, ...],
    parts: Mapping[str, Part | None],
    named: set[str],
) -> _Row:
    """A row with the bits of these parts as they are now."""
    gone = sorted((bisect_left(old, i) for i in parts if _has(old, i)), reverse=True)
    come = sorted(bisect_left(new, i) for i in parts if _has(new, i))

    def move(bits: int) -> int:
        for at in gone:
            bits = (bits & ((1 << at) - 1)) | (bits >> (at + 1) << at)
        for at in come:
            bits = (bits & ((1 << at) - 1)) | (bits >> at << (at + 1))
        return bits

    asks, excludes, sets, members = (
        {name: move(bits) for name, bits in table.items()}
        for table in (row.asks, row.excludes, row.sets, row.members)
    )
    found = _Row(asks, excludes, sets, members, move(row.new), move(row.reworked))
    for at in come:
        part, bit = parts[new[at]], 1 << at
        assert part is not None, "what sits there now is there"
        _put(found.asks, part.asks, bit)
        _put(found.excludes, part.excludes, bit)
        _put(found.sets, part.sets, bit)
        _put(found.members, part.families & named, bit)
        if part.rework_of:
            found.reworked |= bit
        elif not part.superseded_by:
            found.new |= bit
    return found


def _told(row: _Row, sitting: tuple[str, ...], newly: Mapping[str, set[str]]) -> StationRules:
    """The row as it is kept, with the members of families that somebody names now."""
    for family, members in newly.items():
        for iri in members:
            if _has(sitting, iri):
                _put(row.members, (family,), 1 << bisect_left(sitting, iri))
    return StationRules(
        _filled(row.asks),
        _filled(row.excludes),
        _filled(row.sets),
        _filled(row.members),
        row.new,
        row.reworked,
    )


def _filled(table: Mapping[str, int]) -> dict[str, int]:
    return {name: bits for name, bits in sorted(table.items()) if bits}


def _has(ordered: tuple[str, ...], iri: str) -> bool:
    at = bisect_left(ordered, iri)
    return at < len(ordered) and ordered[at] == iri


def _put(table: dict[str, int], names: Iterable[str], bit: int) -> None:
    for name in names:
        table[name] = table.get(name, 0) | bit
