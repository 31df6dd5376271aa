"""If this part, then that one: how a choice of part at one station narrows the others.

Within one irredundant way of changing the car, the branch point is the station whose choice
settles most about the rest; each of its options is one branch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .options import Options

_MOST_BRANCHES = 6


@dataclass(frozen=True, slots=True)
class Branch:
    """With `parts` at `station`, the other changed stations are left with `options`.

    `parts` holds every option of the branch point that leaves just these others.
    """

    station: str
    parts: tuple[str | None, ...]
    options: Mapping[str, tuple[str | None, ...]]


@dataclass(frozen=True, slots=True)
class Way:
    """One irredundant way: what each changed station may take, and the branches within it."""

    options: Mapping[str, tuple[str | None, ...]]
    branches: tuple[Branch, ...] = ()

    @property
    def stations(self) -> frozenset[str]:
        """The stations this way changes."""
        return frozenset(self.options)


def describe_way(options: Options, stations: frozenset[str]) -> Way:
    """The options and branches of one way (a set of changed stations that is irredundant).

    Branch points do not follow from one another: a station that an earlier point narrows is a
    consequence, not a choice of its own.
    """
    within = options.within(stations)
    found = options.of(stations)
    points: list[tuple[int, str, tuple[Branch, ...]]] = []
    for station in sorted(s for s, parts in found.items() if len(parts) > 1 and within.binds(s)):
        branches = _branches(options, stations, station)
        if not 1 < len(branches) <= _MOST_BRANCHES:
            continue
        counts = ((len(found[o]), len(left)) for b in branches for o, left in b.options.items())
        narrowed = sum(before - after for before, after in counts)
        if narrowed:
            points.append((-narrowed, station, branches))
    chosen: list[Branch] = []
    settled: set[str] = set()
    for _, station, branches in sorted(points, key=lambda p: p[:2]):
        if station in settled:
            continue
        chosen += branches
        settled |= {
            other
            for branch in branches
            for other, left in branch.options.items()
            if len(left) < len(found[other])
        }
    return Way(found, tuple(chosen))


def _branches(options: Options, stations: frozenset[str], point: str) -> tuple[Branch, ...]:
    """One branch for each different consequence of the choice at `point`."""
    within = options.within(stations)
    grouped: dict[tuple[tuple[str, int], ...], int] = {}
    may = within.domains[point]
    for at in range(may.bit_length()):
        if may >> at & 1:
            left = within.left(point, 1 << at)
            others = tuple((s, left[s]) for s in sorted(left) if s != point)
            grouped[others] = grouped.get(others, 0) | 1 << at
    return tuple(
        Branch(point, options.named({point: parts})[point], options.named(dict(left)))
        for left, parts in grouped.items()
    )
