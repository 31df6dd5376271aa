"""One trial of stations that may change: what they can take grows less until it holds together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from .car_links import Chain
from .chain_trial import Present, narrow_chain
from .part_sets import EVERY, Brought, lowest
from .places import EndKey
from .rules_within import RulesWithin
from .supports import Facing, Pair, Seat, Supports
from .tracing import Failure, Losses, to_blame

if TYPE_CHECKING:
    from .trial import Opening, Trial

Taken = dict[str, int]
"""What each changing station takes, as a set of one part."""


class Among:
    """What meets what among stations that change: the same for all that is tried of one trial.

    `stations` are all of them, `changing` the same as a set. To find what no plan has
    (`bounding`) no rules are asked. `openings` are those that are known.
    """

    def __init__(
        self,
        trial: Trial,
        stations: Collection[str],
        *,
        bounding: bool = False,
        openings: dict[str, Opening] | None = None,
    ) -> None:
        self._trial, self.stations = trial, frozenset(stations)
        self.bounding = bounding
        self.changing = trial.mask(stations)
        self._openings: dict[str, Opening] = openings or {}
        self._seats: dict[str, list[tuple[Brought, bool]]] = {}
        self._rules: RulesWithin | None = None

    @cached_property
    def ruled(self) -> bool:
        """Whether a rule may matter."""
        return not self.bounding and self._trial.rules.concern(self.stations, self.changing)

    def opening(self, station: str) -> Opening:
        """What a station may take to begin with."""
        found = self._openings.get(station)
        if found is None:
            found = self._openings[station] = self._trial.opening(station, self.changing)
        return found

    def rules_of(self, run: Run) -> RulesWithin:
        """The rules that matter; of the first run, as none that is tried has more parts."""
        if self._rules is None:
            self._rules = self._trial.rules.within(run)
        return self._rules

    def seats(self, station: str) -> list[tuple[Brought, bool]]:
        """The places of a station that meet others which change, and whether it matters there
        which end it is of those of the same values."""
        found = self._seats.get(station)
        if found is None:
            strict, roles = self._trial.strict, dict[str, bool]()
            for joint, seats in self._meeting(station):
                for at, role in seats:
                    if at == station:
                        roles[role] = roles.get(role, False) or joint in strict
            sets = self._trial.sets
            found = self._seats[station] = [
                (sets.brought(station, role), by_end) for role, by_end in sorted(roles.items())
            ]
        return found

    def _meeting(self, station: str) -> Iterator[tuple[str, tuple[Seat, ...]]]:
        links, changing = self._trial.links, self.stations
        for pair in links.guarded[station]:
            yield pair.joint.iri, pair.seats
        for facing in links.facings_at[station]:
            if facing.far in changing or facing.pair.guard in changing:
                yield facing.pair.joint.iri, facing.pair.seats
        for chain in links.chains_at[station]:
            if sum(at in changing for at in chain.stations) > 1:
                yield chain.joint.iri, chain.seats


class Run:
    """One trial: what each changing station may still take, and who took the rest away.

    `parts[station]` is the set it may take, `lost` what was taken away last, `wall` the unchanged
    stations and the mistrusted joints because of which nothing works.
    """

    __slots__ = ("_touched", "_waiting", "among", "lost", "parts", "trial", "wall")

    def __init__(self, trial: Trial, parts: dict[str, int], among: Among) -> None:
        self.trial, self.parts, self.among = trial, parts, among
        self.lost: Losses = None
        self.wall = 0
        self._touched: dict[str, None] = {}
        self._waiting: dict[Chain, None] = {}

    def begin(self) -> bool:
        """Weigh everything once. False: nothing works."""
        for station, there in self.parts.items():
            if not there:
                return self.fail(station=station)
        self._touched.update(dict.fromkeys(self.parts))
        return self.settle()

    def spread(self) -> bool:
        """Weigh what was taken away from the beginning, and no more. False: nothing works."""
        for station, there in self.parts.items():
            if there != self.among.opening(station).offered:
                self._touched[station] = None
        return all(self.parts.values()) and self.settle()

    def goes(self, joints: Iterable[str]) -> bool:
        """Whether some joints rule out nothing of what is left."""
        links, before = self.trial.links, dict(self.parts)
        for joint in joints:
            for pair in links.pairs_of.get(joint, ()):
                if not (self._narrow(pair, 0) and self._narrow(pair, 1)):
                    return False
            chain = links.chain_of.get(joint)
            if chain is not None and not narrow_chain(self, chain):
                return False
        return self.parts == before

    def settle(self) -> bool:
        """Pass on what was taken away until nothing more goes. False: nothing works."""
        while True:
            while self._touched:
                station = next(iter(self._touched))
                del self._touched[station]
                if not self._pass_on(station):
                    return False
            if self._waiting:
                chain = next(iter(self._waiting))
                del self._waiting[chain]
                if not narrow_chain(self, chain):
                    return False
                continue
            if self.among.ruled and not self.among.rules_of(self).narrow(self):
                return False
            if not self._touched:
                return True

    def _pass_on(self, station: str) -> bool:
        """Take away at the others what goes with nothing that is left to a station."""
        parts, links = self.parts, self.trial.links
        for chain in links.chains_at[station]:
            self._waiting[chain] = None
        for pair in links.guarded[station]:
            if not (self._narrow(pair, 0) and self._narrow(pair, 1)):
                return False
        within = self.among.opening(station)
        for pair, place in within.guarded:
            if not self._narrow(pair, 1 - place):
                return False
        for facing, told, trust in within.facings:
            far, mine = facing.far, parts[station]
            goes = facing.kindly.get(mine)
            if goes is None:
                goes = facing.look(mine, strict=False)
            if parts[far] & ~goes and not self.keep(far, goes, facing=facing, told=told):
                return False
            if trust:
                goes, both = facing.look(mine, strict=True), told | trust
                if parts[far] & ~goes and not self.keep(far, goes, facing=facing, told=both):
                    return False
        return True

    def alike(self, station: str, part: int) -> int:
        """What a station may still take that does as one part does beside what else changes.

        What stays has been weighed already.
        """
        found = self.parts[station]
        for brought, by_end in self.among.seats(station):
            found &= brought.alike(part, by_end=by_end)
        return found & self.trial.sets.of_one_rule(station, part) if self.among.ruled else found

    def keep(
        self,
        station: str,
        parts: int,
        others: Sequence[str] = (),
        told: int = 0,
        facing: Facing | None = None,
    ) -> bool:
        """Take away from a station all that is not in a set. False: nothing works.

        For `others`, `told` and `facing` see `tracing.Losses`.
        """
        there = self.parts[station]
        left = there & parts
        if left != there:
            self.parts[station] = left
            self.lost = (self.lost, station, there ^ left, facing, others, told)
            if not left:
                return self.fail(station=station)
            self._touched[station] = None
        return True

    def fail(
        self, others: Sequence[str] = (), told: int = 0, *, station: str = "", parts: int = EVERY
    ) -> bool:
        """Nothing works: because a station has lost some parts, or of all that others have lost."""
        for at in (station, *others):
            if at in self.parts:
                self.trial.trouble[at] = self.trial.trouble.get(at, 0) + 1
        failed = Failure(station, parts, others, told)
        self.wall = to_blame(self.trial, self.among, self.lost, failed)
        return False

    @property
    def supports(self) -> Supports:
        """What goes with what."""
        return self.trial.supports

    def present(self, station: str) -> Present:
        """What a station may take, or the part that stays there."""
        there = self.parts.get(station)
        return self.trial.stands.get(station) if there is None else there

    def standing(self, station: str, role: str) -> EndKey:
        """What stands at a place whose station does not change."""
        return self.trial.key(station, role)

    def trust(self, joint: str) -> int:
        """Whom to blame where what nobody has proven does not fit at a joint; none where it may."""
        return self.trial.mistrust(joint)

    def told(self, joint: str) -> int:
        """Whom to blame for a joint itself."""
        return self.trial.told[joint]

    def _narrow(self, pair: Pair, target: int) -> bool:
        """Take away at a place what goes with nothing at the other."""
        if pair.guard:
            if not self._guard(pair):
                return False
            if not self._is_open(pair):
                return True
        station = pair.seats[target][0]
        if station not in self.parts:
            return True
        others = [pair.seats[1 - target][0]]
        if pair.guard:
            others.append(pair.guard)
        told = self.told(pair.joint.iri)
        if not self.keep(station, self._beside(pair, 1 - target, strict=False), others, told):
            return False
        trust = self.trust(pair.joint.iri)
        if not trust:
            return True
        beside = self._beside(pair, 1 - target, strict=True)
        return self.keep(station, beside, others, told | trust)

    def _is_open(self, pair: Pair) -> bool:
        """Whether nothing can stand between the places of a pair."""
        guard = pair.guard
        if guard not in self.parts:
            return self.trial.stands[guard] is None
        return self.parts[guard] == self.trial.sets.bit(guard, None)

    def _guard(self, pair: Pair) -> bool:
        """Something must stand between two places that cannot meet."""
        guard = pair.guard
        if guard not in self.parts:
            return True
        empty = self.trial.sets.bit(guard, None)
        if not self.parts[guard] & empty:
            return True
        others = [station for station, _ in pair.seats]
        told = self.told(pair.joint.iri)
        if not self._can_meet(pair, strict=False):
            return self.keep(guard, ~empty, others, told)
        trust = self.trust(pair.joint.iri)
        if trust and not self._can_meet(pair, strict=True):
            return self.keep(guard, ~empty, others, told | trust)
        return True

    def _can_meet(self, pair: Pair, *, strict: bool) -> bool:
        """Whether something that may be at one place goes with something at the other."""
        first, role = pair.seats[0]
        beside = self._beside(pair, 1, strict=strict)
        if first in self.parts:
            return bool(beside & self.parts[first])
        key = self.trial.key(first, role)
        brought = self.trial.sets.brought(first, role)
        sort = brought.sort_of.get(key)
        return sort is None or bool(beside & brought.ends[sort][key])

    def _beside(self, pair: Pair, place: int, *, strict: bool) -> int:
        """What goes at the other place with what may be at this one."""
        station = pair.seats[place][0]
        if station in self.parts:
            return self.trial.links.facing(pair, place).look(self.parts[station], strict=strict)
        return self.trial.beside(pair, place, strict=strict)

    # ------------------------------------------------------------------ trying parts

    def search(self) -> Taken | None:
        """One plan within what is left, that keeps parts where it can; None if there is none.

        Whatever a station was made to take is blamed like what stays, until everything else that it
        could take has failed too; and where it is not to blame, nothing else would help.
        """
        kept = self._keeping()
        if kept is not None:
            found = kept.search() if kept.settle() else None
            if found is not None:
                return found
            each = (self._made_to(s) for s, parts in kept.parts.items() if parts != self.parts[s])
            if not any(kept.wall & made for made in each):
                self.wall = kept.wall
                return None
        while True:
            trouble = self.trial.trouble
            open_ = [
                (parts.bit_count() / (1 + trouble.get(s, 0)), s)
                for s, parts in self.parts.items()
                if parts & parts - 1
            ]
            if not open_:
                return self.parts
            # Where little is left, or nothing was left before, it shows soonest what goes.
            _, station = min(open_)
            there = self.parts[station]
            part = there & self.trial.kept(station) or lowest(there)
            tried = self._taking({station: part})
            found = tried.search() if tried.settle() else None
            if found is not None:
                return found
            made = self._made_to(station)
            if not tried.wall & made:
                self.wall = tried.wall
                return None
            # What is like it in everything would fail just so.
            rest = there & ~self.alike(station, part)
            if not self.keep(station, rest, told=tried.wall & ~made) or not self.settle():
                return None

    def with_kept(self, stations: Iterable[str]) -> tuple[Run, bool]:
        """The same with some of the stations kept as they are, and whether something is left."""
        kept = {s: self.parts[s] & self.trial.kept(s) for s in stations}
        tried = self._taking({s: parts for s, parts in kept.items() if parts != self.parts[s]})
        for station, parts in kept.items():
            if not parts:
                lost, made = self.trial.kept(station), self._made_to(station)
                return tried, tried.fail(told=made, station=station, parts=lost)
        return tried, tried.settle()

    def _keeping(self) -> Run | None:
        """Where several stations can keep their part: the run in which all of them do."""
        can = {
            station: parts & self.trial.kept(station)
            for station, parts in self.parts.items()
            if parts & parts - 1 and parts & self.trial.kept(station)
        }
        return self._taking(can) if len(can) > 1 else None

    def _taking(self, taken: Mapping[str, int]) -> Run:
        tried = Run(self.trial, {**self.parts, **taken}, self.among)
        tried.lost = self.lost
        for station, parts in taken.items():
            away, made = self.parts[station] ^ parts, self._made_to(station)
            tried.lost = (tried.lost, station, away, None, (), made)
        tried._touched.update(dict.fromkeys(taken))
        return tried

    def _made_to(self, station: str) -> int:
        """Whom to blame where a station was made to take something."""
        return self.trial.at[station] << self.trial.width
