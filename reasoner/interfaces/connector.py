"""Connectors: what each way of a plug or socket carries.

A record of `contact` has `way` (a number), `function` (what it carries) and `use`: this half
"needs" it, "offers" it, or leaves it "spare".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .kind import EndValues, Finding, Kind, Outcome, Record, Relation, Tolerances, opposite, same
from .pairs import both_state, two

NAME = "Connector"
SIDES = ("plug", "socket")


@dataclass(frozen=True, slots=True)
class Contacts:
    """How the contacts of one half stand to the other's, as (way, function) pairs.

    `matched`: needed and offered at one way. `moved`: needed at the first way, offered at the
    second one instead, so re-pinning helps. `missing`: offered nowhere. `spare`: ways with
    nothing needed behind them on either half.
    """

    matched: tuple[tuple[int, str], ...]
    moved: tuple[tuple[int, int, str], ...]
    missing: tuple[tuple[int, str], ...]
    spare: tuple[int, ...]


def compare_contacts(first: Sequence[Record], second: Sequence[Record]) -> Contacts:
    """Lists what each half needs of the other: matched, moved to another way, missing, spare.

    >>> plug = [{"way": 1, "function": "earth", "use": "needs"},
    ...         {"way": 2, "function": "speed pulse", "use": "needs"}]
    >>> socket = [{"way": 1, "function": "earth", "use": "offers"},
    ...           {"way": 3, "function": "speed pulse", "use": "offers"},
    ...           {"way": 4, "use": "spare"}]
    >>> compare_contacts(plug, socket)  # doctest: +NORMALIZE_WHITESPACE
    Contacts(matched=((1, 'earth'),), moved=((2, 3, 'speed pulse'),), missing=(), spare=(4,))
    """
    matched: set[tuple[int, str]] = set()
    moved: set[tuple[int, int, str]] = set()
    missing: set[tuple[int, str]] = set()
    for here, there in ((first, second), (second, first)):
        offers = _by_use(there, "offers")
        for way, function in _by_use(here, "needs"):
            elsewhere = [at for at, what in offers if what == function]
            if way in elsewhere:
                matched.add((way, function))
            elif elsewhere:
                moved.add((way, elsewhere[0], function))
            else:
                missing.add((way, function))
    used = {way for way, _ in matched | missing} | {way for pair in moved for way in pair[:2]}
    ways = {_way(record) for record in (*first, *second)}
    return Contacts(
        tuple(sorted(matched)),
        tuple(sorted(moved)),
        tuple(sorted(missing)),
        tuple(sorted(ways - used)),
    )


def _way(record: Record) -> int:
    return int(record["way"])


def _by_use(records: Sequence[Record], use: str) -> list[tuple[int, str]]:
    return sorted(
        (_way(record), str(record.get("function", "")))
        for record in records
        if record.get("use") == use
    )


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:  # noqa: ARG001
    """Whether the halves go together and everything either of them needs arrives.

    >>> plug = EndValues("plug", {"connectorFamily": "C", "ways": 2,
    ...     "contact": ({"way": 1, "function": "reverse lamp", "use": "needs"},)})
    >>> socket = EndValues("socket", {"connectorFamily": "C", "ways": 2,
    ...     "contact": ({"way": 2, "function": "reverse lamp", "use": "offers"},)})
    >>> rule([plug, socket], {})[-1].note
    'reverse lamp is needed at way 1 and offered at way 2: re-pin'
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second))


def _findings(first: EndValues, second: EndValues) -> Iterator[Finding]:
    yield opposite(first, second, SIDES)
    yield same("connectorFamily", first, second)
    yield same("ways", first, second)
    if both_state("key", first, second):
        yield same("key", first, second)
    here, there = first.records("contact"), second.records("contact")
    if here is None or there is None:
        yield Finding("contact", Outcome.UNPROVEN, Relation.OFFERS, needs="contact")
        return
    found = compare_contacts(here, there)
    for way, function in found.missing:
        note = f"{function} is needed at way {way} and offered nowhere"
        yield Finding("contact", Outcome.CLASHES, Relation.OFFERS, function, None, note=note)
    for way, other, function in found.moved:
        note = f"{function} is needed at way {way} and offered at way {other}: re-pin"
        yield Finding("contact", Outcome.CLASHES, Relation.OFFERS, function, function, note=note)
    if found.matched or not (found.missing or found.moved):
        yield Finding("contact", Outcome.MATES, Relation.OFFERS, note=_summary(found))


def _summary(found: Contacts) -> str:
    carried = ", ".join(f"{way} {function}" for way, function in found.matched) or "none needed"
    spare = ", ".join(str(way) for way in found.spare)
    return f"ways carried: {carried}" + (f"; spare: {spare}" if spare else "")


# Cutting comes last: it cannot be undone.
KIND = Kind(
    NAME,
    rule,
    remedies=("adapter harness", "move the switches or sensors over", "re-pin", "cut and join"),
    equal=("connectorFamily", "ways"),
    if_stated=("key",),
)
