"""The smallest hitting set is smallest, and always the same one."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.hitting import smallest_hitting_set


def members(number: int) -> list[int]:
    """The bits of a set, the lowest first."""
    return [at for at in range(7) if number >> at & 1]


def by_definition(sets: list[int], but: list[int]) -> int | None:
    """Of all hitting sets that contain none of `but` the smallest, the lowest members first."""
    able = [
        number
        for number in range(1 << 6)
        if all(number & each for each in sets) and all(number & each != each for each in but)
    ]
    return min(able, key=lambda number: (number.bit_count(), members(number)), default=None)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    sets=st.lists(st.integers(1, 63), max_size=6),
    but=st.lists(st.integers(1, 63), max_size=3),
)
def test_a_hitting_set_is_the_first_of_the_smallest(sets: list[int], but: list[int]) -> None:
    assert smallest_hitting_set(sets, but) == by_definition(sets, but)


def test_nothing_hits_an_empty_set() -> None:
    assert smallest_hitting_set([0, 3]) is None
