"""Check what neither shapes nor OWL can say: rings, one part a station, nothing entered twice."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Final, TypeAlias

from rdflib import RDFS, URIRef
from rdflib.term import Literal, Node

from .errors import Fault
from .grouped import Grouped, by_property
from .reading import Facts, Triple
from .terms import KO, SCHEMA, local_name

Table: TypeAlias = Mapping[Node, Sequence[Node]]
Tables: TypeAlias = Callable[[Node], Table]
"""What is stated under a property, by subject."""

_PUNCTUATION: Final = re.compile(r"[\W_]+")

_NEVER_IN_A_RING: Final = {
    KO.supersededBy: "each would have taken the other's place",
    KO.basedOn: "each would have to be built from the other",
    KO.after: "each would have to be done before the other",
    KO.reworkOf: "each would have to be made from the other",
    RDFS.subClassOf: "each would be a kind of the other",
}


SENSE_PREDICATES: Final = (
    *_NEVER_IN_A_RING, KO.has, KO.atStation, KO.part, KO.leavesEmpty, KO.forKind, KO.amount,
    KO.ownTolerance, KO.onQuantity, SCHEMA.mpn, SCHEMA.manufacturer,
)  # fmt: skip
"""Every property that is looked at here."""


def check_sense(
    facts: Facts, derived: Iterable[Triple], stated: Grouped | None = None
) -> Iterator[Fault]:
    """Every fault that takes several statements together to see.

    `stated` is what `facts` state, by property, for who has it already.
    """
    tables = _tables_of(by_property(facts.sources) if stated is None else stated)
    numbers = PartNumbers()
    makers = makers_of(tables, derived)
    yield from check_sense_of(facts, tables)
    parts = sorted(tables(SCHEMA.mpn), key=str)
    yield from numbers.add(facts, parts, tables(SCHEMA.mpn), makers)


def check_sense_of(
    facts: Facts, tables: Tables, things: Collection[Node] | None = None
) -> Iterator[Fault]:
    """What makes no sense, of everything or of these things; parts entered twice aside."""
    for link, why in _NEVER_IN_A_RING.items():
        yield from _rings(facts, link, tables(link), why, things)
    yield from _stations_filled_twice(facts, tables, things)
    yield from _tolerances_stated_twice(facts, tables, things)


def makers_of(tables: Tables, derived: Iterable[Triple]) -> Table:
    """Who makes each part; what its family passes on counts more than what is stated of it."""
    inherited: dict[Node, list[Node]] = {}
    for s, p, o in derived:
        if p == SCHEMA.manufacturer:
            inherited.setdefault(s, []).append(o)
    return {**tables(SCHEMA.manufacturer), **inherited}


def _tables_of(stated: Grouped) -> Tables:
    made: dict[Node, dict[Node, list[Node]]] = {}

    def table(predicate: Node) -> Table:
        found = made.get(predicate)
        if found is None:
            found = made[predicate] = {}
            for s, _, o in stated.get(predicate, ()):
                found.setdefault(s, []).append(o)
        return found

    return table


def _rings(
    facts: Facts, link: Node, table: Table, why: str, things: Collection[Node] | None
) -> Iterator[Fault]:
    starts = table if things is None else [thing for thing in things if thing in table]
    if not _any_ring(starts, table):
        return
    ordered = {s: sorted(table[s], key=str) for s in sorted(table, key=str)}
    done: set[Node] = set()
    for start in ordered if things is None else sorted(starts, key=str):
        ring = _ring_from(start, ordered, done)
        if ring:
            first = ring.index(min(ring, key=str))
            ring = ring[first:] + ring[:first]
            names = " → ".join(facts.name(n) for n in (*ring, ring[0]))
            what = f"“{local_name(link)}” goes round in a ring: {names}; {why}"
            yield Fault(facts.name(ring[0]), facts.place(ring[0]), "no rings", what)


def _any_ring(starts: Iterable[Node], table: Table) -> bool:
    done: set[Node] = set()
    return any(_ring_from(start, table, done) for start in starts)


def _ring_from(start: Node, table: Table, done: set[Node]) -> list[Node] | None:
    """A ring that can be reached from `start`; what was seen to its end is not seen again."""
    path: dict[Node, None] = {}
    waiting: list[tuple[Node, bool]] = [(start, True)]
    while waiting:
        node, entering = waiting.pop()
        if not entering:
            path.popitem()
            done.add(node)
        elif node in path:
            walked = list(path)
            done.update(walked)
            return walked[walked.index(node) :]
        elif node not in done:
            path[node] = None
            waiting.append((node, False))
            waiting += [(n, True) for n in table.get(node, ()) if isinstance(n, URIRef)]
    return None


def _stations_filled_twice(
    facts: Facts, tables: Tables, things: Collection[Node] | None
) -> Iterator[Fault]:
    has, at, parts = tables(KO.has), tables(KO.atStation), tables(KO.part)
    empty = tables(KO.leavesEmpty)
    for car in has if things is None else [thing for thing in things if thing in has]:
        stations = [station for fit in has[car] for station in at.get(fit, ())]
        stations += empty.get(car, ())
        if len(stations) == len(set(stations)) and all(
            len(parts.get(fit, ())) <= 1 for fit in has[car]
        ):
            continue
        filled: dict[Node, dict[str, set[str]]] = {}
        for fit in has[car]:
            for station in at.get(fit, ()):
                for part in parts.get(fit, ()):
                    says = filled.setdefault(station, {}).setdefault(local_name(part), set())
                    says.update(map(local_name, facts.sources[(car, KO.has, fit)]))
        for station in empty.get(car, ()):
            says = filled.setdefault(station, {}).setdefault("nothing", set())
            says.update(map(local_name, facts.sources[(car, KO.leavesEmpty, station)]))
        for station, said in sorted(filled.items(), key=lambda pair: str(pair[0])):
            if len(said) > 1:
                what = f"says of {local_name(station)} that more than one part sits there"
                because = tuple(f"{p} (says {', '.join(sorted(by))})" for p, by in said.items())
                rule = "one part at one station"
                yield Fault(facts.name(car), facts.place(car), rule, what, tuple(sorted(because)))


def _tolerances_stated_twice(
    facts: Facts, tables: Tables, things: Collection[Node] | None
) -> Iterator[Fault]:
    kinds, amounts = tables(KO.forKind), tables(KO.amount)
    owners = {t: s for s, ts in tables(KO.ownTolerance).items() for t in ts}
    found: dict[tuple[Node, Node], list[tuple[str, Node]]] = {}
    for tolerance, quantities in tables(KO.onQuantity).items():
        holders: Sequence[Node]
        holders = [owners[tolerance]] if tolerance in owners else kinds.get(tolerance, [])
        for holder in holders:
            for quantity in quantities:
                for amount in amounts.get(tolerance, ()):
                    found.setdefault((holder, quantity), []).append((str(amount), tolerance))
    for (holder, quantity), said in sorted(found.items(), key=lambda pair: str(pair[0])):
        about = things is None or holder in things or any(t in things for _, t in said)
        if about and len({amount for amount, _ in said}) > 1:
            numbers = " and ".join(sorted({amount for amount, _ in said}))
            what = f"{local_name(quantity)} of {local_name(holder)} has two tolerances: {numbers}"
            node = said[0][1]
            yield Fault(local_name(holder), facts.place(node), "one tolerance", what)


class PartNumbers:
    """Which part has which maker and number, however the number is punctuated."""

    def __init__(self) -> None:
        self._first: dict[tuple[str, str], Node] = {}

    def add(
        self, facts: Facts, parts: Iterable[Node], numbers: Table, makers: Table
    ) -> Iterator[Fault]:
        """Note these parts, in order; a fault for each that is there under another name."""
        earlier: dict[tuple[str, str], Node] = {}
        for part in parts:
            for maker in makers.get(part, ()):
                for number in numbers.get(part, ()):
                    if not isinstance(number, Literal):
                        continue
                    key = _key(maker, number)
                    first = self._first.setdefault(key, part)
                    if first != part:
                        # Of what was there before and what comes the one that is first by name.
                        one, other = sorted((earlier.get(key, first), part), key=str)
                        earlier[key] = one
                        number = next(n for n in numbers[other] if _key(maker, n) == key)
                        what = (
                            f"the same part as {facts.name(one)}: both are “{number}” of "
                            f"{local_name(maker)}; enter it once"
                        )
                        rule = "a part is entered once"
                        yield Fault(facts.name(other), facts.place(other), rule, what)

    def drop(self, parts: Iterable[Node], numbers: Table, makers: Table) -> None:
        """Forget these parts, by the numbers and makers that they were noted with."""
        for part in parts:
            for maker in makers.get(part, ()):
                for number in numbers.get(part, ()):
                    key = _key(maker, number)
                    if self._first.get(key) == part:
                        del self._first[key]


def _key(maker: Node, number: Node) -> tuple[str, str]:
    return str(maker), _PUNCTUATION.sub("", str(number)).casefold()
