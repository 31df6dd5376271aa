"""Why a station must change: a chain of reasons from what is fitted to the part that cannot stay.

The solver names an irreducible set of reasons. Here they are put in the order a person would tell
them: start from what is fitted, go from joint to joint, and say at each what no longer fits, by
which values, and what is left. Words are made elsewhere; these are values.
"""

from __future__ import annotations

from collections.abc import Sequence

from .oracle import Oracle
from .problem import Problem, Reason, ReasonKind
from .telling import Chain, Meeting, Step, Telling
from .verdicts import Search, in_order, irreducible

__all__ = [
    "MOST_CHAINS", "Chain", "Meeting", "Step", "explain_change", "explain_to_the_end",
    "nearest_reasons",
]  # fmt: skip


MOST_CHAINS = 3
"""So many chains are told of a station; the rest say little more."""


def explain_change(
    search: Search, station: str, *, strict: bool, held: Sequence[str] = (), most: int = MOST_CHAINS
) -> tuple[Chain, ...]:
    """Why `station` cannot keep its part while the stations of `held` keep theirs.

    Up to `most` chains, each by another last link, the first by the nearest reasons. They hold
    among the parts that are in question; see `explain_to_the_end`.

    Raises:
        ValueError: it can keep its part.
    """
    oracle = search.oracle
    given = oracle.keeping(held) | oracle.kept(station)
    pool = search.reading
    chains: list[Chain] = []
    while len(chains) < most:
        reasons = nearest_reasons(oracle, pool, given)
        if reasons is None:
            break
        chain = Telling(oracle, reasons, station, held, strict=strict).chain()
        chains.append(chain)
        last = {step.reason for step in chain.steps if step.station == station}
        joints = (ReasonKind.JOINT, ReasonKind.UNPROVEN)
        spared = sum(oracle.reason(r) for r in last if r.kind in joints) & pool
        if not spared:
            break
        pool &= ~spared
    if not chains:
        raise ValueError(f"{station} can keep its part")
    return tuple(chains)


def explain_to_the_end(
    problem: Problem, station: str, *, held: Sequence[str] = (), most: int = MOST_CHAINS
) -> tuple[Chain, ...]:
    """The same, kindly, where the reasons hold against every part of the catalogue.

    Of many parts only those in question are compiled. What refutes a chain is taken in, and
    another one looked for, until nothing does.
    """
    while True:
        with Search(problem, strict=False) as search:
            chains = explain_change(search, station, strict=False, held=held, most=most)
        plans = [plan for chain in chains if (plan := _refuting(problem, chain, held)) is not None]
        if not plans:
            return chains
        problem = problem.with_also(plans)


def _refuting(problem: Problem, chain: Chain, held: Sequence[str]) -> dict[str, str | None] | None:
    """A plan in which all that a chain says holds, and its station keeps its part all the same."""
    reasons = dict.fromkeys(step.reason for step in chain.steps)
    return problem.refuting(reasons, (chain.station, *held))


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
