"""Because of whom nothing works: what was lost is followed back to what does not change.

A trial takes parts away step by step. When nothing is left to a station, most of those steps have
nothing to do with it; only those are followed that took away what could have helped.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from .part_sets import EVERY
from .supports import Facing

if TYPE_CHECKING:
    from .narrowing import Among
    from .trial import Opening, Trial


Losses: TypeAlias = "tuple[Losses, str, int, Facing | None, Sequence[str], int] | None"
"""What was taken away so far, the last first: what was taken before it, a station, the parts it
lost, and why: `facing`, `others` and `told`.

They go with nothing that was left at the near station of `facing`; or it is because of all that
`others` had lost by then. `told` is who else is to blame: see `Trial.at`, `Trial.trust`. A plain
tuple, as it is made whenever anything is taken away.
"""


class Failure(NamedTuple):
    """What cannot be: that a station has lost some parts, or all that `others` have lost."""

    station: str
    parts: int
    others: Sequence[str]
    told: int


def to_blame(trial: Trial, among: Among, last: Losses, failed: Failure) -> int:
    """The stations that do not change, and the mistrusted joints, that make a trial fail."""
    changing = among.stations
    wall, lost = failed.told, dict[str, int]()
    if failed.station:
        lost[failed.station] = failed.parts
    wall |= _all_of(trial, changing, failed.others, lost)
    while last is not None:
        last, station, parts, facing, others, told = last
        wanted = lost.get(station, 0) & parts
        if wanted:
            lost[station] &= ~wanted
            wall |= told
            if others:
                wall |= _all_of(trial, changing, others, lost)
            if facing is not None:
                helping = facing.back.look(wanted, strict=bool(told & trial.trusting))
                lost[facing.near] = lost.get(facing.near, 0) | helping
    for station, wanted in lost.items():
        if wanted:
            wall |= _kept_away(among.opening(station), wanted, wall)
            if not among.bounding:
                wall |= trial.why_in_no_plan(station, wanted)
    return wall


def _all_of(
    trial: Trial, changing: Container[str], stations: Sequence[str], lost: dict[str, int]
) -> int:
    """All that some stations lost has mattered; who they are, of those that do not change."""
    found = 0
    for station in stations:
        if station in changing:
            lost[station] = EVERY
        else:
            found |= trial.at.get(station, 0)
    return found


def _kept_away(opening: Opening, wanted: int, blamed: int) -> int:
    """Who keeps parts away from a station from the beginning: few, and rather who is blamed."""
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
