"""Which parts of a large catalogue come in question for one change to one car.

The car stands as it is, with what is fitted put on. A station may give up its part for one of its
own choice or for *some other*, of which nothing is known yet and to which nothing objects. A solver
looks for workable plans that change no more than they must. Where a plan says *some other*, the
parts are looked up that go with what stands beside it (the neighbour with the fewest partners is
asked), and the solver looks again. So only parts that a workable plan of fewest changes could take
are ever looked at, and when no plan is left that takes some other part, none is missing: the
verdicts, ways and options are those of the whole catalogue. Tests hold them against it.

Everything a plan must obey is found out lazily too: a plan that breaks a joint or a rule teaches
the solver that one thing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from .build import meetings
from .catalogue import Joint, Standing
from .interfaces.kind import Outcome
from .partners import Partners
from .places import FEW, NO_END, EndKey
from .scout_board import SOME_OTHER, Board, Plan

MOST_WAYS = 64
"""Beyond so many ways of one reading, only those are looked for that change yet other stations."""


class Scout:
    """Looks for what comes in question on one car, and brings it to the board."""

    def __init__(self, board: Board, joints: Sequence[Joint], floor: Standing) -> None:
        self.board, self.floor = board, floor
        self.mating, self.build = board.mating, board.build
        self.catalogue = board.mating.catalogue
        self._partners = Partners.of(board.mating, floor)
        self._joints = {joint.iri: joint for joint in joints}
        self._at: dict[str, list[Joint]] = {station: [] for station in self.build.fits}
        for joint in joints:
            for station in dict.fromkeys(joint.stations):
                if station in self._at:
                    self._at[station].append(joint)
        self._few = FEW // 5
        self._strict: dict[str, int] = {}
        self._doubtful: set[str] = set()
        self._fine: set[tuple[object, ...]] = set()
        self._told: set[tuple[str, str, tuple[object, ...]]] = set()
        self._is_whole: set[str] = set()
        # What clashes on the car as it stands, or is unproven, needs no change to matter.
        self._unsound = {
            mate.joint: self._joints[mate.joint]
            for mate in meetings(self.mating, self.build)
            if mate.under(floor) is not Outcome.MATES
        }

    # ------------------------------------------------------------------ asking

    def strictly(self) -> list[int]:
        """Assumptions under which what nobody has proven does not hold."""
        return [self._strict_at(joint) for joint in self._joints]

    def beside(self, station: str) -> Iterator[str]:
        """The stations that share a joint with a station of the car."""
        for joint in self._at[station]:
            yield from (other for other in joint.stations if other in self._at)

    def doubtful(self, stations: Collection[str]) -> list[int]:
        """For each joint of `stations` at which something unproven was met: the assumption that it
        does not hold."""
        return [
            self._strict_at(joint)
            for joint in sorted(self._doubtful)
            if any(station in stations for station in self._joints[joint].stations)
        ]

    def solve(self, assumptions: Sequence[int]) -> Plan | None:
        """A workable plan of known parts, or None if there is none in the whole catalogue."""
        given = set(assumptions)
        strict = {joint for joint, switch in self._strict.items() if switch in given}
        while True:
            if not self.board.solver.solve(assumptions=list(assumptions)):
                return None
            model = self.board.solver.get_model() or []
            plan = self.board.plan_in(model)
            if self._learn(plan, strict):
                continue
            unknown = [s for s, part in plan.items() if part == SOME_OTHER]
            if not unknown:
                return plan
            for station in unknown:
                self._look_up(station, plan)

    def ways(
        self, assumptions: Sequence[int], before: Sequence[frozenset[str]] = ()
    ) -> list[frozenset[str]]:
        """Irredundant sets of changed stations of one reading: all of them, or enough to have
        every station among them that is in any. `before` are those of a reading that asks less."""
        gate = self.board.new()
        found: list[frozenset[str]] = []

        def note(way: frozenset[str]) -> None:
            found.append(way)
            self.board.add([-gate, *(self.board.kept[s] for s in sorted(way))])

        for way in before:
            if self.solve([*assumptions, *self.board.all_but(way)]) is not None:
                note(way)
        if before and len(found) == len(before):
            return found
        while len(found) < MOST_WAYS:
            plan = self.solve([*assumptions, gate])
            if plan is None:
                return found
            note(self._shrunk(plan, assumptions))
        for station, kept in self.board.kept.items():
            while not any(station in way for way in found):
                plan = self.solve([*assumptions, gate, -kept])
                if plan is None:
                    break
                without = self.solve([*assumptions, *self.board.all_but(self._changes(plan)), kept])
                if without is None:
                    note(self._shrunk(plan, assumptions))
                else:
                    note(self._shrunk(without, [*assumptions, kept]))
        return found

    def complete(self, way: frozenset[str], assumptions: Sequence[int]) -> None:
        """Bring every part that a station can take in a plan that changes just these stations."""
        held = self.board.all_but(way)
        for station in sorted(way):
            while True:
                known = self.board.brought.get(station, {}).values()
                others = [-self.board.kept[station], *(-literal for literal in known)]
                if self.solve([*assumptions, *held, *others]) is None:
                    break

    def _shrunk(self, plan: Plan, assumptions: Sequence[int]) -> frozenset[str]:
        changes = self._changes(plan)
        for station in sorted(changes):
            if station not in changes:
                continue
            held = self.board.all_but(changes - {station})
            smaller = self.solve([*assumptions, *held])
            if smaller is not None:
                changes = self._changes(smaller)
        return frozenset(changes)

    def _changes(self, plan: Plan) -> set[str]:
        return {s for s, part in plan.items() if part != self.build.fits[s]}

    def _strict_at(self, joint: str) -> int:
        if joint not in self._strict:
            self._strict[joint] = self.board.new()
        return self._strict[joint]

    # ------------------------------------------------------------------ learning

    def _learn(self, plan: Plan, strict: set[str]) -> bool:
        """Teach the solver what is wrong with a plan, if anything is."""
        changed = [s for s, part in plan.items() if part != self.build.fits[s]]
        joints = {j.iri: j for s in changed for j in self._at[s]}
        joints.update(self._unsound)
        wrong = False
        for joint in joints.values():
            # What was looked at once and let pass need not be looked at again.
            seen = (joint.iri, *[plan.get(s) for s in joint.stations], joint.iri in strict)
            if seen in self._fine:
                continue
            if self._learn_joint(joint, plan, strict):
                wrong = True
            elif SOME_OTHER not in seen:
                self._fine.add(seen)
        return self._learn_rules(plan) or wrong

    def _learn_joint(self, joint: Joint, plan: Plan, strict: set[str]) -> bool:
        between = plan.get(joint.via) if joint.via else None
        if between == SOME_OTHER:
            return False
        if between is not None:
            first = self._learn_half(joint, 0, plan, strict, between)
            return self._learn_half(joint, 1, plan, strict, between) or first
        places = [(m.station, m.role) for m in joint.members]
        if any(plan.get(station) == SOME_OTHER for station, _ in places):
            return False
        keys = tuple(self.board.key(plan.get(s), role) for s, role in places)
        if not self._stands(joint, keys, "", strict):
            return False
        also = [-self.board.nothing_at(joint.via)] if joint.via in self.build.fits else []
        self._rule_out(joint, "", places, keys, also)
        return True

    def _learn_half(
        self, joint: Joint, at: int, plan: Plan, strict: set[str], between: str
    ) -> bool:
        member = joint.members[at]
        near = self.board.key(between, joint.via_roles[at])
        if near == NO_END or plan[member.station] == SOME_OTHER:
            return False
        key = self.board.key(plan[member.station], member.role)
        places = [(member.station, member.role), (joint.via, joint.via_roles[at])]
        keys, half = (key, near), "first"
        if at == 1:
            places, keys, half = places[::-1], (near, key), "second"
        if not self._stands(joint, keys, half, strict):
            return False
        self._rule_out(joint, half, places, keys, [])
        return True

    def _stands(self, joint: Joint, keys: tuple[EndKey, ...], half: str, strict: set[str]) -> bool:
        """Whether something stands against ends that meet, in the reading asked for."""
        outcome = self.mating.outcome(joint, keys, half, self.floor)
        if outcome is Outcome.UNPROVEN:
            self._doubtful.add(joint.iri)
            return joint.iri in strict
        return outcome is Outcome.CLASHES

    def _rule_out(
        self,
        joint: Joint,
        half: str,
        places: Sequence[tuple[str, str]],
        keys: tuple[EndKey, ...],
        also: list[int],
    ) -> None:
        """These ends do not meet; nor do others known at one of the places with the rest."""
        self._tell(joint, half, places, keys, also)
        for at, (station, role) in enumerate(places):
            if station not in self.build.fits or (half and station == joint.via):
                continue
            for alike in tuple(self.board.table(station, role).by_sort.values()):
                ends = [(*keys[:at], key, *keys[at + 1 :]) for key in alike]
                if self.mating.by_values(joint, ends[0], half, self.floor) is not Outcome.UNPROVEN:
                    ends = ends[:1]
                for varied in ends:
                    self._tell(joint, half, places, varied, also)

    def _tell(
        self,
        joint: Joint,
        half: str,
        places: Sequence[tuple[str, str]],
        keys: tuple[EndKey, ...],
        also: list[int],
    ) -> None:
        sorts = tuple(map(self.mating.alike, keys))
        if (joint.iri, half, sorts) in self._told:
            return
        outcome = self.mating.outcome(joint, keys, half, self.floor)
        if outcome is Outcome.CLASHES:
            # Whatever has such values clashes.
            self._told.add((joint.iri, half, sorts))
            ends = [-self.board.sort(*place, key) for place, key in zip(places, keys, strict=True)]
            self.board.add([*ends, *also])
        elif outcome is Outcome.UNPROVEN and (joint.iri, half, keys) not in self._told:
            self._told.add((joint.iri, half, keys))
            ends = [-self.board.end(*place, key) for place, key in zip(places, keys, strict=True)]
            self._doubtful.add(joint.iri)
            self.board.add([*ends, *also, -self._strict_at(joint.iri)])

    def _learn_rules(self, plan: Plan) -> bool:
        """Requirements, exclusions and matched sets that a plan breaks."""
        there = {
            s: part
            for s, iri in plan.items()
            if iri != SOME_OTHER and (part := self.board.part(iri))
        }
        wrong = False
        for station, part in there.items():
            for family in part.asks:
                if not any(family in other.families for other in there.values()):
                    self._ask_for(self.board.literal(station, plan), family)
                    wrong = True
            for family in part.excludes:
                for other, excluded in there.items():
                    if other != station and family in excluded.families:
                        self.board.add(
                            [-self.board.literal(station, plan), -self.board.literal(other, plan)]
                        )
                        wrong = True
            for matched in part.sets:
                wrong |= self._match(station, matched, plan)
        return wrong

    def _ask_for(self, asking: int, family: str) -> None:
        known = self.catalogue.families.get(family)
        serving: list[int] = []
        for iri in () if known is None else known.parts:
            for station in self.catalogue.parts[iri].stations:
                if station in self.build.fits and not self._is_fixed(station):
                    self.board.bring(station, (iri,))
                serving += self.board.literals_of(station, iri)
        self.board.add([-asking, *serving])

    def _match(self, station: str, matched: str, plan: Plan) -> bool:
        members: dict[str, list[str]] = {}
        for iri in self.mating.places.set_members(matched):
            for at in self.catalogue.parts[iri].stations:
                if at in self.build.fits and at != station:
                    members.setdefault(at, []).append(iri)
        wrong = False
        for at, parts in members.items():
            if plan[at] in parts:
                continue
            if not self._is_fixed(at):
                self.board.bring(at, parts)
            fitting = [v for iri in parts for v in self.board.literals_of(at, iri)]
            if fitting:
                self.board.add([-self.board.literal(station, plan), *fitting])
                wrong = True
        return wrong

    def _is_fixed(self, station: str) -> bool:
        return self.catalogue.stations[station].fixed

    # ------------------------------------------------------------------ looking up

    def _look_up(self, station: str, plan: Plan) -> None:
        """Bring parts instead of *some other*, and say so: beside this, nothing else goes."""
        sitting = self.mating.places.sitting(station)
        best = None
        if len(sitting) > self._few:
            best = min(self._neighbours(station, plan), default=None, key=lambda found: found[0])
        if best is None or best[0] >= len(sitting):
            if station not in self._is_whole:
                self._is_whole.add(station)
                self.board.bring(station, sitting)
                self.board.add(
                    [self.board.kept[station], *self.board.brought.get(station, {}).values()]
                )
            return
        _, joint, half, place, other, literals = best
        role = self._role(joint, half, station, place)
        parts = self._partners.found(joint, half, station, role, other, place)
        self.board.bring(station, parts)
        there = self.board.brought.get(station, {})
        fitting = [there[part] for part in parts if part in there]
        nothing = [there[None]] if None in there else []
        self.board.add([self.board.kept[station], *(-v for v in literals), *fitting, *nothing])

    def _neighbours(
        self, station: str, plan: Plan
    ) -> Iterator[tuple[int, Joint, str, int, EndKey, list[int]]]:
        """What stands beside a station, with how many parts may go with it."""
        for joint in self._at[station]:
            if len(joint.members) != 2:
                continue
            if station == joint.via:
                yield from self._beside_between(joint, plan)
                continue
            at = 0 if joint.members[0].station == station else 1
            other = joint.members[1 - at]
            between = plan.get(joint.via) if joint.via else None
            if between == SOME_OTHER:
                continue
            if between is not None:
                near = self.board.key(between, joint.via_roles[at])
                if near == NO_END:
                    continue
                half = ("first", "second")[at]
                literals = [self.board.sort(joint.via, joint.via_roles[at], near)]
                yield self._counted(joint, half, station, at, near, literals)
                continue
            if plan.get(other.station) == SOME_OTHER or other.station == station:
                continue
            key = self.board.key(plan.get(other.station), other.role)
            literals = [self.board.sort(other.station, other.role, key)]
            if joint.via in self.build.fits:
                literals.append(self.board.nothing_at(joint.via))
            yield self._counted(joint, "", station, at, key, literals)

    def _beside_between(
        self, joint: Joint, plan: Plan
    ) -> Iterator[tuple[int, Joint, str, int, EndKey, list[int]]]:
        for at, member in enumerate(joint.members):
            if plan.get(member.station) == SOME_OTHER:
                continue
            key = self.board.key(plan.get(member.station), member.role)
            half, place = (("first", 1), ("second", 0))[at]
            literals = [self.board.sort(member.station, member.role, key)]
            yield self._counted(joint, half, joint.via, place, key, literals)

    def _counted(
        self, joint: Joint, half: str, station: str, place: int, key: EndKey, literals: list[int]
    ) -> tuple[int, Joint, str, int, EndKey, list[int]]:
        role = self._role(joint, half, station, place)
        count = self._partners.count(joint, half, station, role, key, place)
        return count, joint, half, place, key, literals

    def _role(self, joint: Joint, half: str, station: str, place: int) -> str:
        if half and station == joint.via:
            return joint.via_roles[1 - place]
        return joint.members[("first", "second").index(half) if half else place].role
