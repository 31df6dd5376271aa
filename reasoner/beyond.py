"""Whether reasons that were found among some parts of a catalogue hold against all others too.

Of a large catalogue only those parts are compiled that come in question. That is enough for the
verdicts; but a reason why nothing else would do speaks of every part there is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence, Set

from .build import AsItStands, modified
from .car_links import CarLinks
from .catalogue import Joint, Part
from .offered import Offered
from .reason import Reason, ReasonKind
from .supply import Offers
from .supports import Supports
from .trial import Trial
from .trial_rules import ALL_RULES, Named

Plan = dict[str, str | None]
"""What stations take."""

Blamed = list[tuple[ReasonKind, str]]
"""The joints and rules because of which there is no plan, as `Because` names them."""

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

    def plan(self, reasons: Iterable[Reason], keeping: Collection[str] = ()) -> Plan | None:
        """What stations take in some plan in which the reasons hold, and some stations keep their
        part, whatever else is amiss; None if there is none. Limits on sums are left aside."""
        found = self._tried(list(reasons), keeping)
        return found if isinstance(found, dict) else None

    def irreducible(self, start: Sequence[Reason], stated: Collection[Reason]) -> Sequence[Reason]:
        """Reasons that leave no plan, none of which can be left out; those of `start` if they do.

        `stated` are what the question says; nothing is workable with all reasons there are. `start`
        are irreducible among some parts.
        """
        if self.plan(start) is None:
            return start
        wishes = sorted(stated)
        tried = self._tried(wishes, is_all=True)
        if isinstance(tried, dict):
            return start  # nothing can be told
        outward = self._outward(r.subject for r in wishes if r.kind is ReasonKind.FIT)
        found = [*wishes, *_reasons(tried, outward)]
        # The farthest go first, and with each of them what is not to blame without it.
        for reason in reversed(found):
            if reason not in found:
                continue
            tried = self._tried([other for other in found if other != reason])
            if not isinstance(tried, dict):
                found = [r for r in found if r != reason and (r in wishes or _blames(tried, r))]
            elif reason.kind in _RULES:
                found[found.index(reason)] = self._broken(tried, reason)
        return found

    def _tried(
        self, reasons: Sequence[Reason], keeping: Collection[str] = (), *, is_all: bool = False
    ) -> Plan | Blamed:
        """Some plan in which the reasons hold, and all others there are if `is_all`; else why there
        is none."""
        of_kind: dict[ReasonKind, list[Reason]] = {kind: [] for kind in ReasonKind}
        for reason in reasons:
            of_kind[reason.kind].append(reason)

        def subjects(kind: ReasonKind) -> set[str]:
            return {reason.subject for reason in of_kind[kind]}

        def others(kind: ReasonKind) -> set[str]:
            return {reason.other for reason in of_kind[kind]}

        unproven = subjects(ReasonKind.UNPROVEN)
        meeting = subjects(ReasonKind.JOINT) | unproven
        joints = [joint for joint in self._car.joints if is_all or joint.iri in meeting]
        # Where no rule is named, only what meets at the joints can matter.
        fits = self._car.build.fits
        has_rules = is_all or any(of_kind[kind] for kind in _RULES)
        meet = dict.fromkeys(s for joint in joints for s in joint.stations if s in fits)
        stations = fits if has_rules else meet
        links = CarLinks.of if is_all else CarLinks
        bans = (self._bans.get(words, ()) for words in subjects(ReasonKind.LIMIT))
        named = Named(
            others(ReasonKind.REQUIREMENT),
            others(ReasonKind.EXCLUSION),
            subjects(ReasonKind.MATCHED_SET),
        )
        trial = Trial(
            self._supports,
            self._car,
            links(self._supports, stations, joints),
            self._offered,
            forced={reason.subject: reason.other for reason in of_kind[ReasonKind.FIT]},
            held=subjects(ReasonKind.KEEP).union(keeping),
            refused=frozenset().union(*bans),
            named=ALL_RULES if is_all else named,
            why=True,
        ).stricter(unproven)
        for wall in trial.walls():
            if not wall & trial.every:
                return trial.because.named(wall)  # between stations that cannot change
        found = trial.solve(trial.mask(stations))
        if not isinstance(found, dict):
            return trial.because.named(found.stations)
        taken = {station: trial.sets.named(station, part)[0] for station, part in found.items()}
        return {**trial.forced, **taken}

    def _broken(self, plan: Plan, rule: Reason) -> Reason:
        """A rule as a plan breaks it: of the family it names, by somebody that is there."""
        fits, parts = modified(self._car.build, plan).fits, self._supports.mating.catalogue.parts
        there = {station: parts[iri] for station, iri in fits.items() if iri}
        alike = (
            r for r in _against_rules(there) if r.kind is rule.kind and _name(r) == _name(rule)
        )
        return next(alike, rule)

    def _outward(self, fitted: Iterable[str]) -> list[Joint]:
        """The joints of the car, those nearest to some stations first."""
        waiting, reached, found = {j.iri: j for j in self._car.joints}, set(fitted), list[Joint]()
        while waiting:
            near = [j for j in waiting.values() if not reached.isdisjoint(j.stations)]
            found += [waiting.pop(joint.iri) for joint in near or list(waiting.values())]
            reached.update(station for joint in near for station in joint.stations)
        return found


def _name(reason: Reason) -> str:
    """What `Because` names a reason by."""
    of_family = reason.kind in (ReasonKind.REQUIREMENT, ReasonKind.EXCLUSION)
    return reason.other if of_family else reason.subject


def _blames(blamed: Blamed, reason: Reason) -> bool:
    return (reason.kind, _name(reason)) in blamed


def _reasons(blamed: Blamed, outward: Iterable[Joint]) -> Iterator[Reason]:
    """What is to blame: joints from what is fitted outward, then rules, whoever they are of."""
    for joint in outward:
        if (ReasonKind.JOINT, joint.iri) in blamed:
            yield Reason(ReasonKind.JOINT, joint.iri)
    for kind, name in blamed:
        if kind is ReasonKind.MATCHED_SET:
            yield Reason(kind, name)
        elif kind in _RULES:
            yield Reason(kind, "", name)


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
