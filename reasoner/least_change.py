"""The fewest stations that must change, proven: cores and smallest sets that hit them all.

Stations that no workable plan keeps are in every such set; most often they are all of it. For the
rest, every proof that a set of stations cannot all stay names some of which one must change. A
smallest set that hits every such core is a lower bound; as soon as changing just that set is
workable, it is the answer.
"""

from __future__ import annotations

from collections.abc import Collection

from .hitting import smallest_hitting_set
from .oracle import Oracle
from .verdicts import Search, bits_of


def least_change(search: Search, fitted: Collection[str] = ()) -> frozenset[str] | None:
    """A smallest set of stations, beside those fitted, whose change makes the wishes workable.

    `fitted` are stations fitted by the search's own assumptions, beside those the wishes name.
    The same for the same catalogue and wishes: of several the one that has the first station in
    order that any of them has, and so on. None where no plan is workable.
    """
    given = {*search.problem.wishes.fits, *fitted}
    return least_of(search.oracle, search.reading, given)


def least_of(oracle: Oracle, reading: int, given: Collection[str]) -> frozenset[str] | None:
    """As `least_change`, of a reading in which the stations in `given` are fitted."""
    implied = oracle.implied(reading)
    if implied is None:
        return None
    gone = set(implied)
    kept = oracle.tables.kept
    bits = {s: oracle.kept(s) for s in oracle.tables.free if s not in given}
    everything = sum(bits.values())
    must = sum(bit for station, bit in bits.items() if -kept[station] in gone)
    if oracle.find(reading | everything & ~must) is None:
        plan = oracle.find(reading)
        if plan is None:
            return None
        must |= _never_kept(oracle, reading, [b for b in bits.values() if not b & (plan | must)])
        must |= _hitting(oracle, reading, everything & ~must)
    return frozenset(station for station, bit in bits.items() if bit & must)


def _never_kept(oracle: Oracle, reading: int, waiting: list[int]) -> int:
    """Those of the stations that no workable plan keeps. One plan speaks for all that it keeps."""
    found = 0
    while waiting:
        plan = oracle.find(reading | waiting[0])
        if plan is None:
            found |= waiting.pop(0)
        else:
            waiting = [bit for bit in waiting if not plan & bit]
    return found


def _hitting(oracle: Oracle, reading: int, stations: int) -> int:
    """The fewest of `stations` that must change if every other of them stays."""
    cores: list[int] = []
    while True:
        changing = smallest_hitting_set(cores) or 0
        if oracle.find(reading | stations & ~changing) is not None:
            return changing
        cores.append(_irreducible(oracle, reading, oracle.refuted & stations))


def _irreducible(oracle: Oracle, reading: int, core: int) -> int:
    """Some of the stations of a core that cannot all stay either, and none to spare.

    Small cores leave little choice, and a choice is what takes long to make.
    """
    for bit in bits_of(core):
        if core & bit and oracle.find(reading | core & ~bit) is None:
            core &= oracle.refuted
    return core
