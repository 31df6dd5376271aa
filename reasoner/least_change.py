"""The fewest stations that must change, proven: cores and smallest sets that hit them all.

Every proof that a set of stations cannot all stay names some of which one must change. A smallest
set that hits every such core is a lower bound; as soon as changing just that set is workable, it
is the answer.
"""

from __future__ import annotations

from collections.abc import Collection

from pysat.examples.hitman import Hitman

from .verdicts import Search


def least_change(search: Search, fitted: Collection[str] = ()) -> frozenset[str] | None:
    """A smallest set of stations, beside those fitted, whose change makes the wishes workable.

    `fitted` are stations fitted by the search's own assumptions, beside those the wishes name.
    The same for the same catalogue and wishes. None where no plan is workable.
    """
    problem = search.problem
    given = {*problem.wishes.fits, *fitted}
    free = sorted(s for s in problem.build.fits if s not in given)
    if search.solve() is None:
        return None
    with Hitman(solver="g4", htype="sorted") as hitter:
        changing: frozenset[str] = frozenset()
        while True:
            held = {problem.kept(s): s for s in free if s not in changing}
            if search.solve(held) is not None:
                return changing
            core = search.core(search.base, list(held))
            hitter.hit(sorted(held[literal] for literal in core if literal in held))
            changing = frozenset(hitter.get())
