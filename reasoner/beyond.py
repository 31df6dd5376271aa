"""Whether reasons that were found among some parts of a catalogue hold against all others too.

Of a large catalogue only those parts are compiled that come in question. That is enough for the
verdicts; but a reason why nothing else would do speaks of every part there is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence, Set
from itertools import islice

from .build import AsItStands, Build, modified, outcomes_at
from .car_links import CarLinks
from .car_problem import Reason, ReasonKind
from .catalogue import Joint, Part
from .interfaces.kind import Outcome
from .offered import Offered
from .supply import Offers
from .supports import Supports
from .trial import Trial
from .trial_rules import Named

_AT_ONCE = 3
"""So many reasons are added at a time: some are taken away again, but fewer plans are looked at,
and with one at a time what is found first leads to proofs all round the car."""

_RULES = (ReasonKind.REQUIREMENT, ReasonKind.EXCLUSION, ReasonKind.MATCHED_SET)


class Beyond:
    """All parts of a catalogue for one question. `bans` are the parts it refuses, by its words."""

    def __init__(
        self,
        supports: Supports,
        car: AsItStands,
        offers: Offers,
        bans: Mapping[str, Set[str]],
    ) -> None:
        self._supports, self._car, self._bans = supports, car, bans
        self._offered = Offered(supports.sets, offers, car.build)

    def plan(
        self, reasons: Iterable[Reason], keeping: Collection[str] = ()
    ) -> dict[str, str | None] | None:
        """What stations take in some plan in which the reasons hold, and some stations keep their
        part, whatever else is amiss; None if there is none. Limits on sums are left aside."""
        of_kind: dict[ReasonKind, list[Reason]] = {kind: [] for kind in ReasonKind}
        for reason in reasons:
            of_kind[reason.kind].append(reason)

        def subjects(kind: ReasonKind) -> set[str]:
            return {reason.subject for reason in of_kind[kind]}

        def others(kind: ReasonKind) -> set[str]:
            return {reason.other for reason in of_kind[kind]}

        unproven = subjects(ReasonKind.UNPROVEN)
        meeting = subjects(ReasonKind.JOINT) | unproven
        joints = [joint for joint in self._car.joints if joint.iri in meeting]
        # Where no rule is named, only what meets at the joints can matter.
        fits = self._car.build.fits
        has_rules = any(of_kind[kind] for kind in _RULES)
        meet = dict.fromkeys(s for joint in joints for s in joint.stations if s in fits)
        stations = fits if has_rules else meet
        bans = (self._bans.get(words, ()) for words in subjects(ReasonKind.LIMIT))
        trial = Trial(
            self._supports,
            self._car,
            CarLinks(self._supports, stations, joints),
            self._offered,
            forced={reason.subject: reason.other for reason in of_kind[ReasonKind.FIT]},
            held=subjects(ReasonKind.KEEP).union(keeping),
            refused=frozenset().union(*bans),
            named=Named(
                others(ReasonKind.REQUIREMENT),
                others(ReasonKind.EXCLUSION),
                subjects(ReasonKind.MATCHED_SET),
            ),
        ).stricter(unproven)
        if any(not wall & trial.every for wall in trial.walls()):
            return None  # between stations that cannot change
        found = trial.solve(trial.mask(stations))
        if not isinstance(found, dict):
            return None
        taken = {station: trial.sets.named(station, part)[0] for station, part in found.items()}
        return {**trial.forced, **taken}

    def irreducible(self, start: Sequence[Reason], stated: Collection[Reason]) -> Sequence[Reason]:
        """Reasons that leave no plan, none of which can be left out; those of `start` if they do.

        `stated` are what the question says; nothing is workable with all reasons there are. `start`
        are irreducible among some parts. As long as some plan has all the reasons, the nearest that
        it breaks are added; then all that can go go, the last ones first.
        """
        found = list(start)
        outward = self._outward(r.subject for r in stated if r.kind is ReasonKind.FIT)
        while (plan := self.plan(found)) is not None:
            broken = self._broken(modified(self._car.build, plan), stated, outward)
            more_broken = (reason for reason in broken if reason not in found)
            more = list(islice(more_broken, _AT_ONCE))
            if not more:
                return start  # by what it breaks nothing can be told
            found += more
        if len(found) == len(start):
            return start
        for reason in reversed(found):
            fewer = [other for other in found if other != reason]
            if self.plan(fewer) is None:
                found = fewer
        return found

    def _broken(
        self, plan: Build, stated: Collection[Reason], outward: Iterable[Joint]
    ) -> Iterator[Reason]:
        """The reasons against a plan: what was said, then joints from what is fitted outward, then
        rules."""
        yield from (reason for reason in sorted(stated) if self._breaks(plan.fits, reason))
        mating, floor = self._supports.mating, self._supports.floor
        for joint in outward:
            if Outcome.CLASHES in outcomes_at(mating, plan, joint, floor):
                yield Reason(ReasonKind.JOINT, joint.iri)
        parts = mating.catalogue.parts
        yield from _against_rules({s: parts[iri] for s, iri in plan.fits.items() if iri})

    def _breaks(self, there: Mapping[str, str | None], reason: Reason) -> bool:
        part = there.get(reason.subject)
        if reason.kind is ReasonKind.FIT:
            return part != reason.other
        if reason.kind is ReasonKind.KEEP:
            return (part or "") != reason.other
        refused, fits = self._bans.get(reason.subject, frozenset()), self._car.build.fits
        return any(part in refused and part != fits[station] for station, part in there.items())

    def _outward(self, fitted: Iterable[str]) -> list[Joint]:
        """The joints of the car, those nearest to some stations first."""
        waiting, reached, found = {j.iri: j for j in self._car.joints}, set(fitted), list[Joint]()
        while waiting:
            near = [j for j in waiting.values() if not reached.isdisjoint(j.stations)]
            found += [waiting.pop(joint.iri) for joint in near or list(waiting.values())]
            reached.update(station for joint in near for station in joint.stations)
        return found


def _against_rules(there: Mapping[str, Part]) -> Iterator[Reason]:
    families = {family for part in there.values() for family in part.families}
    for station, part in there.items():
        for family, asker in part.asks.items():
            if family not in families:
                yield Reason(ReasonKind.REQUIREMENT, asker, family)
        others = [other for at, other in there.items() if at != station]
        for family in part.excludes:
            if any(family in other.families for other in others):
                yield Reason(ReasonKind.EXCLUSION, part.family or part.iri, family)
        for matched in part.sets:
            yield Reason(ReasonKind.MATCHED_SET, matched)
