"""The links of one property, kept in both directions, and what each link leads to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TypeAlias

Held: TypeAlias = int | tuple[int, ...] | set[int]
"""What one node is linked to: most have one, few have many, and each way costs what it must."""

Table: TypeAlias = dict[int, Held]

_MANY = 8


def put(table: Table, key: int, value: int) -> bool:
    """Link `key` to `value`; whether that is news."""
    held = table.get(key)
    if held is None:
        table[key] = value
    elif type(held) is int:
        if held == value:
            return False
        table[key] = (held, value)
    elif value in held:  # type: ignore[operator]
        return False
    elif type(held) is tuple:
        table[key] = (*held, value) if len(held) < _MANY else {*held, value}
    else:
        held.add(value)  # type: ignore[union-attr]
    return True


def take(table: Table, key: int, value: int) -> bool:
    """Unlink `key` from `value`; whether they were linked."""
    held = table.get(key)
    if held is None:
        return False
    if type(held) is int:
        if held != value:
            return False
        del table[key]
    elif value not in held:  # type: ignore[operator]
        return False
    elif type(held) is tuple:
        rest = tuple(v for v in held if v != value)
        table[key] = rest[0] if len(rest) == 1 else rest
    else:
        held.discard(value)  # type: ignore[union-attr]
        if not held:
            del table[key]
    return True


def linked(table: Table, key: int) -> Iterable[int]:
    """All that `key` is linked to."""
    held = table.get(key)
    if held is None:
        return ()
    return (held,) if type(held) is int else held  # type: ignore[return-value]


def has(table: Table, key: int, value: int) -> bool:
    """Whether `key` is linked to `value`."""
    held = table.get(key)
    if held is None:
        return False
    return held == value if type(held) is int else value in held  # type: ignore[operator]


def pairs(table: Table) -> Iterator[tuple[int, int]]:
    """Every link."""
    for key in table:
        for value in linked(table, key):
            yield key, value


@dataclass(slots=True, eq=False)
class Relation:
    """One property: its links, and the rules that a link of it starts.

    A property that is only `use` says no more than what kind of thing its ends are; its links are
    not kept. `given` are the classes of what is linked
    to a value (cls-hv1, cls-hv2). `before` and `after` of a chain lead away from the link.
    """

    name: int
    use: bool
    shown: bool
    telling: bool
    out: Table = field(default_factory=dict)
    into: Table = field(default_factory=dict)
    domain: tuple[int, ...] = ()
    range: tuple[int, ...] = ()
    given: dict[int, int] = field(default_factory=dict)
    wider: tuple[Relation, ...] = ()
    inverses: tuple[Relation, ...] = ()
    transitive: bool = False
    functional: bool = False
    inverse_functional: bool = False
    chains: list[tuple[tuple[Relation, ...], tuple[Relation, ...], Relation]] = field(
        default_factory=list
    )


def reach(starts: Iterable[int], steps: Iterable[Relation], *, backwards: bool) -> Iterable[int]:
    """Where one comes to from `starts` along one relation after the other."""
    here = starts
    for step in steps:
        table = step.into if backwards else step.out
        there: set[int] = set()
        for node in here:
            held = table.get(node)
            if held is not None:
                there.update((held,) if type(held) is int else held)  # type: ignore[arg-type]
        if not there:
            return ()
        here = there
    return here
