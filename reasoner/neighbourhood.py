"""Which parts of a catalogue come in question for one question about one car.

In a small catalogue all parts do that can sit on the car. In a large one the scout brings those
that plans of fewest changes can take, in every reading a question rests on: what is unproven mates;
what is unproven clashes; one joint that is unproven clashes; and, where nothing is workable, what
would be if one wish were given up. Reasons are told among these parts; where nothing is workable,
among the parts nearest to what is fitted.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Container, Mapping, Sequence

from .build import Build
from .catalogue import Joint, Standing
from .mating import Mating
from .scout_board import Board
from .scouting import Scout

SMALL = 500
"""If no more parts than these can sit on a car, all of them come in question."""

TOLD = 120
"""Of so many parts it can be told why none of them helps."""

OnOffer = Callable[[str, str], bool]


def everything(mating: Mating, build: Build) -> dict[str, tuple[str, ...]]:
    """Per station of the car every part of the catalogue that can sit there."""
    return {station: mating.places.sitting(station) for station in build.fits}


def is_small(mating: Mating, build: Build) -> bool:
    """Whether so few parts can sit on the car that none need be left out."""
    return sum(len(mating.places.sitting(station)) for station in build.fits) <= SMALL


def in_question(
    mating: Mating,
    build: Build,
    joints: Sequence[Joint],
    on_offer: OnOffer,
    floor: Standing,
    *,
    fits: Mapping[str, str],
    keeps: Collection[str],
    refused: Container[str] | None,
) -> dict[str, tuple[str, ...]]:
    """Per station the parts besides the present one, in the catalogue's order.

    `on_offer(station, part)` says whether a part is to be had; `fits`, `keeps` and `refused` are
    what the customer wishes.
    """
    board = Board(mating, build, on_offer, () if refused is None else refused)
    try:
        wishes = [board.wish(station, part) for station, part in sorted(fits.items())]
        wishes += [board.kept[station] for station in sorted(keeps)]
        wishes += [] if refused is None else [board.refusing]
        changing = {*fits, *_scout(Scout(board, joints, floor), wishes, fits)}
        return {
            station: tuple(sorted(part for part in there if part))
            for station, there in board.brought.items()
            if station in changing
        }
    finally:
        board.close()


def _scout(scout: Scout, wishes: list[int], fits: Collection[str]) -> set[str]:
    """The stations whose parts come in question: all that some irredundant plan changes."""
    kindly = scout.ways(wishes)
    changing: set[str] = set()
    if not kindly:
        for wish in wishes:
            others = [other for other in wishes if other != wish]
            for way in scout.ways(others):
                scout.complete(way, others)
                changing |= way
        return changing | _around(scout, fits)
    for way in kindly:
        scout.complete(way, wishes)
        changing |= way
    doubts = scout.doubtful({*changing, *fits})
    if doubts:
        strictly = [*wishes, *scout.strictly()]
        for way in scout.ways(strictly, kindly):
            scout.complete(way, strictly)
            changing |= way
        for doubt in doubts:
            changing.update(*scout.ways([*wishes, doubt], kindly))
    return changing


def _around(scout: Scout, fits: Collection[str]) -> set[str]:
    """Where nothing is workable: stations near what is fitted, as many as can be told about."""
    found, edge, parts = set(fits), sorted(fits), 0
    while edge:
        following = sorted(n for s in edge for n in scout.beside(s) if n not in found)
        edge = []
        for station in dict.fromkeys(following):
            parts += len(scout.board.brought.get(station, ()))
            if parts > TOLD:
                return found
            found.add(station)
            edge.append(station)
    return found
