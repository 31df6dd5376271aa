"""Because of whom nothing works: what was lost is followed back to what does not change.

A trial takes parts away step by step. When nothing is left to a station, most of those steps have
nothing to do with it; only those are followed that took away what could have helped.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from .part_sets import EVERY
from .supports import Facing

if TYPE_CHECKING:
    from .trial import Trial


class Loss(NamedTuple):
    """Parts that were taken away from a station, and what was taken away `before`.

    They go with nothing that was left at the near station of `facing`; or it is because of all
    that `others` had lost by then. `told` is who else is to blame: see `Trial.at`, `Trial.trust`.
    """

    before: Loss | None
    station: str
    parts: int
    facing: Facing | None
    others: Sequence[str]
    told: int


class Failure(NamedTuple):
    """What cannot be: that so much is left to a station, or all that `others` have lost."""

    station: str
    others: Sequence[str]
    told: int


def to_blame(trial: Trial, changing: Collection[str], last: Loss | None, failed: Failure) -> int:
    """The stations that do not change, and the mistrusted joints, that make a trial fail."""
    wall, lost = failed.told, dict[str, int]()
    if failed.station:
        lost[failed.station] = EVERY
    wall |= _all_of(trial, changing, failed.others, lost)
    while last is not None:
        wanted = lost.get(last.station, 0) & last.parts
        if wanted:
            lost[last.station] &= ~wanted
            wall |= last.told | _all_of(trial, changing, last.others, lost)
            facing = last.facing
            if facing is not None:
                helping = facing.back.look(wanted, strict=bool(last.told & trial.trusting))
                lost[facing.near] = lost.get(facing.near, 0) | helping
        last = last.before
    stations = trial.mask(changing)
    for station, wanted in lost.items():
        if wanted:
            wall |= _kept_away(trial, station, stations, wanted, wall)
    return wall


def _all_of(
    trial: Trial, changing: Collection[str], stations: Sequence[str], lost: dict[str, int]
) -> int:
    """All that some stations lost has mattered; who they are, of those that do not change."""
    found = 0
    for station in stations:
        if station in changing:
            lost[station] = EVERY
        else:
            found |= trial.at.get(station, 0)
    return found


def _kept_away(trial: Trial, station: str, changing: int, wanted: int, blamed: int) -> int:
    """Who keeps parts away from a station from the beginning: few, and rather who is blamed."""
    opening = trial.opening(station, changing)
    away = wanted & opening.offered & ~opening.left
    found = 0
    waiting = list(opening.beside)
    while away and waiting:
        most, at = -1, 0
        for number, (goes, by) in enumerate(waiting):
            kept_away = (away & ~goes).bit_count()
            if kept_away and not by & ~(blamed | found):
                most, at = kept_away, number
                break
            if kept_away > most:
                most, at = kept_away, number
        goes, by = waiting.pop(at)
        if most:
            found |= by
            away &= goes
    return found
