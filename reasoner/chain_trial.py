"""What a chain of joints leaves of the parts that may stand in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import product
from math import prod
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeAlias

from .car_links import Chain
from .interfaces.kind import Outcome
from .part_sets import EVERY
from .places import EndKey
from .remembering import remember
from .supports import SILENT, Reach, Supports

if TYPE_CHECKING:
    from .trial import Trial

MOST_TRIED = 24
"""So many combinations of sorts of ends are weighed at a time; with more, each end must only be
able to reach. Sooner or later all but one station have one part, and the rest is weighed."""

_MOST_DOUBTED = 400

_MOST_KNOWN = 500
"""So much of a kind is remembered of each chain."""

_NOT_KNOWN: dict[str, int] = {}

Present: TypeAlias = "int | str | None"
"""The parts that may be at a station that changes; the part that is at one that does not."""


class Choice(NamedTuple):
    """An end, or one for all of its `sort`, with all parts that bring it and how far it `reaches`.

    `is_tried` says that somebody may have put something of the sort together against its values.
    `reaches` is None where the kind of the joint knows no spans.
    """

    key: EndKey
    parts: int
    sort: int
    is_tried: bool
    reaches: Reach | None


class ChainSeat:
    """What may be at one place of a chain, and from where to where it reaches.

    `least` and `most` are how far any of it reaches, `greatest_low` and `smallest_high` how far all
    of it does, `grace` what may be missing for ends to go together.
    """

    __slots__ = (
        "_saying", "choices", "grace", "greatest_low", "least", "most", "smallest_high",
    )  # fmt: skip

    def __init__(self, choices: Sequence[Choice]) -> None:
        self.choices = choices
        self.least = self.most = self.greatest_low = self.smallest_high = self.grace = Decimal(0)
        self._saying: ChainSeat | None = None
        reaches = [choice.reaches for choice in choices if choice.reaches is not None]
        if reaches:
            spans, graces = zip(*reaches, strict=True)
            lows, highs = zip(*spans, strict=True)
            self.least, self.greatest_low = min(lows), max(lows)
            self.smallest_high, self.most = min(highs), max(highs)
            self.grace = max(graces)

    def saying(self) -> ChainSeat:
        """The same place without ends that say nothing."""
        if self._saying is None:
            told = [choice for choice in self.choices if choice.is_tried or not _is_silent(choice)]
            is_all = len(told) == len(self.choices)
            self._saying = self if is_all else ChainSeat(told)
        return self._saying


def _is_silent(choice: Choice) -> bool:
    return choice.reaches is not None and choice.reaches.span is SILENT


class Known:
    """What was found of one chain so far, whatever was asked.

    `seats` and what left the works (`rows`) by place and what is there, `narrowed` by reading and
    what is at its stations: a set of parts where one changes, else the part that stays. `sorts` are
    the ends of each place, `weighed` what comes of sorts that meet.
    """

    def __init__(self, places: int) -> None:
        self.seats: dict[tuple[int, Present], ChainSeat] = {}
        self.narrowed: dict[tuple[Present, ...], dict[str, int] | None] = {}
        self.rows: dict[tuple[int, Present], int] = {}
        self.sorts: list[dict[int, Choice]] = [{} for _ in range(places)]
        self.weighed: dict[tuple[int, ...], Outcome] = {}


class Running(Protocol):
    """A trial that a chain may take parts away from."""

    @property
    def parts(self) -> dict[str, int]:
        """What each changing station may take."""

    @property
    def supports(self) -> Supports:
        """What goes with what."""

    def present(self, station: str) -> Present:
        """What a station may take, or the part that stays there."""

    def standing(self, station: str, role: str) -> EndKey:
        """What stands at a place whose station does not change."""

    def trust(self, joint: str) -> int:
        """Whom to blame where what nobody has proven does not fit at a joint; none where it may."""

    def told(self, joint: str) -> int:
        """Whom to blame for a joint itself."""

    def keep(self, station: str, parts: int, others: Sequence[str] = (), told: int = 0) -> bool:
        """Take away from a station all that is not in a set, because of all that others have lost
        and of who is `told`. False: nothing works."""

    def fail(self, others: Sequence[str] = (), told: int = 0) -> bool:
        """Nothing works, because of the same."""


def narrow_chain(run: Running, chain: Chain) -> bool:
    """Take away what can stand in no plan because of a chain. False: nothing works."""
    told, trust = run.told(chain.joint.iri), run.trust(chain.joint.iri)
    if not _take_away(run, chain, told, strict=False):
        return False
    return not trust or _take_away(run, chain, told | trust, strict=True)


def _take_away(run: Running, chain: Chain, told: int, *, strict: bool) -> bool:
    """The same for what clashes, or for what is unproven too; `told` is whom to blame."""
    goes = what_goes(run, chain, strict=strict)
    if goes is None:
        return run.fail(chain.stations, told)
    return all(
        not run.parts[station] & ~parts
        or run.keep(station, parts, [s for s in chain.stations if s != station], told)
        for station, parts in goes.items()
    )


def what_goes(
    run: Running, chain: Chain, *, strict: bool, most: int = MOST_TRIED
) -> dict[str, int] | None:
    """Per changing station what may go, with up to so many combinations weighed; None if nothing
    does."""
    known = _known(run, chain).narrowed
    at = (strict, most, *map(run.present, chain.stations))
    goes = known.get(at, _NOT_KNOWN)
    if goes is _NOT_KNOWN:
        goes = _narrowed(run, chain, strict=strict, most=most)
        remember(known, at, goes, _MOST_KNOWN)
    return goes


def _narrowed(run: Running, chain: Chain, *, strict: bool, most: int) -> dict[str, int] | None:
    seats = [_seat(run, chain, number) for number in range(len(chain.seats))]
    goes = {station: 0 for station in chain.stations if station in run.parts}
    any_goes = strict and _take_from_works(run, chain, goes)
    choices = _reaching([seat.saying() for seat in seats] if strict else seats)
    sizes = [len(at) for at in choices]
    if prod(sizes) <= max(most, *sizes):
        any_goes = _weigh(run, chain, choices, goes, strict=strict) or any_goes
        return goes if any_goes else None
    for (station, _), at, seat in zip(chain.seats, choices, seats, strict=True):
        if station in goes:
            goes[station] |= EVERY if at is seat.choices else sum(choice.parts for choice in at)
    return goes


def _take_from_works(run: Running, chain: Chain, goes: dict[str, int]) -> bool:
    """Add what is proven to go because it left the works together; whether anything is."""
    works, known, any_goes = run.supports.works_of(chain.joint), _known(run, chain).rows, False
    rows, there = EVERY, list[EndKey | int]()
    for number, (station, role) in enumerate(chain.seats):
        present = run.present(station)
        at = present if isinstance(present, int) else run.standing(station, role)
        there.append(at)
        found = known.get((number, present))
        if found is None:
            found = works.with_there(number, at)
            remember(known, (number, present), found, _MOST_KNOWN)
        rows &= found
    for parts in works.proven(rows, there):
        any_goes = _add(run, chain, parts, goes) or any_goes
    return any_goes


def _add(run: Running, chain: Chain, parts: Sequence[int], goes: dict[str, int]) -> bool:
    """Add parts that go together, place by place; whether that can be, station by station."""
    there: dict[str, int] = {}
    for (station, _), at in zip(chain.seats, parts, strict=True):
        there[station] = there.get(station, run.parts.get(station, EVERY)) & at
    if not all(there.values()):
        return False
    for station in goes:
        goes[station] |= there[station]
    return True


def _known(run: Running, chain: Chain) -> Known:
    known = run.supports.chains.get(chain.joint.iri)
    if not isinstance(known, Known):
        known = run.supports.chains[chain.joint.iri] = Known(len(chain.seats))
    return known


def _seat(run: Running, chain: Chain, number: int) -> ChainSeat:
    """What may be at a place of a chain, and how far it reaches."""
    station, role = chain.seats[number]
    known, there = _known(run, chain), run.present(station)
    found = known.seats.get((number, there))
    if found is None:
        if isinstance(there, int):
            found = ChainSeat(_choices(run, chain, number, there))
        else:
            key = run.standing(station, role)
            is_tried = run.supports.mating.is_tried(key)
            found = ChainSeat([_choice(run, chain, number, key, EVERY, is_tried=is_tried)])
        remember(known.seats, (number, there), found, _MOST_KNOWN)
    return found


def _choices(run: Running, chain: Chain, number: int, there: int) -> list[Choice]:
    """What comes to a place with some parts, sort by sort."""
    brought, known = run.supports.sets.brought(*chain.seats[number]), _known(run, chain)
    of_place, found = known.sorts[number], []
    for sort in brought.sorts_in(there):
        choice = of_place.get(sort)
        if choice is None:
            key, parts = brought.keys[sort], brought.parts[sort]
            is_tried = sort in brought.tried_sorts
            choice = _choice(run, chain, number, key, parts, is_tried=is_tried)
            of_place[sort] = choice
        found.append(choice)
    return found


def _choice(
    run: Running, chain: Chain, number: int, key: EndKey, parts: int, *, is_tried: bool
) -> Choice:
    supports = run.supports
    sort = supports.sort(*chain.seats[number], key)
    reach = supports.reach(chain.joint, chain.joint.members[number], key)
    return Choice(key, parts, sort, is_tried, reach)


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
    known = _known(run, chain).weighed
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
                any_goes = _add(run, chain, parts, goes) or any_goes
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
        there = run.parts[station]
        ends = run.supports.sets.brought(station, role).ends[choice.sort]
        each.append(
            [
                choice._replace(key=end, parts=there & parts)
                for end, parts in ends.items()
                if there & parts
            ]
        )
    yield from product(*each)


def _goes(run: Running, chain: Chain, choices: Sequence[Choice], *, strict: bool) -> bool:
    keys = tuple(choice.key for choice in choices)
    outcome = run.supports.mating.outcome(chain.joint, keys, "", run.supports.floor)
    if outcome is Outcome.UNPROVEN:
        return not strict
    return outcome is Outcome.MATES


def _reaching(seats: Sequence[ChainSeat]) -> list[Sequence[Choice]]:
    """Without what reaches nobody, whatever the others are."""
    grace = max(seat.grace for seat in seats)
    found: list[Sequence[Choice]] = []
    for n, seat in enumerate(seats):
        others = [*seats[:n], *seats[n + 1 :]]
        low = sum((other.least for other in others), -grace)
        high = sum((other.most for other in others), grace)
        if seat.greatest_low + low <= 0 <= seat.smallest_high + high:
            found.append(seat.choices)
        else:
            found.append([choice for choice in seat.choices if _reaches(choice, low, high)])
    return found


def _reaches(choice: Choice, low: Decimal, high: Decimal) -> bool:
    if choice.reaches is None:
        return True
    lowest, highest = choice.reaches.span
    return lowest + low <= 0 <= highest + high


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
