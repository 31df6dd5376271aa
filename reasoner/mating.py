"""Let parts meet at a joint: gather the ends, weigh the claims, ask the kind's rule.

The rule sees plain values. What it cannot see is settled here: ends that are alternatives, values
that sources dispute, values made to suit, ends that meet nothing, and joints that a trial fit or
the works have already proven.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product

from .by_values import ByValues, standing_alone
from .catalogue import Catalogue, End, Joint, Part, Standing
from .interfaces.kind import EndValues, Finding, Outcome, Relation, Tolerances, Value, overall
from .interfaces.registry import kinds
from .made_to_suit import make_to_suit
from .places import NO_END as NO_END
from .places import PROVEN as PROVEN
from .places import EndKey as EndKey
from .places import Places
from .places import end_key as end_key
from .works_met import WorksKey

_BEST_FIRST = {Outcome.MATES: 0, Outcome.UNPROVEN: 1, Outcome.CLASHES: 2}
_MOST_READINGS = 64


@dataclass(frozen=True, slots=True)
class Mate:
    """What comes of ends meeting at one joint.

    `ends` are the ends that met (None where a place has none). `outcome` is what the stated
    values say; `standing` is the weakest claim it rests on. `settled_by` is "" when the rule
    decided, "works" when a car left the works with these ends together, "trial" after a trial
    fit. `disputed` names quantities on which sources differ. `made` gives values to be made to
    suit, by end and quantity.
    """

    joint: str
    ends: tuple[str | None, ...]
    outcome: Outcome
    findings: tuple[Finding, ...]
    standing: Standing = Standing.MEASURED
    settled_by: str = ""
    settled_sources: tuple[str, ...] = ()
    disputed: tuple[str, ...] = ()
    made: tuple[tuple[str, str, Value], ...] = ()

    def under(self, floor: Standing) -> Outcome:
        """The outcome if claims weaker than `floor` prove nothing."""
        return Outcome.UNPROVEN if self.standing > floor else self.outcome


class Mating:
    """Every meeting of ends that has been looked at in one catalogue, remembered.

    What was found out for another one `like` it, whose tolerances are the same, holds here too as
    far as it rests on nothing but values.
    """

    def __init__(self, catalogue: Catalogue, like: Mating | None = None) -> None:
        self.catalogue = catalogue
        self._kinds = kinds()
        self._known: dict[tuple[str, str, tuple[EndKey, ...]], Mate | None] = {}
        self._works = catalogue.lookups.works
        self.places = Places(catalogue, catalogue.lookups.places)
        self.values: ByValues = ByValues(
            catalogue, self.places, self._weighed, None if like is None else like.values
        )
        self.partners: dict[object, object] = {}
        self.remembered: dict[object, object] = {}
        self.as_they_stand: dict[object, object] = {}
        """How cars stand (see `build`)."""

    def meet(self, joint: Joint, parts: Sequence[Part | None]) -> tuple[Mate, ...]:
        """What comes of `parts` (in the order of `joint.stations`) at `joint`.

        Two mates where a go-between stands in the joint; none where nothing meets.
        """
        found = (self.meet_keys(joint, keys, half) for keys, half in self._meetings(joint, parts))
        return tuple(mate for mate in found if mate is not None)

    def outcomes(
        self, joint: Joint, parts: Sequence[Part | None], floor: Standing
    ) -> tuple[Outcome, ...]:
        """As `meet`, but without any findings: see `outcome`."""
        meetings = self._meetings(joint, parts)
        return tuple(self.outcome(joint, keys, half, floor) for keys, half in meetings)

    def _meetings(
        self, joint: Joint, parts: Sequence[Part | None]
    ) -> tuple[tuple[tuple[EndKey, ...], str], ...]:
        """What parts bring to a joint, and to which half of it."""
        keys = tuple(
            end_key(part, member.role) for part, member in zip(parts, joint.members, strict=False)
        )
        between = parts[len(joint.members)] if joint.via else None
        if between is None:
            return ((keys, ""),)
        near, far = (end_key(between, role) for role in joint.via_roles)
        return ((keys[0], near), "first"), ((far, keys[1]), "second")

    def meet_keys(self, joint: Joint, keys: tuple[EndKey, ...], half: str = "") -> Mate | None:
        """As `meet`, for what parts bring to the joint's places. None: nothing to compare.

        `half` is "first" or "second" where one of the two is a go-between.
        """
        at = (joint.iri, half, keys)
        if at not in self._known:
            self._known[at] = self._look(joint, keys, half)
        return self._known[at]

    def outcome(
        self, joint: Joint, keys: tuple[EndKey, ...], half: str, floor: Standing
    ) -> Outcome:
        """What comes of ends, without any findings: ends of the same values are compared once.

        That nothing meets counts as mating, as it stands in nobody's way.
        """
        found = self.values.outcome(joint, keys, half, floor)
        return found if found is Outcome.MATES else self.settled(joint, keys, half, floor, found)

    def settled(
        self, joint: Joint, keys: tuple[EndKey, ...], half: str, floor: Standing, found: Outcome
    ) -> Outcome:
        """The same where it is `found` what the values alone say."""
        if not self._is_known_better(joint, keys, found):
            return found
        mate = self.meet_keys(joint, keys, half)
        return Outcome.MATES if mate is None else mate.under(floor)

    def _is_known_better(self, joint: Joint, keys: tuple[EndKey, ...], found: Outcome) -> bool:
        """Whether a trial fit or the works may know better of just these ends than their values."""
        with_, there = self.tried_with, [end for ends, _ in keys for end in ends]
        if not with_.keys().isdisjoint(there):
            tried = [end for end in there if end in with_]
            if any(other in there for end in tried for other in with_[end]):
                return True
        # Whatever left the works together, what clashes by its values clashes.
        if found is not Outcome.UNPROVEN:
            return False
        return (joint.iri, tuple([ends for ends, _ in keys])) in self.of_works

    def _weighed(
        self, joint: Joint, keys: tuple[EndKey, ...], half: str, floor: Standing
    ) -> Outcome:
        """What values alone say of ends of which claims must be weighed (see `ByValues`)."""
        mate = self._look(joint, keys, half, settle=False)
        return Outcome.MATES if mate is None else mate.under(floor)

    @cached_property
    def of_works(self) -> frozenset[WorksKey]:
        """What left the works together: read at once, as most of what is unproven is looked for."""
        return frozenset(self._works)

    @cached_property
    def chains_of_works(self) -> Mapping[str, tuple[tuple[tuple[str, ...], ...], ...]]:
        """For each joint whose places are weighed together, the ends that left the works there."""
        chains = {iri for iri, joint in self.catalogue.joints.items() if joint.is_chain}
        found: dict[str, list[tuple[tuple[str, ...], ...]]] = {iri: [] for iri in sorted(chains)}
        for joint, ends in sorted(self.of_works):
            if joint in found:
                found[joint].append(ends)
        return {joint: tuple(rows) for joint, rows in found.items()}

    @cached_property
    def tried_with(self) -> Mapping[str, tuple[str, ...]]:
        """For each end that somebody put together with others, and says so: those others."""
        found: dict[str, list[str]] = {}
        for first, second in self.catalogue.tried:
            found.setdefault(first, []).append(second)
            found.setdefault(second, []).append(first)
        return {end: tuple(others) for end, others in found.items()}

    def is_tried(self, key: EndKey) -> bool:
        """Whether somebody put an end together with another, and says so."""
        return not self.tried_with.keys().isdisjoint(key[0])

    def _look(
        self, joint: Joint, keys: tuple[EndKey, ...], half: str, *, settle: bool = True
    ) -> Mate | None:
        lone = standing_alone(joint, keys, half)
        if lone is not None:
            return None if lone == "idle" else _lonely(joint, keys, lone)
        tolerances = dict(self.catalogue.tolerances.get(joint.kind, {}))
        for _, own in keys:
            tolerances.update(own)
        signs = [member.sign for member in joint.members]
        choices: list[list[End | None]] = [
            [self.catalogue.ends[e] for e in ends] or [None] for ends, _ in keys
        ]
        mates = [
            self._compare(joint, combination, signs, tolerances)
            for combination in product(*choices)
        ]
        best = min(mates, key=lambda mate: (_BEST_FIRST[mate.under(PROVEN)], mate.standing))
        return self._settle(best, joint, keys) if settle else best

    def _settle(self, mate: Mate, joint: Joint, keys: tuple[EndKey, ...]) -> Mate:
        if mate.under(PROVEN) is Outcome.MATES:
            return mate
        is_clash = mate.outcome is Outcome.CLASHES
        ends = [end for end in mate.ends if end is not None]
        if len(ends) == 2:
            tried = self.catalogue.tried.get((min(ends), max(ends)))
            if tried and not is_clash:
                return replace(
                    mate,
                    outcome=Outcome.MATES,
                    standing=self.catalogue.standing(tried),
                    settled_by="trial",
                    settled_sources=tried,
                )
            if tried:
                return replace(
                    mate,
                    outcome=Outcome.UNPROVEN,
                    settled_by="trial against the numbers",
                    settled_sources=tried,
                )
        # Whatever left the works together, what clashes by its values clashes.
        works = None if is_clash else self._works.get((joint.iri, tuple(ends for ends, _ in keys)))
        if works is not None:
            return replace(
                mate,
                outcome=Outcome.MATES,
                standing=self.catalogue.standing(works),
                settled_by="works",
                settled_sources=works,
            )
        return mate

    def _compare(
        self,
        joint: Joint,
        ends: Sequence[End | None],
        signs: Sequence[int],
        tolerances: Tolerances,
    ) -> Mate:
        present = [(end, sign) for end, sign in zip(ends, signs, strict=True) if end is not None]
        readings = _readings([end for end, _ in present])
        rule = self._kinds[joint.kind].rule
        outcomes: list[tuple[tuple[Finding, ...], tuple[tuple[str, str, Value], ...]]] = []
        for reading in readings:
            values = [
                EndValues(end.side, dict(read), sign)
                for (end, sign), read in zip(present, reading, strict=True)
            ]
            values, made, unmakeable = make_to_suit(joint.kind, [end for end, _ in present], values)
            findings = (*unmakeable, *rule(values, tolerances))
            outcomes.append((findings, made))
        results = {overall(findings) for findings, _ in outcomes}
        findings, made = outcomes[0]
        touched = {finding.quantity for finding in findings} | {
            finding.needs for finding in findings if finding.needs
        }
        disputed = tuple(
            sorted({q for end, _ in present for q, c in end.claims.items() if len(c) > 1})
        )
        outcome = results.pop() if len(results) == 1 else Outcome.UNPROVEN
        there = [end for end, _ in present]
        standing = self._weakest(there, touched)
        if outcome is Outcome.CLASHES:
            standing = min(standing, self._surest_clash(there, findings, standing))
        return Mate(
            joint=joint.iri,
            ends=tuple(None if end is None else end.iri for end in ends),
            outcome=outcome,
            findings=findings,
            standing=standing,
            disputed=disputed,
            made=made,
        )

    def _surest_clash(
        self, ends: Sequence[End], findings: Sequence[Finding], otherwise: Standing
    ) -> Standing:
        """One clash that stands firm is enough, however weak what else was compared."""
        found = [otherwise]
        for finding in findings:
            if finding.outcome is not Outcome.CLASHES:
                continue
            stated = any(finding.quantity in end.claims for end in ends)
            if stated or finding.quantity == "side":
                found.append(self._weakest(ends, {finding.quantity}))
        return min(found)

    def _weakest(self, ends: Iterable[End], touched: set[str]) -> Standing:
        standings = [
            self.catalogue.standing(claims[0].sources)
            for end in ends
            for quantity, claims in end.claims.items()
            if quantity in touched
        ]
        return max(standings, default=Standing.MEASURED)


def _lonely(joint: Joint, keys: Sequence[EndKey], rule: str) -> Mate:
    """The mate of an end that meets nothing: a clash, or an opening that wants a blank."""
    blank = rule == "WantsBlank"
    finding = Finding(
        "blank" if blank else "partner",
        Outcome.MATES if blank else Outcome.CLASHES,
        Relation.OFFERS,
        note="the opening wants a blank" if blank else "meets nothing",
    )
    ends = tuple(ends[0] if ends else None for ends, _ in keys)
    return Mate(joint.iri, ends, finding.outcome, (finding,))


def _readings(ends: Sequence[End]) -> list[tuple[Mapping[str, Value], ...]]:
    """Every way to read disputed claims, the strongest claims first; usually just one."""
    per_end: list[list[Mapping[str, Value]]] = []
    for end in ends:
        options = [[(q, claim.value) for claim in claims] for q, claims in end.claims.items()]
        per_end.append([dict(choice) for choice in product(*options)])
    return list(product(*per_end))[:_MOST_READINGS]
