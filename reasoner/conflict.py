"""When no plan is workable: the smallest reasons that cannot hold together, and what to drop.

A smallest conflict is found by letting a hitting-set solver guess and the engine correct it: every
set of reasons that can still hold together shows reasons of which a conflict needs at least one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pysat.examples.hitman import Hitman

from .problem import Problem, Reason, ReasonKind
from .verdicts import Search, reasons_against

_WISHES = (ReasonKind.FIT, ReasonKind.KEEP, ReasonKind.LIMIT)
_MOST_GUESSES = 2000


@dataclass(frozen=True, slots=True)
class Release:
    """A smallest set of wishes to drop, and what dropping them opens.

    `way` is one irredundant set of stations that would then change.
    """

    wishes: tuple[Reason, ...]
    way: frozenset[str]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why nothing works: `reasons` is as small as can be (`smallest` says so; else irreducible)."""

    reasons: tuple[Reason, ...]
    smallest: bool
    releases: tuple[Release, ...]


def find_conflict(problem: Problem, *, strict: bool = False, most_releases: int = 8) -> Conflict:
    """The smallest conflict of a problem without a workable plan.

    Raises:
        ValueError: the problem has a workable plan.
    """
    with Search(problem, strict=strict) as search:
        reasons, smallest = _smallest_reasons(search)
        releases = _releases(search, most_releases)
    return Conflict(reasons, smallest, releases)


def _smallest_reasons(search: Search) -> tuple[tuple[Reason, ...], bool]:
    problem = search.problem
    irreducible = reasons_against(search, ())
    if len(irreducible) <= 1:
        return irreducible, True
    with Hitman(solver="m22", htype="sorted") as hitman:
        for _ in range(_MOST_GUESSES):
            guess = hitman.get()
            if guess is None:
                break
            guess = sorted(guess)
            if not search.feasible(guess, ()):
                return tuple(sorted(map(problem.reason_of, guess))), True
            if len(guess) >= len(irreducible):
                return irreducible, True
            hitman.hit(_left_out(search, guess))
    return irreducible, False


def _left_out(search: Search, guess: Sequence[int]) -> list[int]:
    """Grow a set of reasons that hold together as far as it goes; what is left must be hit."""
    held = list(guess)
    out: list[int] = []
    for switch in search.base:
        if switch in guess:
            continue
        if search.feasible([*held, switch], ()):
            held.append(switch)
        else:
            out.append(switch)
    return out


def _releases(search: Search, most: int) -> tuple[Release, ...]:
    """The smallest sets of wishes whose loss makes a plan workable, fewest wishes first."""
    problem = search.problem
    wishes = [s for s in search.base if problem.reason_of(s).kind in _WISHES]
    facts = [s for s in search.base if s not in wishes]
    found: list[Release] = []
    with Hitman(solver="m22", htype="sorted") as hitman:
        # Each conflict among wishes must lose one; a minimal hitting set of them all is a release.
        while len(found) < most:
            guess = hitman.get()
            if guess is None:
                break
            guess = sorted(guess)
            kept = [s for s in wishes if s not in guess]
            plan = search.with_only(facts + kept)
            if plan is not None:
                if not guess:
                    raise ValueError("the problem has a workable plan")
                changes, _ = search.shrink(plan, facts + kept)
                dropped = tuple(problem.reason_of(s) for s in guess)
                found.append(Release(dropped, changes))
                hitman.block(guess)
                continue
            core = [s for s in kept if s in _core_among(search, facts, kept)]
            if not core:
                break
            hitman.hit(core)
    return tuple(found)


def _core_among(search: Search, facts: Sequence[int], kept: Sequence[int]) -> set[int]:
    """Wishes that already conflict, given the facts; every one of them is needed for it."""
    core = [s for s in search.core(facts, kept) if s in set(kept)]
    for switch in list(core):
        without = [s for s in core if s != switch]
        if not search.feasible(facts, without):
            core = without
    return set(core)
