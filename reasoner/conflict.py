"""When no plan is workable: the smallest reasons that cannot hold together, and what to drop.

A smallest conflict is found by guessing a smallest set that hits all that is known and letting the
oracle correct it: every set of reasons that can still hold together shows reasons of which a
conflict needs at least one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .hitting import smallest_hitting_set
from .oracle import Oracle
from .problem import Problem, Reason
from .reason import STATED
from .verdicts import Search, bits_of, in_order, irreducible, shrink

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
    """The smallest conflict of a problem without a workable plan; one that cannot be smaller of a
    large catalogue, if some parts that are not in question refute the smallest among the others.

    Raises:
        ValueError: the problem has a workable plan.
    """
    with Search(problem, strict=strict) as search:
        return conflict_of(search.oracle, search.reading, most_releases)


def conflict_of(oracle: Oracle, reading: int, most_releases: int = 8) -> Conflict:
    """As `find_conflict`, for a reading of a problem that is being looked at already."""
    bits, smallest = _smallest_reasons(oracle, reading)
    reasons: Sequence[Reason] = in_order(oracle, bits)
    if reading == oracle.kindly:
        # Among some parts the fewest; whether that is so among all takes too long to say.
        near, reasons = reasons, oracle.problem.irreducible(reasons)
        smallest = smallest and set(near) == set(reasons)
    return Conflict(tuple(sorted(reasons)), smallest, _releases(oracle, reading, most_releases))


def _smallest_reasons(oracle: Oracle, reading: int) -> tuple[int, bool]:
    """The nearest reasons if none are fewer; else the fewest, of several the nearest."""
    nearest = irreducible(oracle, reading, 0)
    if nearest is None:
        raise ValueError("the problem has a workable plan")
    corrections: list[int] = []
    for _ in range(_MOST_GUESSES):
        guess = smallest_hitting_set(corrections)
        if guess is None or guess.bit_count() >= nearest.bit_count():
            return nearest, True
        held = oracle.find(guess)
        if held is None:
            return guess, True
        corrections.append(_left_out(oracle, reading, held & reading))
    return nearest, False


def _left_out(oracle: Oracle, reading: int, held: int) -> int:
    """Grow a set of reasons that hold together as far as it goes; what is left must be hit."""
    # A limit on a sum is easily kept as long as little else is.
    for bit in (*bits_of(reading & oracle.limited), *bits_of(reading)):
        if not held & bit:
            more = oracle.find(held | bit)
            if more is not None:
                held = more & reading
    return reading & ~held


def _releases(oracle: Oracle, reading: int, most: int) -> tuple[Release, ...]:
    """The smallest sets of wishes whose loss makes a plan workable, fewest wishes first.

    Of several just as few, what was said beside before what is to be fitted.
    """
    wishes = [b for b in bits_of(reading) if oracle.reasons[b].kind in STATED]
    wishes.sort(key=lambda b: (-STATED.index(oracle.reasons[b].kind), oracle.reasons[b]))
    facts = reading & ~sum(wishes)
    found: list[Release] = []
    # Each conflict among wishes must lose one; a minimal hitting set of them all is a release.
    cores: list[int] = []
    released: list[int] = []
    while len(found) < most:
        guess = smallest_hitting_set(cores, released)
        if guess is None:
            break
        dropped = sum(bit for at, bit in enumerate(wishes) if guess >> at & 1)
        kept = sum(wishes) & ~dropped
        way = shrink(oracle, facts | kept)
        if way is not None:
            found.append(Release(in_order(oracle, dropped), way))
            released.append(guess)
            continue
        core = irreducible(oracle, kept, facts)
        if not core:
            break
        cores.append(sum(1 << at for at, bit in enumerate(wishes) if bit & core))
    return tuple(found)
