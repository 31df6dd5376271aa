"""What a chain of joints leaves of the parts that may stand in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product
from math import prod
from typing import TYPE_CHECKING, Protocol

from .car_links import Chain
from .interfaces.kind import Outcome
from .part_sets import EVERY
from .places import EndKey
from .supports import Supports

if TYPE_CHECKING:
    from .trial import Trial

_MOST_TRIED = 96
"""So many combinations of sorts of ends are weighed at a time; with more, each end must only be
able to reach. Sooner or later all but one station have one part, and the rest is weighed."""

_MOST_DOUBTED = 400

Choice = tuple[EndKey, int]
"""An end, or one for all of its sort, with the parts that bring it."""


class Running(Protocol):
    """A trial that a chain may take parts away from; `wall` is because of whom nothing works."""

    wall: int

    @property
    def parts(self) -> dict[str, int]:
        """What each changing station may take."""

    @property
    def weighed(self) -> dict[tuple[object, ...], dict[str, int] | None]:
        """What was found of chains so far: by chain, reading, and what its stations may take."""

    @property
    def supports(self) -> Supports:
        """What goes with what."""

    def standing(self, station: str, role: str) -> EndKey:
        """What stands at a place whose station does not change."""

    def is_strict(self, joint: str) -> bool:
        """Whether what nobody has proven does not fit at a joint."""

    def keep(self, station: str, parts: int, blame: int) -> bool:
        """Take away from a station all that is not in a set. False: nothing works."""

    def because_of(self, station: str) -> int:
        """Whom to blame for what a station can take."""


def narrow_chain(run: Running, chain: Chain) -> bool:
    """Take away what can stand in no plan because of a chain. False: nothing works."""
    at = (chain, run.is_strict(chain.joint.iri), *map(run.parts.get, chain.stations))
    if at in run.weighed:
        goes = run.weighed[at]
    else:
        goes = run.weighed[at] = _narrowed(run, chain)
    if goes is None:
        run.wall = _blame(run, chain, "")
        return False
    return all(
        not run.parts[station] & ~parts or run.keep(station, parts, _blame(run, chain, station))
        for station, parts in goes.items()
    )


def _narrowed(run: Running, chain: Chain) -> dict[str, int] | None:
    """Per changing station what may go; None if nothing does."""
    choices = [_choices(run, station, role) for station, role in chain.seats]
    choices = _reaching(run, chain, choices)
    sizes = [len(at) for at in choices]
    if prod(sizes) <= max(_MOST_TRIED, *sizes):
        return _weighed(run, chain, choices)
    return {
        station: sum(parts for _, parts in at)
        for (station, _), at in zip(chain.seats, choices, strict=True)
        if station in run.parts
    }


def _blame(run: Running, chain: Chain, station: str) -> int:
    found = 0
    for other in chain.stations:
        if other != station:
            found |= run.because_of(other)
    return found


def _choices(run: Running, station: str, role: str) -> list[Choice]:
    if station not in run.parts:
        return [(run.standing(station, role), EVERY)]
    there = run.parts[station]
    brought = run.supports.sets.brought(station, role)
    return [
        (key, there & parts)
        for key, parts in zip(brought.keys, brought.parts, strict=True)
        if there & parts
    ]


def _weighed(
    run: Running, chain: Chain, choices: Sequence[Sequence[Choice]]
) -> dict[str, int] | None:
    """Per changing station what is in some combination that goes; None if none does."""
    goes = {station: 0 for station in chain.stations if station in run.parts}
    any_goes = False
    for combination in product(*choices):
        for keys, parts in _told_apart(run, chain, combination):
            there: dict[str, int] = {}
            for (station, _), of_station in zip(chain.seats, parts, strict=True):
                there[station] = there.get(station, EVERY) & of_station
            if all(there.values()) and _goes(run, chain, keys):
                any_goes = True
                for station in goes:
                    goes[station] |= there[station]
    return goes if any_goes else None


def _told_apart(
    run: Running, chain: Chain, combination: Sequence[Choice]
) -> Iterator[tuple[tuple[EndKey, ...], tuple[int, ...]]]:
    """A combination of sorts; end by end where it matters which of a sort they are."""
    keys = tuple(key for key, _ in combination)
    parts = tuple(of_key for _, of_key in combination)
    mating, floor = run.supports.mating, run.supports.floor
    said = mating.by_values(chain.joint, keys, "", floor)
    if said is Outcome.UNPROVEN:
        apart = run.is_strict(chain.joint.iri)
    else:
        apart = said is Outcome.CLASHES and _is_tried(run, chain, keys)
    if not apart:
        yield keys, parts
        return
    each = []
    for (station, role), (key, of_key) in zip(chain.seats, combination, strict=True):
        if station not in run.parts:
            each.append([(key, of_key)])
            continue
        brought = run.supports.sets.brought(station, role)
        ends = brought.ends[brought.sort_of[key]]
        each.append([(end, of_key & of_end) for end, of_end in ends.items() if of_key & of_end])
    for choice in product(*each):
        yield tuple(key for key, _ in choice), tuple(of_key for _, of_key in choice)


def _is_tried(run: Running, chain: Chain, keys: Sequence[EndKey]) -> bool:
    """Whether somebody may have put some of these sorts together against their values."""
    with_ = run.supports.mating.tried_with
    for (station, role), key in zip(chain.seats, keys, strict=True):
        brought = run.supports.sets.brought(station, role)
        is_tried = any(end in with_ for end in key[0])
        if is_tried or (station in run.parts and brought.sort_of[key] in brought.tried_sorts):
            return True
    return False


def _goes(run: Running, chain: Chain, keys: tuple[EndKey, ...]) -> bool:
    outcome = run.supports.mating.outcome(chain.joint, keys, "", run.supports.floor)
    if outcome is Outcome.UNPROVEN:
        return not run.is_strict(chain.joint.iri)
    return outcome is Outcome.MATES


def _reaching(run: Running, chain: Chain, choices: list[list[Choice]]) -> list[list[Choice]]:
    """Without what reaches nobody, whatever the others are."""
    spans = run.supports.spans(chain.joint, [[key for key, _ in at] for at in choices])
    if spans is None:
        return choices
    least = [min(low for low, _ in at) for at in spans]
    most = [max(high for _, high in at) for at in spans]
    found = []
    for n, (at, of_seat) in enumerate(zip(choices, spans, strict=True)):
        low, high = (sum((*ends[:n], *ends[n + 1 :]), Decimal(0)) for ends in (least, most))
        found.append(
            [
                choice
                for choice, (lowest, highest) in zip(at, of_seat, strict=True)
                if lowest + low <= 0 <= highest + high
            ]
        )
    return found


def is_doubtful_chain(trial: Trial, chain: Chain, there: Mapping[str, int]) -> bool:
    """Whether what may be `there` (else what stands there) may make up an unproven chain.

    With too many combinations to look at it is said to be so.
    """
    keys = [list(trial.keys_of(station, role, there)) for station, role in chain.seats]
    if prod(len(at) for at in keys) > _MOST_DOUBTED:
        return True
    mating, floor = trial.supports.mating, trial.supports.floor
    return any(
        mating.outcome(chain.joint, combination, "", floor) is Outcome.UNPROVEN
        for combination in product(*keys)
    )
