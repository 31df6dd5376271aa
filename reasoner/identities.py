"""Which names would have to stand for one thing (eq-sym, eq-trans, eq-rep, prp-fp, prp-ifp).

A catalogue in which two names would is refused, so this is only worked out to say which they are.
"""

from __future__ import annotations

from collections.abc import Iterable

from rdflib import OWL
from rdflib.term import Node

from .axioms import by_predicate
from .deduction import Deduction
from .reading import Triple
from .relation import has, linked

Pair = tuple[Node, Node]


class NotWorkedOut(Exception):
    """Two properties, or words of OWL, would be one: for the reference engine to say."""


def identities(deduction: Deduction, triples: Iterable[Triple]) -> list[Pair]:
    """All pairs of different nodes that would have to be one, both ways round.

    Raises:
        NotWorkedOut: properties would be the same.
    """
    triples = tuple(triples)
    classes: set[Pair] = set()
    while True:
        alike = [(a, OWL.equivalentClass, b) for a, b in classes]
        said = by_predicate((*triples, *alike))
        scratch = Deduction(said, deduction.axioms)
        groups = _merge(scratch)
        found = {(x, y) for group in groups for x in group for y in group if x != y}
        if any(scratch.terms[x] in scratch.relations for pair in found for x in pair):
            raise NotWorkedOut
        pairs = {(_term(scratch, x), _term(scratch, y)) for x, y in found}
        tree = scratch.tree
        more = {
            (_term(scratch, x), _term(scratch, y))
            for x, y in found
            if x in tree.above or x in tree.below or x in tree.meaning or _is_class(scratch, x)
        }
        if more <= classes:
            return sorted(pairs, key=lambda pair: (str(pair[0]), str(pair[1])))
        classes |= more


def _term(deduction: Deduction, x: int) -> Node:
    term = deduction.terms[x]
    if term is None:
        raise NotWorkedOut
    return term


def _is_class(deduction: Deduction, x: int) -> bool:
    return any(x in sort.classes for sort in deduction.sorts.values())


def _merge(deduction: Deduction) -> list[list[int]]:
    """Give every one of the same things all that the others have, until nothing is new."""
    while True:
        groups = _groups(deduction)
        news = False
        for group in groups:
            kinds = frozenset().union(*(deduction.sort[x].classes for x in group))
            for x in group:
                if not kinds <= deduction.sort[x].classes:
                    deduction.gain_all(x, kinds)
                    news = True
            for relation in deduction.relations.values():
                to = {o for x in group for o in linked(relation.out, x)}
                of = {s for x in group for s in linked(relation.into, x)}
                for x in group:
                    more = [(x, relation, o) for o in to if not has(relation.out, x, o)]
                    more += [(s, relation, x) for s in of if not has(relation.out, s, x)]
                    news = news or bool(more)
                    deduction.stack += more
        deduction.settle()
        if not news:
            return groups


def _groups(deduction: Deduction) -> list[list[int]]:
    parent: dict[int, int] = {}

    def root(x: int) -> int:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    for a, b in deduction.same:
        parent[root(a)] = root(b)
    for relation, node, backwards in deduction.several:
        values = tuple(linked(relation.into if backwards else relation.out, node))
        for other in values[1:]:
            parent[root(values[0])] = root(other)
    groups: dict[int, list[int]] = {}
    for x in sorted(parent):
        groups.setdefault(root(x), []).append(x)
    return [group for group in groups.values() if len(group) > 1]
