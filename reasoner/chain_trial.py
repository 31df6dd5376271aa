"""What a chain of joints leaves of the parts that may stand in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import reduce
from itertools import product
from math import prod
from operator import and_
from typing import TYPE_CHECKING, Protocol

from .car_links import Chain
from .interfaces.kind import Outcome
from .part_sets import EVERY
from .places import EndKey
from .supports import SILENT, Reach, Supports
from .works_rows import WorksRows

if TYPE_CHECKING:
    from .trial import Trial

_MOST_TRIED = 24
"""So many combinations of sorts of ends are weighed at a time; with more, each end must only be
able to reach. Sooner or later all but one station have one part, and the rest is weighed."""

_MOST_DOUBTED = 400


@dataclass(frozen=True, slots=True)
class Choice:
    """An end, or one for all of its `sort`, with the parts that bring it.

    `is_tried` says that somebody may have put something of the sort together against its values.
    """

    key: EndKey
    parts: int
    sort: int
    is_tried: bool


class ChainSeat:
    """What may be at one place of a chain, and from where to where it reaches; None: no telling.

    `there` is what may be at its station, or the end that stays. `least` and `most` are how far any
    of it reaches, `greatest_low` and `smallest_high` how far all of it does, `grace` what may be
    missing for ends to go together.
    """

    __slots__ = (
        "_rows", "_saying", "choices", "grace", "greatest_low", "least", "most", "smallest_high",
        "spans", "there",
    )  # fmt: skip

    def __init__(self, choices: Sequence[Choice], spans: Reach | None, there: EndKey | int) -> None:
        self.choices, self.spans, self.there = choices, None, there
        self.least = self.most = self.greatest_low = self.smallest_high = self.grace = Decimal(0)
        self._rows: int | None = None
        self._saying: ChainSeat | None = None
        if spans is None:
            return
        self.spans, self.grace = spans.spans, spans.grace
        if choices:
            lows, highs = zip(*spans.spans, strict=True)
            self.least, self.greatest_low = min(lows), max(lows)
            self.smallest_high, self.most = min(highs), max(highs)

    def rows(self, works: WorksRows, number: int) -> int:
        """Those that left the works with what may be there."""
        if self._rows is None:
            self._rows = works.with_there(number, self.there)
        return self._rows

    def saying(self) -> ChainSeat:
        """The same place without ends that say nothing."""
        if self._saying is None:
            self._saying = self
            both = list(zip(self.choices, self.spans or (), strict=self.spans is not None))
            told = [one for one in both if one[1] is not SILENT or one[0].is_tried]
            if len(told) < len(both):
                reach = Reach([span for _, span in told], self.grace)
                self._saying = ChainSeat([choice for choice, _ in told], reach, self.there)
        return self._saying


class Running(Protocol):
    """A trial that a chain may take parts away from."""

    @property
    def parts(self) -> dict[str, int]:
        """What each changing station may take."""

    @property
    def weighed(self) -> dict[tuple[object, ...], dict[str, int] | None]:
        """What was found of chains so far: by chain, reading, and what its stations may take."""

    @property
    def seats(self) -> dict[tuple[Chain, int, int | None], ChainSeat]:
        """What was found of the places of chains so far: by what the station may take."""

    @property
    def supports(self) -> Supports:
        """What goes with what."""

    def standing(self, station: str, role: str) -> EndKey:
        """What stands at a place whose station does not change."""

    def trust(self, joint: str) -> int:
        """Whom to blame where what nobody has proven does not fit at a joint; none where it may."""

    def keep(self, station: str, parts: int, others: Sequence[str] = (), told: int = 0) -> bool:
        """Take away from a station all that is not in a set, because of all that others have lost
        and of who is `told`. False: nothing works."""

    def fail(self, others: Sequence[str] = (), told: int = 0) -> bool:
        """Nothing works, because of the same."""


def narrow_chain(run: Running, chain: Chain) -> bool:
    """Take away what can stand in no plan because of a chain. False: nothing works."""
    if not _take_away(run, chain, 0):
        return False
    trust = run.trust(chain.joint.iri)
    return not trust or _take_away(run, chain, trust)


def _take_away(run: Running, chain: Chain, trust: int) -> bool:
    """The same for what clashes, or, with somebody to blame for it, for what is unproven too."""
    at = (chain, bool(trust), *map(run.parts.get, chain.stations))
    if at in run.weighed:
        goes = run.weighed[at]
    else:
        goes = run.weighed[at] = _narrowed(run, chain, strict=bool(trust))
    if goes is None:
        return run.fail(chain.stations, trust)
    return all(
        not run.parts[station] & ~parts
        or run.keep(station, parts, [s for s in chain.stations if s != station], trust)
        for station, parts in goes.items()
    )


def _narrowed(run: Running, chain: Chain, *, strict: bool) -> dict[str, int] | None:
    """Per changing station what may go; None if nothing does."""
    seats = [_seat(run, chain, number) for number in range(len(chain.seats))]
    goes = {station: 0 for station in chain.stations if station in run.parts}
    any_goes = strict and _take_from_works(run, chain, seats, goes)
    choices = _reaching([seat.saying() for seat in seats] if strict else seats)
    sizes = [len(at) for at in choices]
    if prod(sizes) <= max(_MOST_TRIED, *sizes):
        any_goes = _weigh(run, chain, choices, goes, strict=strict) or any_goes
        return goes if any_goes else None
    for (station, _), at in zip(chain.seats, choices, strict=True):
        if station in goes:
            goes[station] |= sum(choice.parts for choice in at)
    return goes


def _take_from_works(
    run: Running, chain: Chain, seats: Sequence[ChainSeat], goes: dict[str, int]
) -> bool:
    """Add what is proven to go because it left the works together; whether anything is."""
    works, any_goes = run.supports.works_of(chain.joint), False
    rows = reduce(and_, (seat.rows(works, number) for number, seat in enumerate(seats)))
    for parts in works.proven(rows, [seat.there for seat in seats]):
        any_goes = _add(chain, parts, goes) or any_goes
    return any_goes


def _add(chain: Chain, parts: Sequence[int], goes: dict[str, int]) -> bool:
    """Add parts that go together, place by place; whether that can be, station by station."""
    there: dict[str, int] = {}
    for (station, _), at in zip(chain.seats, parts, strict=True):
        there[station] = there.get(station, EVERY) & at
    if not all(there.values()):
        return False
    for station in goes:
        goes[station] |= there[station]
    return True


def _seat(run: Running, chain: Chain, number: int) -> ChainSeat:
    """What may be at a place of a chain, and how far it reaches."""
    station, role = chain.seats[number]
    there = run.parts.get(station)
    found = run.seats.get((chain, number, there))
    if found is None:
        choices = _choices(run, station, role)
        member = chain.joint.members[number]
        spans = run.supports.spans(chain.joint, member, [choice.key for choice in choices])
        found = ChainSeat(choices, spans, choices[0].key if there is None else there)
        run.seats[chain, number, there] = found
    return found


def _choices(run: Running, station: str, role: str) -> list[Choice]:
    supports = run.supports
    brought = supports.sets.brought(station, role)
    if station not in run.parts:
        key = run.standing(station, role)
        is_tried = supports.mating.is_tried(key)
        return [Choice(key, EVERY, supports.sort(station, role, key), is_tried)]
    there = run.parts[station]
    return [
        Choice(brought.keys[sort], there & brought.parts[sort], sort, sort in brought.tried_sorts)
        for sort in brought.sorts_in(there)
    ]


def _weigh(
    run: Running,
    chain: Chain,
    choices: Sequence[Sequence[Choice]],
    goes: dict[str, int],
    *,
    strict: bool,
) -> bool:
    """Add per changing station what is in some combination that goes; whether any does."""
    any_goes = False
    mating, floor = run.supports.mating, run.supports.floor
    known = run.supports.weighed_of(chain.joint.iri)
    for combination in product(*choices):
        sorts = tuple([choice.sort for choice in combination])
        said = known.get(sorts)
        if said is None:
            keys = tuple(choice.key for choice in combination)
            said = known[sorts] = mating.values.outcome(chain.joint, keys, "", floor)
        is_tried = any(choice.is_tried for choice in combination)
        is_apart = said is Outcome.CLASHES or (strict and said is Outcome.UNPROVEN)
        if is_apart and not is_tried:
            continue
        for of_ends in _end_by_end(run, chain, combination) if is_apart else (combination,):
            if not is_tried or _goes(run, chain, of_ends, strict=strict):
                parts = [choice.parts for choice in of_ends]
                any_goes = _add(chain, parts, goes) or any_goes
    return any_goes


def _end_by_end(
    run: Running, chain: Chain, combination: Sequence[Choice]
) -> Iterator[tuple[Choice, ...]]:
    """A combination of sorts, told apart where somebody tried just some of their ends."""
    each = []
    for (station, role), choice in zip(chain.seats, combination, strict=True):
        if station not in run.parts:
            each.append([choice])
            continue
        ends = run.supports.sets.brought(station, role).ends[choice.sort]
        told = (
            replace(choice, key=end, parts=choice.parts & of_end) for end, of_end in ends.items()
        )
        each.append([one for one in told if one.parts])
    yield from product(*each)


def _goes(run: Running, chain: Chain, choices: Sequence[Choice], *, strict: bool) -> bool:
    keys = tuple(choice.key for choice in choices)
    outcome = run.supports.mating.outcome(chain.joint, keys, "", run.supports.floor)
    if outcome is Outcome.UNPROVEN:
        return not strict
    return outcome is Outcome.MATES


def _reaching(seats: Sequence[ChainSeat]) -> list[Sequence[Choice]]:
    """Without what reaches nobody, whatever the others are."""
    if any(seat.spans is None for seat in seats):
        return [seat.choices for seat in seats]
    grace = max(seat.grace for seat in seats)
    found: list[Sequence[Choice]] = []
    for n, seat in enumerate(seats):
        others = [*seats[:n], *seats[n + 1 :]]
        low = sum((other.least for other in others), -grace)
        high = sum((other.most for other in others), grace)
        if seat.greatest_low + low <= 0 <= seat.smallest_high + high:
            found.append(seat.choices)
            continue
        found.append(
            [
                choice
                for choice, (lowest, highest) in zip(seat.choices, seat.spans or (), strict=True)
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
