"""The fewest stations that must change, proven: cores and smallest sets that hit them all.

Every proof that a set of stations cannot all stay names some of which one must change. A smallest
set that hits every such core is a lower bound; as soon as changing just that set is workable, it
is the answer.
"""

from __future__ import annotations

from collections.abc import Collection

from .hitting import smallest_hitting_set
from .verdicts import Search


def least_change(search: Search, fitted: Collection[str] = ()) -> frozenset[str] | None:
    """A smallest set of stations, beside those fitted, whose change makes the wishes workable.

    `fitted` are stations fitted by the search's own assumptions, beside those the wishes name.
    The same for the same catalogue and wishes. None where no plan is workable.
    """
    oracle = search.oracle
    given = {*search.problem.wishes.fits, *fitted}
    if oracle.find(search.reading) is None:
        return None
    bits = {s: oracle.kept(s) for s in oracle.tables.free if s not in given}
    everything = sum(bits.values())
    cores: list[int] = []
    while True:
        changing = smallest_hitting_set(cores) or 0
        if oracle.find(search.reading | everything & ~changing) is not None:
            return frozenset(s for s, bit in bits.items() if bit & changing)
        cores.append(oracle.refuted & everything)
