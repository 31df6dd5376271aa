"""Find what cannot all be true in closed facts, and name the statements that make it so.

The conditions are those of the OWL 2 RL rules that end in `false` (W3C OWL 2 Profiles, Tables 4, 5
and 7). They are looked up in what the engine closed, so that each can be told with its causes;
whatever else the engine objects to is passed on in its own words. One thing more is settled here:
names of the catalogue stand for different things, so two names that would have to be one and the
same (eq-*, prp-fp, prp-ifp, prp-key) are a contradiction too.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from itertools import combinations
from typing import Protocol, TypeAlias

from rdflib import OWL, RDF, URIRef
from rdflib.term import BNode, Node

from .errors import CatalogueRefused, Fault
from .reading import Facts, Triple
from .terms import local_name

_TOLD_HERE = re.compile("isjoint|rreflexive|symmetric|sameAs")

_About: TypeAlias = Callable[[Iterable[Node]], list[Triple]]
"""The statements that any of some things takes part in, in the order of the facts."""


class Closed(Protocol):
    """What closed facts are asked here, whichever engine closed them."""

    def of_type(self, kind: URIRef) -> list[Node]:
        """The properties of a kind, in order."""

    def some_are_the_same(self) -> bool:
        """Whether two nodes may have to be one; False is certain."""

    def same(self) -> Iterable[tuple[Node, Node]]:
        """Nodes that would have to be one (owl:sameAs), both ways round."""

    def exclusive_kinds(self) -> set[tuple[Node, Node]]:
        """Classes that have nothing in common, each pair in order."""

    def exclusive_links(self) -> set[tuple[Node, Node]]:
        """Properties that have nothing in common, each pair in order."""

    def of_both(self, one: Node, other: Node) -> set[Node]:
        """What is of both classes."""

    def links(self, p: Node) -> set[tuple[Node, Node]]:
        """What is linked by a property."""

    def kind_of(self, kind: Node, other: Node) -> bool:
        """Whether a class is another or a kind of it."""

    def domains(self, p: Node) -> Iterable[Node]:
        """The classes of what has a property."""

    def ranges(self, p: Node) -> Iterable[Node]:
        """The classes of the values of a property."""

    def narrower(self, p: Node, other: Node) -> bool:
        """Whether a property is another or implies it."""

    def restricts(self, node: Node) -> Iterable[Node]:
        """The properties that a restriction is on; of equal ones, only the first has any."""


def refuse(faults: tuple[Fault, ...]) -> None:
    """Raise `CatalogueRefused` if there are any faults."""
    if faults:
        raise CatalogueRefused(
            "The catalogue contradicts itself; nothing is served from it.", faults
        )


def contradictions(closed: Closed, facts: Facts, messages: Iterable[str]) -> tuple[Fault, ...]:
    """Everything in `closed` that cannot be, ordered by place; empty if all is well.

    `messages` are the engine's own objections; those that are not found here are passed on.
    """
    messages = tuple(messages)
    # Once to see which things are involved, so that the facts are gone through a single time.
    involved: set[Node] = set()

    def note(things: Iterable[Node]) -> list[Triple]:
        involved.update(things)
        return []

    if not _found(closed, facts, messages, note):
        return ()
    return _found(closed, facts, messages, _statements(facts, involved))


def _found(
    closed: Closed, facts: Facts, messages: tuple[str, ...], about: _About
) -> tuple[Fault, ...]:
    # Two names made one swap all their facts, so that anything else found then only follows.
    found = set(one_and_the_same(closed, facts, about))
    if not found:
        for finder in (_kinds_that_exclude, _links_that_exclude, _rings, _both_ways):
            found |= set(finder(closed, facts, about))
        found |= {_in_the_engines_words(m, facts) for m in messages if not _TOLD_HERE.search(m)}
    if not found:
        found |= {_in_the_engines_words(m, facts) for m in messages}
    return tuple(sorted(found, key=lambda f: (f.place, f.node, f.rule, f.what)))


def _statements(facts: Facts, involved: set[Node]) -> _About:
    order: dict[Triple, int] = {}
    taking_part: dict[Node, list[Triple]] = {}
    for at, triple in enumerate(facts.sources):
        s, _, o = triple
        for node in {s, o} & involved if s in involved or o in involved else ():
            taking_part.setdefault(node, []).append(triple)
            order[triple] = at

    def about(things: Iterable[Node]) -> list[Triple]:
        found = {t for thing in set(things) for t in taking_part.get(thing, ())}
        return sorted(found, key=order.__getitem__)

    return about


def one_and_the_same(closed: Closed, facts: Facts, about: _About) -> Iterator[Fault]:
    """Names that would have to stand for one thing; by what is stated of them, if that says it."""
    if not closed.some_are_the_same():
        return
    explained: set[frozenset[Node]] = set()
    functional = closed.of_type(OWL.FunctionalProperty)
    for p, groups in _grouped(facts, functional).items():
        for s, values in groups.items():
            if len(values) > 1:
                explained.update(frozenset(pair) for pair in combinations(values, 2))
                causes = [(s, p, o) for o in values]
                what = f"{local_name(p)} can be one thing only, not {_and(values)}"
                yield _fault(facts, s, "prp-fp", what, causes)
    inverse = closed.of_type(OWL.InverseFunctionalProperty)
    for p, groups in _grouped(facts, inverse, backwards=True).items():
        for o, subjects in groups.items():
            if len(subjects) > 1:
                explained.update(frozenset(pair) for pair in combinations(subjects, 2))
                causes = [(s, p, o) for s in subjects]
                what = f"only one thing can have it as “{local_name(p)}”, not {_and(subjects)}"
                yield _fault(facts, o, "prp-ifp", what, causes)
    if explained:
        return
    for s, o in closed.same():
        if isinstance(s, URIRef) and isinstance(o, URIRef) and str(s) < str(o):
            what = (
                f"{_and((s, o))} are different things but would have to be one and the same; "
                "parts that serve for one another are ko:interchangesWith"
            )
            causes = [t for t in about((s, o)) if t[1] == OWL.sameAs]
            yield _fault(facts, s, "eq-diff", what, causes)


def _kinds_that_exclude(closed: Closed, facts: Facts, about: _About) -> Iterator[Fault]:
    for one, other in sorted(closed.exclusive_kinds()):
        for x in sorted(closed.of_both(one, other), key=str):
            causes = [t for k in (one, other) for t in _leading_to_kind(x, k, closed, about)]
            what = f"{facts.name(x)} cannot be both {local_name(one)} and {local_name(other)}"
            yield _fault(facts, x, "cax-dw", what, causes or about((x,)))


def _links_that_exclude(closed: Closed, facts: Facts, about: _About) -> Iterator[Fault]:
    for one, other in sorted(closed.exclusive_links()):
        both = closed.links(one) & closed.links(other)
        for x, y in sorted({(min(a, b, key=str), max(a, b, key=str)) for a, b in both}):
            names = _and((x, y))
            what = (
                f"{names} are said to be both “{local_name(one)}” and “{local_name(other)}”, "
                "which exclude each other"
            )
            causes = _linking((x, y), (one, other), closed, about)
            yield _fault(facts, x, "prp-pdw", what, causes)


def _rings(closed: Closed, facts: Facts, about: _About) -> Iterator[Fault]:
    for p in closed.of_type(OWL.IrreflexiveProperty):
        links = closed.links(p)
        left = {x for x, y in links if x == y}
        while left:
            first = min(left, key=str)
            ring = {x for x in left if (first, x) in links and (x, first) in links}
            ring |= {first}
            left -= ring
            causes = _linking(ring, (p,), closed, about)
            what = (
                f"{_and(ring)} stand in “{local_name(p)}” to one another in a ring"
                if len(ring) > 1
                else f"{local_name(first)} cannot stand in “{local_name(p)}” to itself"
            )
            yield _fault(facts, first, "prp-irp", what, causes)


def _both_ways(closed: Closed, facts: Facts, about: _About) -> Iterator[Fault]:
    for p in closed.of_type(OWL.AsymmetricProperty):
        links = closed.links(p)
        for x, y in links:
            if str(x) <= str(y) and (y, x) in links:
                what = f"{_and((x, y))} stand in “{local_name(p)}” both ways round"
                yield _fault(facts, x, "prp-asyp", what, _linking((x, y), (p,), closed, about))


def _in_the_engines_words(message: str, facts: Facts) -> Fault:
    nodes = [URIRef(iri) for iri in re.findall(r"https?://[^\s'\",<>()]+", message)]
    named = next((n for n in nodes if n in facts.files), None)
    what = re.sub(r"https?://[^\s'\",<>()]+", lambda m: local_name(m[0]), message)
    node = local_name(named) if named is not None else "catalogue"
    place = facts.place(named) if named is not None else "unknown file"
    return Fault(node, place, "OWL 2 RL", what)


def _grouped(
    facts: Facts, properties: Iterable[Node], *, backwards: bool = False
) -> dict[Node, dict[Node, set[Node]]]:
    found: dict[Node, dict[Node, set[Node]]] = {p: {} for p in properties}
    for s, q, o in facts.sources if found else ():
        groups = found.get(q)
        if groups is not None and isinstance(o, (URIRef, BNode)):
            key, value = (o, s) if backwards else (s, o)
            groups.setdefault(key, set()).add(value)
    return found


def _leading_to_kind(x: Node, kind: Node, closed: Closed, about: _About) -> Iterator[Triple]:
    """Statements that make `x` a `kind`: its type, or how it is used."""

    def reaches(cls: Node) -> bool:
        return closed.kind_of(cls, kind)

    for s, p, o in about((x,)):
        by_type = s == x and p == RDF.type and reaches(o)
        as_subject = s == x and any(map(reaches, closed.domains(p)))
        as_object = o == x and any(map(reaches, closed.ranges(p)))
        given = p == OWL.hasValue and any(
            reaches(kind_of) for q in closed.restricts(s) for kind_of in closed.ranges(q)
        )
        if by_type or as_subject or as_object or given:
            yield s, p, o


def _linking(
    things: Iterable[Node], links: Iterable[Node], closed: Closed, about: _About
) -> list[Triple]:
    """Statements between two of `things` under one of `links` or a narrower property."""
    things, links = set(things), set(links)
    return [
        (s, p, o)
        for s, p, o in about(things)
        if s in things and o in things and any(closed.narrower(p, q) for q in links)
    ]


def _and(nodes: Iterable[Node]) -> str:
    names = sorted(local_name(n) for n in nodes)
    return " and ".join((", ".join(names[:-1]), names[-1]) if len(names) > 1 else names)


def _fault(facts: Facts, node: Node, rule: str, what: str, causes: Iterable[Triple]) -> Fault:
    told = sorted({_told(facts, t) for t in causes})
    return Fault(facts.name(node), facts.place(node), rule, what, tuple(told))


def _told(facts: Facts, triple: Triple) -> str:
    s, p, o = triple
    if p == OWL.hasValue:
        link = next(
            (local_name(q) for r, d, q in facts.sources if (r, d) == (s, OWL.onProperty)), ""
        )
        said = f"every {facts.name(s)} {link} {facts.name(o)}"
    else:
        said = f"{facts.name(s)} {'is a' if p == RDF.type else local_name(p)} {facts.name(o)}"
    return f"{said} (says {', '.join(map(local_name, facts.sources[triple]))})"
