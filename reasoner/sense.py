"""Check what neither shapes nor OWL can say: rings, one part a station, nothing entered twice."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from rdflib import RDFS, URIRef
from rdflib.term import Literal, Node

from .errors import Fault
from .reading import Facts, Triple
from .terms import KO, SCHEMA, local_name

Table = dict[Node, list[Node]]

_NEVER_IN_A_RING = {
    KO.supersededBy: "each would have taken the other's place",
    KO.basedOn: "each would have to be built from the other",
    KO.after: "each would have to be done before the other",
    KO.reworkOf: "each would have to be made from the other",
    RDFS.subClassOf: "each would be a kind of the other",
}


def check_sense(facts: Facts, derived: Iterable[Triple]) -> Iterator[Fault]:
    """Every fault that takes several statements together to see."""
    stated: dict[Node, Table] = {}
    for s, p, o in facts.sources:
        stated.setdefault(p, {}).setdefault(s, []).append(o)
    inherited: dict[Node, Table] = {}
    for s, p, o in derived:
        if p == SCHEMA.manufacturer:
            inherited.setdefault(p, {}).setdefault(s, []).append(o)
    for link, why in _NEVER_IN_A_RING.items():
        yield from _rings(facts, link, stated.get(link, {}), why)
    yield from _stations_filled_twice(facts, stated)
    yield from _tolerances_stated_twice(facts, stated)
    makers = stated.get(SCHEMA.manufacturer, {}) | inherited.get(SCHEMA.manufacturer, {})
    yield from _parts_entered_twice(facts, stated.get(SCHEMA.mpn, {}), makers)


def _rings(facts: Facts, link: Node, table: Table, why: str) -> Iterator[Fault]:
    done: set[Node] = set()
    for start in table:
        path: list[Node] = []
        ring = _ring_from(start, table, path, done)
        if ring:
            first = ring.index(min(ring, key=str))
            ring = ring[first:] + ring[:first]
            names = " → ".join(facts.name(n) for n in (*ring, ring[0]))
            what = f"“{local_name(link)}” goes round in a ring: {names}; {why}"
            yield Fault(facts.name(ring[0]), facts.place(ring[0]), "no rings", what)


def _ring_from(start: Node, table: Table, path: list[Node], done: set[Node]) -> list[Node] | None:
    """A ring that can be reached from `start`; what was seen to its end is not seen again."""
    waiting: list[tuple[Node, bool]] = [(start, True)]
    while waiting:
        node, entering = waiting.pop()
        if not entering:
            path.pop()
            done.add(node)
        elif node in path:
            ring = path[path.index(node) :]
            done.update(path)
            return ring
        elif node not in done:
            path.append(node)
            waiting.append((node, False))
            waiting += [(n, True) for n in table.get(node, ()) if isinstance(n, URIRef)]
    return None


def _stations_filled_twice(facts: Facts, stated: dict[Node, Table]) -> Iterator[Fault]:
    at, parts = stated.get(KO.atStation, {}), stated.get(KO.part, {})
    empty = stated.get(KO.leavesEmpty, {})
    for car, fits in stated.get(KO.has, {}).items():
        filled: dict[Node, dict[str, set[str]]] = {}
        for fit in fits:
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


def _tolerances_stated_twice(facts: Facts, stated: dict[Node, Table]) -> Iterator[Fault]:
    kinds, amounts = stated.get(KO.forKind, {}), stated.get(KO.amount, {})
    owners = {t: s for s, ts in stated.get(KO.ownTolerance, {}).items() for t in ts}
    found: dict[tuple[Node, Node], list[tuple[str, Node]]] = {}
    for tolerance, quantities in stated.get(KO.onQuantity, {}).items():
        holders = [owners[tolerance]] if tolerance in owners else kinds.get(tolerance, [])
        for holder in holders:
            for quantity in quantities:
                for amount in amounts.get(tolerance, ()):
                    found.setdefault((holder, quantity), []).append((str(amount), tolerance))
    for (holder, quantity), said in sorted(found.items(), key=lambda pair: str(pair[0])):
        if len({amount for amount, _ in said}) > 1:
            numbers = " and ".join(sorted({amount for amount, _ in said}))
            what = f"{local_name(quantity)} of {local_name(holder)} has two tolerances: {numbers}"
            node = said[0][1]
            yield Fault(local_name(holder), facts.place(node), "one tolerance", what)


def _parts_entered_twice(facts: Facts, numbers: Table, makers: Table) -> Iterator[Fault]:
    """The key of a part is its maker and its number, however the number is punctuated."""
    seen: dict[tuple[str, str], Node] = {}
    for part, written in sorted(numbers.items(), key=lambda pair: str(pair[0])):
        for maker in makers.get(part, ()):
            for number in written:
                if isinstance(number, Literal):
                    key = (str(maker), re.sub(r"[\W_]+", "", str(number)).casefold())
                    first = seen.setdefault(key, part)
                    if first != part:
                        what = (
                            f"the same part as {facts.name(first)}: both are “{number}” of "
                            f"{local_name(maker)}; enter it once"
                        )
                        rule = "a part is entered once"
                        yield Fault(facts.name(part), facts.place(part), rule, what)
