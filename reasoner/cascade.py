"""What else must change if these parts are fitted: verdicts, options, reasons and checks."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .branches import Way, describe_way
from .build import Build
from .catalogue import Joint
from .conflict import Conflict, conflict_of
from .doubts import Doubts, unproven_meetings
from .mating import Mate, Mating
from .options import Options
from .oracle import Oracle, joint_distances
from .problem import Problem, Reason, ReasonKind, Wishes
from .reasons import Chain, Meeting, explain_change
from .supply import Supply
from .verdicts import Search, Verdict, Verdicts, read_verdicts

__all__ = [
    "Cascade", "Check", "KnockOn", "Turn", "cascade_of", "find_cascade", "joint_distances",
]  # fmt: skip

_MOST_WAYS = 12
"""Ways described in full; verdicts and options always rest on all that were found."""


@dataclass(frozen=True, slots=True)
class KnockOn:
    """The verdict on one station.

    `verdict` is the kindly reading (unproven joints mate); `strictly` the strict one (they clash),
    None where strictly no plan is workable. `options` is what the station may take in an
    irredundant plan, `chains` why its part cannot stay, each by another last link (for a
    choice: in the plan that changes it with the fewest stations).
    """

    station: str
    current: str | None
    verdict: Verdict
    strictly: Verdict | None
    options: tuple[str | None, ...] = ()
    chains: tuple[Chain, ...] = ()


@dataclass(frozen=True, slots=True)
class Turn:
    """A verdict that changes if a check comes out badly."""

    station: str
    now: Verdict
    then: Verdict


@dataclass(frozen=True, slots=True)
class Check:
    """A joint nobody has proven, which some plan would put together.

    `meetings` are the parts in question, with so many `others`. If it does not fit, the verdicts in
    `turns` change, or nothing is workable any more (`ends_it`).
    """

    joint: str
    meetings: tuple[Meeting, ...]
    turns: tuple[Turn, ...] = ()
    ends_it: bool = False
    others: int = 0

    @property
    def decides(self) -> bool:
        """Whether this joint alone turns a verdict."""
        return self.ends_it or bool(self.turns)


@dataclass(frozen=True, slots=True)
class Cascade:
    """The answer to "what else must change?".

    Verdicts, ways, options and reasons are those of the whole catalogue; but where it is large and
    sums are limited, some reasons may be told among so many parts that come in question
    (`reasons_among`, 0 if among all): others may be ruled out by further reasons.
    `workable` is False when no plan holds even kindly; `conflict` then says why and what to drop.
    `already` are joints that clash on the car as it stands, before anything is fitted.
    """

    build: Build
    wishes: Wishes
    workable: bool
    strictly_workable: bool
    knock_ons: tuple[KnockOn, ...] = ()
    ways: tuple[Way, ...] = ()
    all_ways: bool = True
    checks: tuple[Check, ...] = ()
    already: tuple[Mate, ...] = ()
    conflict: Conflict | None = None
    reasons_among: int = 0

    def of(self, verdict: Verdict) -> tuple[KnockOn, ...]:
        """The knock-ons with one verdict, in order of distance from what is fitted."""
        return tuple(k for k in self.knock_ons if k.verdict is verdict)


def find_cascade(
    mating: Mating, build: Build, wishes: Wishes, supply: Supply | None = None
) -> Cascade:
    """Answer "what else must change on `build`?" exactly, with parts from `supply`.

    Raises:
        KeyError: a wish names a station that is not on the car.
    """
    for station in (*wishes.fits, *wishes.keeps):
        if station not in build.fits:
            raise KeyError(station)
    return cascade_of(Problem(mating, build, wishes, supply))


def cascade_of(problem: Problem) -> Cascade:
    """The answer that a problem's own build, wishes and supply ask for.

    For who wants more of the same problem afterwards, such as plans.
    """
    build, wishes = problem.build, problem.wishes
    among = problem.in_question if problem.car.is_partial else 0
    with Search(problem, strict=False) as search:
        oracle = search.oracle
        already = oracle.tables.already
        kindly = read_verdicts(oracle, oracle.kindly)
        if not kindly.workable:
            conflict = conflict_of(oracle, oracle.kindly)
            return Cascade(
                build, wishes, False, False, already=already, conflict=conflict,
                reasons_among=0 if problem.is_told_of_all else among,
            )  # fmt: skip
        options = Options(oracle, oracle.kindly, kindly.ways)
        kindly = replace(kindly, options=options.of_all())
        strictly = _also(oracle, oracle.strictly, kindly)
        ways = tuple(describe_way(options, way) for way in kindly.ways[:_MOST_WAYS])
        knock_ons = _knock_ons(search, kindly, strictly)
        of_all = all(chain.is_of_all for found in knock_ons for chain in found.chains)
        return Cascade(
            build=build,
            wishes=wishes,
            workable=True,
            strictly_workable=strictly.workable,
            knock_ons=knock_ons,
            ways=ways,
            all_ways=kindly.all_ways and len(ways) == len(kindly.ways),
            checks=_checks(oracle, kindly),
            already=already,
            reasons_among=0 if of_all else among,
        )


def _also(oracle: Oracle, reading: int, kindly: Verdicts) -> Verdicts:
    """The verdicts of a reading that allows less than the kindly one."""
    if oracle.ways(reading) is not None:
        return read_verdicts(oracle, reading)
    if kindly.all_ways and all(
        oracle.find(reading | oracle.all_but(way)) is not None for way in kindly.ways
    ):
        return kindly  # whatever was irredundant still works, so nothing turns
    return read_verdicts(oracle, reading)


def _knock_ons(search: Search, kindly: Verdicts, strictly: Verdicts) -> tuple[KnockOn, ...]:
    oracle = search.oracle
    chains = _chains(search, kindly)
    found = [
        KnockOn(
            station=station,
            current=search.problem.build.fits[station],
            verdict=verdict,
            strictly=strictly.verdicts.get(station) if strictly.workable else None,
            options=(kindly.options or {}).get(station, ()),
            chains=chains.get(station, ()),
        )
        for station, verdict in kindly.verdicts.items()
    ]
    distance = oracle.distance
    return tuple(sorted(found, key=lambda k: (distance.get(k.station, 10_000), k.station)))


def _chains(search: Search, kindly: Verdicts) -> dict[str, tuple[Chain, ...]]:
    chains = {}
    for station, verdict in kindly.verdicts.items():
        if verdict is Verdict.MUST:
            chains[station] = explain_change(search, station, strict=False)
            continue
        way = next((way for way in kindly.ways if station in way), None)
        if verdict is Verdict.CHOICE and way is not None:
            held = [s for s in search.problem.build.fits if s not in way]
            chains[station] = explain_change(search, station, strict=False, held=held, most=1)
    return chains


def _checks(oracle: Oracle, kindly: Verdicts) -> tuple[Check, ...]:
    """Unproven joints between parts that some irredundant plan would put together."""
    problem = oracle.problem
    fits, wanted = problem.build.fits, problem.wishes.fits
    changing = set().union(*kindly.ways) | set(wanted)
    there: dict[str, list[str | None]] = {}
    found = []
    for joint in problem.joints:
        bit = oracle.reason(Reason(ReasonKind.UNPROVEN, joint.iri))
        if not bit or not changing.intersection(joint.stations):
            continue
        for station in joint.stations:
            if station in wanted:
                there[station] = [wanted[station]]
            elif station in fits and station not in there:
                options = list((kindly.options or {}).get(station, ()))
                stays = kindly.verdicts[station] is not Verdict.MUST
                there[station] = [*([fits[station]] if stays else []), *options]
        doubts = unproven_meetings(problem, joint, there)
        if doubts.meetings:
            found.append(_turning(oracle, joint, bit, doubts, kindly))
    return tuple(sorted(found, key=lambda c: (not c.ends_it, -len(c.turns), c.joint)))


def _turning(oracle: Oracle, joint: Joint, bit: int, doubts: Doubts, kindly: Verdicts) -> Check:
    """What changes if this joint alone turns out not to fit."""
    refuted = _also(oracle, oracle.kindly | bit, kindly)
    turns = tuple(
        Turn(station, kindly.verdicts[station], verdict)
        for station, verdict in refuted.verdicts.items()
        if verdict is not kindly.verdicts[station]
    )
    return Check(joint.iri, doubts.meetings, turns, not refuted.workable, doubts.others)
