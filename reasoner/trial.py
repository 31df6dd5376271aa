"""May just these stations change? What one reading of a question allows on one car, tried out.

All other stations keep what they have. What each changing station may take is one set of parts;
every joint to what stays, and every joint between two that change, takes out of it what goes with
nothing; what is left is tried. If nothing is left, the stations that stood in the way are told: one
of them must change too.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Iterable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass
from functools import reduce
from operator import itemgetter, or_
from typing import NamedTuple

from .build import AsItStands
from .car_links import CarLinks
from .chain_trial import narrow_chain
from .interfaces.kind import Outcome
from .narrowing import Among, Run, Taken
from .offered import Offered
from .part_sets import bits_of
from .places import EndKey, end_key
from .reason import Because, ReasonKind
from .supports import Facing, Pair, Supports
from .tracing import Failure, Losses, to_blame
from .trial_rules import ALL_RULES, CarRules, Named

BOUND_AFTER = 20
"""After so many trials it pays to know what no plan has; with fewer it costs more than it saves."""


@dataclass(frozen=True, slots=True)
class Wall:
    """Nothing works while these stations all stay as they are, and these joints are mistrusted.

    `plain` says that it shows without trying parts out.
    """

    stations: int
    plain: bool


class Opening(NamedTuple):
    """What a station may take to begin with.

    Of what is `offered` there, `left` goes with all around it that does not change: `beside` is
    what goes with each of these, and who it is. `facings` are the pairs it makes with others that
    change, each with whom to blame for it, and for what is unproven there; `guarded` those, with
    its place in them, of which it depends on a go-between whether they meet.
    """

    offered: int
    left: int
    beside: tuple[tuple[int, int], ...]
    facings: tuple[tuple[Facing, int, int], ...]
    guarded: tuple[tuple[Pair, int], ...]


class _Meet(NamedTuple):
    """A pair seen from a station: who is at the other place and who stands between, if anybody may
    (`guard`), as sets; and whom to blame: who is `told` for the joint, and for what is unproven."""

    facing: Facing
    far: int
    guard: str
    between: int
    told: int
    trust: int


class _Meets(NamedTuple):
    """What a station meets, and the stations `around` it, as a set; with what it may take to begin
    with by which of these change."""

    around: int
    each: tuple[_Meet, ...]
    openings: dict[int, Opening]


class Trial:
    """One reading of a question about a car.

    `forced` are stations with what is fitted there, `held` those that may not change. None of
    `refused` is newly fitted. Of the rules of parts all count, or those that are `named`. In the
    joints of `strict`, of which there are none at first (see `stricter`), what nobody has proven
    does not fit. The reasons are among whom to blame (see `because`), those of joints also
    `told[joint]`.
    `car` is what is there with nothing fitted.
    `stands[station]` is what is there as long as the station does not change; `at[station]` the
    station as a set of one, none if it may not change.
    """

    def __init__(
        self,
        supports: Supports,
        car: AsItStands,
        links: CarLinks,
        offered: Offered,
        *,
        forced: Mapping[str, str],
        held: Collection[str] = (),
        refused: Container[str] = (),
        named: Named = ALL_RULES,
    ) -> None:
        self.supports, self.sets = supports, supports.sets
        build = self.build = car.build
        self.links = links
        self.strict: frozenset[str] = frozenset()
        self._offered, self._refused = offered, refused
        self.stands: dict[str, str | None] = {**build.fits, **forced}
        self.forced = dict(forced)
        self._amiss = car.amiss.union(*(links.joints_at.get(s, ()) for s in forced))
        self._catalogue = supports.mating.catalogue
        stations = self._catalogue.stations
        free = (s for s in build.fits if s not in forced and s not in held)
        self.movable = tuple(s for s in free if not stations[s].fixed)
        self.at = dict.fromkeys(build.fits, 0)
        self.at.update((station, 1 << n) for n, station in enumerate(self.movable))
        count = len(self.movable)
        self.every = (1 << count) - 1
        self.trust = {joint: 1 << count + n for n, joint in enumerate(links.joints)}
        self.width = count + len(links.joints)
        self.trusting = (1 << self.width) - 1 & ~self.every
        # Beyond the width are those made to take something: see `Run.search`.
        self.because = Because(self.width + count)
        self.told = {joint: self.because.of(ReasonKind.JOINT, joint) for joint in links.joints}
        self._keys: dict[tuple[str, str], EndKey] = {}
        self._kept: dict[str, int] = {}
        self._meets: dict[str, _Meets] = {}
        # Nothing here holds the trial itself, so that it goes when nobody asks it any more.
        self._asks_less: Trial | None = None
        self._within, self._tried = dict[str, int](), 0
        self._spread: tuple[dict[str, Opening], Losses, int] | None = None
        self._in_no_plan: dict[str, int] = {}
        self._beside: dict[tuple[str, str, int, bool], int] = {}
        self._stood: dict[tuple[str, str], Outcome] = {}
        self.trouble: dict[str, int] = {}
        """How often nothing was left to a station."""
        self.rules = CarRules(self, named)

    def stricter(self, joints: Collection[str]) -> Trial:
        """The same where what nobody has proven does not fit at these joints."""
        found = copy(self)
        found.strict, found._asks_less = frozenset(joints), self._kindly
        # At a station that no such joint pairs with another, all is as it is without them.
        pairs = (pair for joint in joints for pair in self.links.pairs_of.get(joint, ()))
        touched = {station for pair in pairs for station, _ in pair.seats}
        found._meets = {s: met for s, met in self._meets.items() if s not in touched}
        return found

    @property
    def _kindly(self) -> Trial:
        """The same where nothing is mistrusted."""
        return self._asks_less or self

    def is_of(self, wall: int) -> bool:
        """Whether a wall stands in this reading: it rests on the mistrust of no other joint."""
        trusted = wall & self.trusting
        for joint in self.strict:
            trusted &= ~self.trust[joint]
        return not trusted

    def mistrust(self, joint: str) -> int:
        """Whom to blame where what nobody has proven does not fit at a joint; none where it may."""
        return self.trust[joint] if joint in self.strict else 0

    # ------------------------------------------------------------------ what stands where

    def key(self, station: str, role: str) -> EndKey:
        """What stands at a place as long as the station does not change."""
        found = self._keys.get((station, role))
        if found is None:
            iri = self.stands.get(station)
            part = self._catalogue.parts[iri] if iri else None
            found = self._keys[station, role] = end_key(part, role)
        return found

    def kept(self, station: str) -> int:
        """The part of the build, as a set."""
        found = self._kept.get(station)
        if found is None:
            found = self._kept[station] = self.sets.bit(station, self.build.fits[station])
        return found

    def offered(self, station: str) -> int:
        """What may be newly fitted to a station, bans aside."""
        return self._offered.at(station)

    def may_take(self, station: str) -> int:
        """What a station may keep or take at all."""
        found = self._within.get(station)
        return self.offered(station) | self.kept(station) if found is None else found

    def without_refused(self, station: str, parts: int) -> int:
        """The set without what the customer will not have."""
        if not self._refused:
            return parts
        kept, sitting = self.kept(station), self.supports.mating.places.sitting(station)
        for number in bits_of(parts & ~kept & (self.sets.bit(station, None) - 1)):
            if sitting[number] in self._refused:
                parts ^= 1 << number
        return parts

    def mask(self, stations: Iterable[str]) -> int:
        """Stations as a set, of those that may change."""
        return reduce(or_, (self.at.get(s, 0) for s in stations), 0)

    def named(self, stations: int) -> frozenset[str]:
        """The stations of a set."""
        return frozenset(self.listed(stations))

    def listed(self, stations: int) -> list[str]:
        """The stations of a set, in order."""
        return [self.movable[n] for n in bits_of(stations)]

    def changed(self, taken: Taken) -> int:
        """The stations that do not keep their part."""
        return self.mask(s for s, part in taken.items() if part != self.kept(s))

    # ------------------------------------------------------------------ as it stands

    def walls(self) -> list[int]:
        """What is wrong with the car with nothing changed: of each set one station must."""
        return [*self.walls_at(self.links.joints), *self.rules.walls()]

    def walls_at(self, joints: Iterable[str]) -> list[int]:
        """The same of some joints alone."""
        found = []
        for joint in joints:
            if joint not in self._amiss:
                continue
            for pair in self.links.pairs_of.get(joint, ()):
                trust = self._apart(pair) if self._is_met(pair) else None
                if trust is not None:
                    stations = [station for station, _ in pair.seats]
                    told = trust | self.told[joint]
                    found.append(self.mask([*stations, pair.guard]) | told)
            chain = self.links.chain_of.get(joint)
            if chain is not None:
                still = Run(self, {}, Among(self, ()))
                if not narrow_chain(still, chain):
                    found.append(self.mask(chain.stations) | still.wall & ~self.every)
        return found

    def _is_met(self, pair: Pair) -> bool:
        if pair.guard:
            return self.stands[pair.guard] is None
        return True

    def _apart(self, pair: Pair) -> int | None:
        """Which mistrust, if any, keeps apart what stands at a pair; None if it goes together."""
        outcome = self._stood.get(pair.at)
        if outcome is None:
            near, far = (self.key(*seat) for seat in pair.seats)
            outcome = self._stood[pair.at] = self.supports.outcome(pair, near, far)
        if outcome is Outcome.UNPROVEN:
            return self.trust[pair.joint.iri] if pair.joint.iri in self.strict else None
        return None if outcome is Outcome.MATES else 0

    def beside(self, pair: Pair, place: int, *, strict: bool) -> int:
        """What goes at the other place with what stands at this one."""
        at = (*pair.at, place, strict)
        found = self._beside.get(at)
        if found is None:
            key = self.key(*pair.seats[place])
            if strict:
                found = self.supports.strictly(pair, place, key)
            else:
                found = self.supports.kindly(pair, place, key)
            self._beside[at] = found
        return found

    def opening(self, station: str, changing: int) -> Opening:
        """What a station may take beside the stations around it that do not change."""
        met = self._meets.get(station) or self._meets_of(station)
        at = changing & met.around
        found = met.openings.get(at)
        if found is None:
            found = met.openings[at] = self._opened(station, changing, met.each)
        return found

    def _opened(self, station: str, changing: int, meets: Iterable[_Meet]) -> Opening:
        left = offered = self.may_take(station)
        beside: list[tuple[int, int]] = []
        facings: list[tuple[Facing, int, int]] = []
        guarded: list[tuple[Pair, int]] = []
        for facing, far, guard, between, told, trust in meets:
            if guard and changing & (far | between):
                guarded.append((facing.pair, facing.place))
            elif changing & far:
                facings.append((facing, told, trust))
            elif not guard or self.stands[guard] is None:
                each = [(told, False), (told | trust, True)] if trust else [(told, False)]
                for blamed, strict in each:
                    goes = self.beside(facing.pair, 1 - facing.place, strict=strict)
                    beside.append((goes, far | between | blamed))
                    left &= goes
        beside.sort(key=itemgetter(1))
        left = self.without_refused(station, left)
        return Opening(offered, left, tuple(beside), tuple(facings), tuple(guarded))

    def _meets_of(self, station: str) -> _Meets:
        meets = []
        for facing in self.links.facings_at[station]:
            joint, guard = facing.pair.joint.iri, facing.pair.guard
            between, trust = self.at.get(guard, 0), self.mistrust(joint)
            told = self.told[joint]
            meets.append(_Meet(facing, self.at[facing.far], guard, between, told, trust))
        around = self.mask(self.links.beside(station))
        found = self._meets[station] = _Meets(around, tuple(meets), {})
        return found

    # ------------------------------------------------------------------ trying

    def solve(self, stations: int, only: Mapping[str, int] | None = None) -> Taken | Wall:
        """What the stations may take, one plan of many, or what stood in their way.

        `only` narrows what some of them may take.
        """
        run, begun = self._begun(stations, only or {})
        if not begun:
            return Wall(run.wall, plain=True)
        found = run.search()
        return Wall(run.wall, plain=False) if found is None else found

    def narrowed(self, stations: int) -> Run | Wall:
        """What the stations may take as far as it shows without trying parts out."""
        run, begun = self._begun(stations, {})
        return run if begun else Wall(run.wall, plain=True)

    def narrowed_to(self, stations: int, wider: Run) -> Run | Wall:
        """As `narrowed`, where what more stations may take is known."""
        held = wider.among.changing & ~stations
        run, begun = wider.with_kept(self.listed(held))
        if begun:
            return run
        made = run.wall & self.every << self.width
        return Wall(run.wall ^ made | made >> self.width, plain=True)

    def _begun(self, stations: int, only: Mapping[str, int]) -> tuple[Run, bool]:
        self._tried += 1
        if self._tried == BOUND_AFTER:
            self._bound()
        listed = self.listed(stations)
        among = Among(self, listed)
        parts = {station: among.opening(station).left for station in listed}
        for station, there in only.items():
            parts[station] &= there
        run = Run(self, parts, among)
        return run, run.begin()

    def _bound(self) -> None:
        """Leave out what no plan has that mistrusts nothing, as far as that soon shows.

        Where nothing more is known, whole assemblies of what goes together, but with nothing that
        stays on the car, are tried again and again.
        """
        kindly = self._kindly
        if not self._within:
            among = Among(kindly, kindly.movable, bounding=True)
            opened = {station: among.opening(station).left for station in kindly.movable}
            run = Run(kindly, opened, among)
            self._within.update(run.parts if run.spread() else dict.fromkeys(opened, 0))
            openings = {station: among.opening(station) for station in opened}
            kindly._spread = openings, run.lost, run.wall
        self._meets = {}

    def why_in_no_plan(self, station: str, wanted: int) -> int:
        """The reasons why no plan has parts that were left out for that: see `_bound`."""
        kindly, within = self._kindly, self._within.get(station)
        if self.strict or kindly._spread is None or within is None:
            return 0
        away = (self.offered(station) | self.kept(station)) & ~within
        if not wanted & away:
            return 0
        found = kindly._in_no_plan.get(station)
        if found is None:
            openings, lost, wall = kindly._spread
            among = Among(kindly, kindly.movable, bounding=True, openings=openings)
            found = to_blame(kindly, among, lost, Failure(station, away, (), wall))
            kindly._in_no_plan[station] = found
        return found

    def holds(self, taken: Taken) -> bool:
        """Whether a plan of a reading that asks less is one of this."""
        run = Run(self, dict(taken), Among(self, taken))
        joints = {
            *(facing.pair.joint.iri for s in taken for facing in self.links.facings_at[s]),
            *(chain.joint.iri for s in taken for chain in self.links.chains_at[s]),
        }
        return run.goes(joints & self.strict)

    def is_doubtful(self, pair: Pair, there: Mapping[str, int]) -> bool:
        """Whether what may be `there` (else what stands there) may meet unproven at a pair."""
        (first, role), (second, other) = pair.seats
        near = there.get(second)
        for key in self.keys_of(first, role, there):
            if near is None:
                ends: Iterable[EndKey] = (self.key(second, other),)
            else:
                ends = self.supports.doubts(pair, 0, key, near)
            if any(self.supports.outcome(pair, key, end) is Outcome.UNPROVEN for end in ends):
                return True
        return False

    def keys_of(self, station: str, role: str, there: Mapping[str, int]) -> Iterator[EndKey]:
        """What may come to a place."""
        if station not in there:
            yield self.key(station, role)
            return
        brought = self.sets.brought(station, role)
        for sort in brought.sorts_in(there[station]):
            for key, parts in brought.ends[sort].items():
                if parts & there[station]:
                    yield key
