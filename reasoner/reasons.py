"""Why a station must change: a chain of reasons from what is fitted to the part that cannot stay.

The solver names an irreducible set of reasons. Here they are put in the order a person would tell
them: start from what is fitted, go from joint to joint, and say at each what no longer fits, by
which values, and what is left. Words are made elsewhere; these are values.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice

from .oracle import Oracle
from .reason import JOINTS, Reason
from .telling import Chain, Meeting, Step, Telling
from .verdicts import Search, in_order, irreducible

__all__ = [
    "MOST_CHAINS", "Chain", "Meeting", "Step", "explain_change", "nearest_reasons",
]  # fmt: skip


MOST_CHAINS = 3
"""So many chains are told of a station; the rest say little more."""


def explain_change(
    search: Search, station: str, *, strict: bool, held: Sequence[str] = (), most: int = MOST_CHAINS
) -> tuple[Chain, ...]:
    """Why `station` cannot keep its part while the stations of `held` keep theirs.

    Up to `most` chains, each by another last link, the first by the nearest reasons. They hold
    against every part of the catalogue, but where the chain itself says that it does not.

    Raises:
        ValueError: it can keep its part.
    """
    chains = tuple(islice(_chains(search, station, held, strict=strict), most))
    if not chains:
        raise ValueError(f"{station} can keep its part")
    return chains


def _chains(search: Search, station: str, held: Sequence[str], *, strict: bool) -> Iterator[Chain]:
    oracle, pool = search.oracle, search.reading
    given = oracle.keeping(held) | oracle.kept(station)
    of_all = None if strict else _of_all(search, station, held)
    chain = of_all
    if of_all is None or not of_all.closed:
        chain = _nearest(search, pool, given, station, held, strict=strict)
        if of_all is not None and chain is not None and not chain.is_of_all:
            yield of_all
    # Beside one that holds of all parts none is told of which that is not proven.
    while chain is not None and (of_all is None or chain.is_of_all):
        yield chain
        last = {step.reason for step in chain.steps if step.station == station}
        spared = sum(oracle.reason(r) for r in last if r.kind in JOINTS) & pool
        if not spared:
            return
        pool &= ~spared
        chain = _nearest(search, pool, given, station, held, strict=strict)


def _of_all(search: Search, station: str, held: Sequence[str]) -> Chain | None:
    """Where only some parts are in question: a chain that holds of all there are."""
    reasons = search.problem.against_all([station, *held])
    if reasons is None:
        return None
    return Telling(search.oracle, reasons, station, held, strict=False).chain()


def _nearest(
    search: Search, pool: int, given: int, station: str, held: Sequence[str], *, strict: bool
) -> Chain | None:
    """A chain by the nearest reasons of a pool; None if none hold."""
    reasons = nearest_reasons(search.oracle, pool, given)
    if reasons is None:
        return None
    chain = Telling(search.oracle, reasons, station, held, strict=strict).chain()
    # What a chain closes is closed to all parts; else only those in question were asked.
    return replace(chain, is_of_all=chain.closed or not search.problem.car.is_partial)


def nearest_reasons(oracle: Oracle, pool: int, given: int) -> tuple[Reason, ...] | None:
    """An irreducible set of the reasons of `pool` against what is given.

    Measured joints and near reasons come first. None if all hold together.
    """
    found = irreducible(oracle, pool & ~oracle.stated, given)
    if found is None:
        found = irreducible(oracle, pool, given)
    if found is None:
        return None
    return in_order(oracle, found)
