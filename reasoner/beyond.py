"""Reasons that leave no plan with any of the parts of a catalogue.

Of a large catalogue only those parts are compiled that come in question. That is enough for the
verdicts; but a reason why nothing else would do speaks of every part there is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence, Set
from itertools import islice

from .all_parts import AllParts
from .build import AsItStands
from .car_links import CarLinks
from .reason import JOINTS, RULES, STATED, Blamed, Reason, ReasonKind
from .trial import Trial
from .trial_rules import ALL_RULES, Named

Plan = dict[str, str | None]
"""What stations take."""


class Beyond:
    """All parts of a catalogue for one question. `bans` are the parts it refuses, by its words."""

    def __init__(self, car: AsItStands, parts: AllParts, bans: Mapping[str, Set[str]]) -> None:
        self._supports, self._car, self._parts, self._bans = parts.supports, car, parts, bans

    def irreducible(
        self, stated: Sequence[Reason], start: Sequence[Reason] = (), *, strict: bool = False
    ) -> Sequence[Reason]:
        """Reasons that leave no plan, none of which can be left out; those of `start` if they do.

        `stated` are what the question says; nothing is workable with all reasons there are, in a
        strict reading with what is unproven at any joint among them. `start` are irreducible among
        some parts. That something is unproven at a joint says of it that it must surely fit.
        """
        if start and self._leave_none(start):
            return start
        found = self.against(stated, strict=strict)
        return start if found is None else self._reduced(found)

    def irreducible_of(self, reasons: Sequence[Reason]) -> Sequence[Reason]:
        """Those of some reasons that leave no plan, as few as can be; none if there is a plan."""
        return self._reduced(list(reasons)) if self._leave_none(reasons) else ()

    def _leave_none(self, reasons: Sequence[Reason]) -> bool:
        return not isinstance(self._tried(reasons), dict)

    def _reduced(self, found: list[Reason]) -> list[Reason]:
        """Without what can be left out: the farthest first, and with each what is not to blame
        without it."""
        distance = self._distances(r.subject for r in found if r.kind is ReasonKind.FIT)
        found.sort(key=lambda r: distance.get(r.subject, -1 if r.kind in STATED else len(distance)))
        for at in reversed(dict.fromkeys(map(_named, found))):
            left = [reason for reason in found if _named(reason) != at]
            if len(left) == len(found):
                continue
            tried = self._tried(left)
            if not isinstance(tried, dict):
                found = [r for r in left if r.kind in STATED or _named(r) in tried]
            elif at[0] in RULES:
                broken = (r for r in found if _named(r) == at and self._is_asked(r, tried))
                found = [*left, *islice(broken, 1)]
        return found

    def against(
        self, stated: Sequence[Reason], keeping: Collection[str] = (), *, strict: bool = False
    ) -> list[Reason] | None:
        """Reasons that leave no plan in which some stations keep their part: what the question
        says, and what is to blame. None if there is a plan."""
        unproven = (Reason(ReasonKind.UNPROVEN, joint.iri) for joint in self._car.joints)
        reasons = [*stated, *unproven] if strict else stated
        tried = self._tried(reasons, keeping, is_all=True)
        return None if isinstance(tried, dict) else self.told(stated, tried)

    def told(self, stated: Sequence[Reason], blamed: Blamed) -> list[Reason]:
        """The reasons behind what the question says and what is to blame."""
        joints = [Reason(*at) for at in blamed if at[0] in JOINTS]
        rules = [rule for at in blamed if at[0] in RULES for rule in self._parts.rules(*at)]
        return [*stated, *joints, *rules]

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
        has_rules = is_all or any(of_kind[kind] for kind in RULES)
        meet = dict.fromkeys(s for joint in joints for s in joint.stations if s in fits)
        stations = fits if has_rules else meet
        links = CarLinks.of(self._supports, fits, self._car.joints)
        bans = (self._bans.get(words, ()) for words in subjects(ReasonKind.LIMIT))
        named = Named(
            others(ReasonKind.REQUIREMENT),
            others(ReasonKind.EXCLUSION),
            subjects(ReasonKind.MATCHED_SET),
        )
        trial = Trial(
            self._supports,
            self._car,
            links if is_all else links.only(stations, joints),
            self._parts.offered,
            forced={reason.subject: reason.other for reason in of_kind[ReasonKind.FIT]},
            held=subjects(ReasonKind.KEEP).union(keeping),
            refused=frozenset().union(*bans),
            named=ALL_RULES if is_all else named,
        ).stricter(unproven)
        for wall in trial.walls():
            if not wall & trial.every:
                return _blamed(trial, wall)  # between stations that cannot change
        found = trial.solve(trial.mask(stations))
        if not isinstance(found, dict):
            return _blamed(trial, found.stations)
        taken = {station: trial.sets.named(station, part)[0] for station, part in found.items()}
        return {**trial.forced, **taken}

    def _is_asked(self, rule: Reason, plan: Plan) -> bool:
        """Whether a part of a plan says what a rule says."""
        fits, asking = {**self._car.build.fits, **plan}, self._parts.sides(rule)[0]
        return any(self._parts.one(s, fits[s] or "") & parts for s, parts in asking.items())

    def _distances(self, fitted: Iterable[str]) -> dict[str, int]:
        """The joints of the car, numbered from some stations outward."""
        waiting, reached, found = {j.iri: j for j in self._car.joints}, set(fitted), list[str]()
        while waiting:
            near = [j for j in waiting.values() if not reached.isdisjoint(j.stations)]
            found += [waiting.pop(joint.iri).iri for joint in near or list(waiting.values())]
            reached.update(station for joint in near for station in joint.stations)
        return {joint: at for at, joint in enumerate(found)}


def _blamed(trial: Trial, wall: int) -> Blamed:
    mistrusted = (joint for joint, bit in trial.trust.items() if wall & bit)
    return [
        *trial.because.named(wall),
        *((ReasonKind.UNPROVEN, joint) for joint in mistrusted),
    ]


def _named(reason: Reason) -> tuple[ReasonKind, str]:
    """What `Because` names a reason by."""
    of_family = reason.kind in (ReasonKind.REQUIREMENT, ReasonKind.EXCLUSION)
    return reason.kind, reason.other if of_family else reason.subject
