"""If this part, then that one: how a choice of part at one station narrows the others.

Within one irredundant way of changing the car, the branch point is the station whose choice
settles most about the rest; each of its options is one branch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .verdicts import Search, options_in_way

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


def describe_way(search: Search, stations: frozenset[str]) -> Way:
    """The options and branches of one way (a set of changed stations that is irredundant)."""
    options = options_in_way(search, stations)
    best: tuple[Branch, ...] = ()
    most = 0
    for station in sorted(s for s, parts in options.items() if len(parts) > 1):
        branches = _branches(search, stations, station, options[station])
        narrowed = sum(
            len(options[other]) - len(left)
            for branch in branches
            for other, left in branch.options.items()
        )
        if 1 < len(branches) <= _MOST_BRANCHES and narrowed > most:
            best, most = branches, narrowed
    return Way(options, best)


def _branches(
    search: Search, stations: frozenset[str], point: str, parts: tuple[str | None, ...]
) -> tuple[Branch, ...]:
    """One branch for each different consequence of the choice at `point`."""
    grouped: dict[tuple[tuple[str, tuple[str | None, ...]], ...], list[str | None]] = {}
    for part in parts:
        left = options_in_way(search, stations, [search.problem.variable(point, part)])
        del left[point]
        grouped.setdefault(tuple(left.items()), []).append(part)
    return tuple(Branch(point, tuple(those), dict(left)) for left, those in grouped.items())
