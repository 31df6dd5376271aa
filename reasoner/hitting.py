"""Smallest sets that have something in common with each of some sets; always the same one."""

from __future__ import annotations

from collections.abc import Sequence


def smallest_hitting_set(sets: Sequence[int], but: Sequence[int] = ()) -> int | None:
    """A smallest set that meets every one of `sets`, and contains none of `but`.

    Sets are numbers, one bit for each member. Of several the one whose members have the lowest
    bits, looked at from the lowest. None if there is none.

    >>> smallest_hitting_set([0b011, 0b110])
    2
    >>> smallest_hitting_set([0b001, 0b110]), smallest_hitting_set([0b001, 0b110], [0b011])
    (3, 5)
    """
    if not all(sets):
        return None
    most = len(sets)
    least = _apart(sets)
    for size in range(least, most + 1):
        found = _hit(list(sets), size, 0, 0, but)
        if found is not None:
            return found
    return None


def _apart(sets: Sequence[int]) -> int:
    """How many of the sets have nothing in common: so many members at least are needed."""
    taken = count = 0
    for each in sorted(sets, key=int.bit_count):
        if not taken & each:
            taken |= each
            count += 1
    return count


def _hit(sets: list[int], size: int, chosen: int, below: int, but: Sequence[int]) -> int | None:
    """The first set of `size` more members, all above the bits of `below`, that hits all sets."""
    if any(chosen & each == each for each in but):
        return None
    if not sets:
        return chosen
    if size == 0 or any(not each & ~below for each in sets) or _apart(sets) > size:
        return None
    union = 0
    for each in sets:
        union |= each
    union &= ~below
    while union:
        member = union & -union
        union ^= member
        rest = [each for each in sets if not each & member]
        found = _hit(rest, size - 1, chosen | member, below | (member * 2 - 1), but)
        if found is not None:
            return found
        below |= member
        if any(not each & ~below for each in sets):
            return None
    return None
