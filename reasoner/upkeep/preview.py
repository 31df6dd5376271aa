"""Which builds change when an edit goes live: what sits where, what mates, and by which fact.

Only builds that the edit can reach are looked at, unless all are asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from ..build import Build, joints_of, stock_build
from ..catalogue import Catalogue
from ..interfaces.kind import Outcome
from ..mating import PROVEN, Mate, Mating
from .preview_facts import ChangedFact, Reach, changed_facts, reach_of

Progress = Callable[[int, int, str], None]
"""Told before each piece of work: how many are done, how many there are, and what comes next."""


def no_progress(done: int, of: int, what: str) -> None:
    """Tells nobody."""


@dataclass(frozen=True, slots=True)
class Edit:
    """Two versions of one catalogue, what differs between them, and how far that reaches."""

    before: Mating
    after: Mating
    facts: tuple[ChangedFact, ...]
    reach: Reach

    @classmethod
    def between(cls, before: Catalogue, after: Catalogue, met: Mating | None = None) -> Edit:
        """The edit that makes `after` of `before`, of which `met` may know already what meets."""
        facts = changed_facts(before, after)
        met = met or Mating(before)
        return cls(met, Mating(after, met), facts, reach_of(before, after, facts))


@dataclass(frozen=True, slots=True)
class JointDifference:
    """A joint of a build at which the outcome changes; None where there is no such joint.

    `mates` are the meetings behind the two outcomes.
    """

    joint: str
    before: Outcome | None
    after: Outcome | None
    mates: tuple[tuple[Mate, ...], tuple[Mate, ...]]
    why: tuple[ChangedFact, ...]


@dataclass(frozen=True, slots=True)
class FitDifference:
    """A station of a build whose part changes. `there` says whether it is a station at all."""

    station: str
    before: str | None
    after: str | None
    there: tuple[bool, bool]
    why: tuple[ChangedFact, ...]


@dataclass(frozen=True, slots=True)
class BuildDifference:
    """What changes on one build. `there`: whether it exists before, and after."""

    name: str
    car: str
    there: tuple[bool, bool]
    fits: tuple[FitDifference, ...] = ()
    joints: tuple[JointDifference, ...] = ()

    @property
    def breaks(self) -> bool:
        """Whether something clashes after the edit that did not before."""
        return any(joint.after is Outcome.CLASHES for joint in self.joints)


@dataclass(frozen=True, slots=True)
class BuildPreview:
    """The builds that change, and how many were passed over because nothing can change on them."""

    differences: tuple[BuildDifference, ...]
    looked_at: int
    passed_over: int


def stock_builds(catalogue: Catalogue) -> dict[str, Build]:
    """Every stock build by the IRI of its car."""
    return {iri: stock_build(catalogue, car) for iri, car in catalogue.cars.items()}


def preview_builds(
    edit: Edit,
    before: Mapping[str, Build],
    after: Mapping[str, Build],
    *,
    whole: bool = False,
    progress: Progress = no_progress,
) -> BuildPreview:
    """What changes on builds, given by a key that is the same before and after.

    With `whole` every build is looked at, whether the edit can reach it or not.
    """
    keys = sorted({*before, *after})
    reached = [k for k in keys if whole or _reached(edit.reach, before.get(k), after.get(k))]
    found = []
    for done, key in enumerate(reached):
        one, other = before.get(key), after.get(key)
        progress(done, len(reached), (other or one or _missing(key)).name)
        difference = _compare(edit, one, other)
        if difference is not None:
            found.append(difference)
    return BuildPreview(tuple(found), len(reached), len(keys) - len(reached))


def _missing(key: str) -> Build:
    raise KeyError(key)


def _reached(reach: Reach, before: Build | None, after: Build | None) -> bool:
    if before is None or after is None or before.fits != after.fits or before.name != after.name:
        return True
    return reach.touches(before) or reach.touches(after)


def _compare(edit: Edit, before: Build | None, after: Build | None) -> BuildDifference | None:
    there = (before is not None, after is not None)
    build = after or before
    assert build is not None, "a key comes from one of the two"
    if before is None or after is None:
        # A build that is new has nothing to compare with, but what clashes on it is worth telling.
        joints = tuple(j for j in _joints(edit, before, after) if j.after is Outcome.CLASHES)
        return BuildDifference(build.name, build.car, there, joints=joints)
    fits, joints = _fits(edit, before, after), _joints(edit, before, after)
    if fits or joints:
        return BuildDifference(build.name, build.car, there, fits, joints)
    return None


def _fits(edit: Edit, before: Build, after: Build) -> tuple[FitDifference, ...]:
    found = []
    for station in sorted({*before.fits, *after.fits}):
        there = (station in before.fits, station in after.fits)
        parts = before.fits.get(station), after.fits.get(station)
        # A station that may stand empty and does is no news on a car.
        if parts[0] != parts[1] or (there[0] != there[1] and any(parts)):
            why = why_here(edit, {after.car, station})
            found.append(FitDifference(station, *parts, there, why))
    return tuple(found)


def _joints(edit: Edit, before: Build | None, after: Build | None) -> tuple[JointDifference, ...]:
    sides = _met(edit.before, before), _met(edit.after, after)
    found = []
    for joint in sorted({*sides[0], *sides[1]}):
        one, other = sides[0].get(joint, ()), sides[1].get(joint, ())
        outcomes = worst(one), worst(other)
        if outcomes[0] is not outcomes[1]:
            things = things_met(edit, joint, (*one, *other), (before, after))
            why = why_here(edit, things)
            found.append(JointDifference(joint, *outcomes, (one, other), why))
    return tuple(found)


def _met(mating: Mating, build: Build | None) -> dict[str, tuple[Mate, ...]]:
    if build is None:
        return {}
    known = mating.catalogue
    return {
        joint.iri: mating.meet(joint, [build.part(known, s) for s in joint.stations])
        for joint in joints_of(known, build)
    }


def worst(mates: Collection[Mate]) -> Outcome | None:
    """The outcome of a joint at which `mates` came about; None where nothing met."""
    outcomes = {mate.under(PROVEN) for mate in mates}
    for outcome in (Outcome.CLASHES, Outcome.UNPROVEN, Outcome.MATES):
        if outcome in outcomes:
            return outcome
    return None


def things_met(
    edit: Edit, joint: str, mates: Collection[Mate], builds: Iterable[Build | None]
) -> set[str]:
    """Everything that a meeting at a joint rests on: ends, parts, stations, the joint, its kind."""
    things = {joint} | {end for mate in mates for end in mate.ends if end is not None}
    tables = (edit.before.catalogue.joints, edit.after.catalogue.joints)
    for described in (table[joint] for table in tables if joint in table):
        things |= {described.kind, *described.stations}
        for build in builds:
            if build is not None:
                things |= {p for s in described.stations if (p := build.fits.get(s))}
                things.add(build.car)
    if any(mate.settled_by == "works" for mate in mates):
        # Other cars that left the works so are what settles it.
        things |= {fact.subject for fact in edit.facts if fact.sort == "cars"}
    return things


def why_here(edit: Edit, things: Collection[str]) -> tuple[ChangedFact, ...]:
    """The changed facts about any of `things`; of a car's fits those at one of the stations.

    Falls back on changed standings of sources, which no single thing shows.
    """
    found = tuple(
        fact
        for fact in edit.facts
        if fact.subject in things
        and (fact.sort != "cars" or "/" not in fact.about or fact.about in things)
        and fact.sort != "sources"
    )
    return found or tuple(fact for fact in edit.facts if fact.sort == "sources" and fact.about)
