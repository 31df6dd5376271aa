"""What the search for contradictions asks, answered from the fast engine's state."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rdflib import URIRef
from rdflib.term import Literal, Node

from .deduction import Deduction, Sort
from .identities import identities
from .literal_types import exclusive_types, objection, types_of
from .reading import Facts
from .reference_closure import equal_restrictions, that_matter
from .relation import linked, pairs

Pair = tuple[Node, Node]


def some_are_the_same(deduction: Deduction) -> bool:
    """Whether two nodes may have to be one; False is certain."""
    return bool(deduction.same) or any(
        len(tuple(linked(relation.into if backwards else relation.out, node))) > 1
        for relation, node, backwards in deduction.several
    )


class ClosedFacts:
    """A deduction, asked in terms. `facts` are what it closed."""

    def __init__(self, deduction: Deduction, facts: Facts) -> None:
        self._deduction, self._facts = deduction, facts
        self._excluding: dict[Pair, list[Sort]] | None = None
        self._same: list[Pair] | None = None
        self._merged: dict[Node, Node] | None = None

    def messages(self) -> tuple[str, ...]:
        """Literals whose text is none of their type, in the reference engine's words."""
        deduction = self._deduction
        found = set()
        for literal in deduction.literals:
            term = deduction.terms[literal]
            if isinstance(term, Literal) and (what := objection(term)):
                found.add(what)
        return tuple(sorted(found))

    def of_type(self, kind: URIRef) -> list[Node]:
        """The properties of a kind, in order."""
        return sorted(self._deduction.axioms.typed[kind], key=str)

    def some_are_the_same(self) -> bool:
        """Whether two nodes may have to be one."""
        return some_are_the_same(self._deduction)

    def same(self) -> Iterable[Pair]:
        """Nodes that would have to be one, both ways round."""
        if self._same is None:
            self._same = identities(self._deduction, self._facts.sources)
        return self._same

    def exclusive_kinds(self) -> set[Pair]:
        """Classes that have nothing in common."""
        return {*self._stated_exclusive(), *self._exclusive_types()}

    def _stated_exclusive(self) -> set[Pair]:
        return self._deduction.axioms.exclusive_kinds

    def _exclusive_types(self) -> Iterator[Pair]:
        """Of types of literals only those in use exclude each other."""
        deduction = self._deduction
        used: set[Node] = set()
        for literal in deduction.literals:
            term = deduction.terms[literal]
            if isinstance(term, Literal):
                used.update(types_of(term))
        for one, other in exclusive_types():
            if one in used and other in used:
                yield (one, other) if str(one) < str(other) else (other, one)

    def exclusive_links(self) -> set[Pair]:
        """Properties that have nothing in common."""
        return self._deduction.axioms.exclusive_links

    def of_both(self, one: Node, other: Node) -> set[Node]:
        """What is of both classes."""
        deduction = self._deduction
        if self._excluding is None:
            self._excluding = self._look_for_exclusions()
        sorts = self._excluding.get((one, other))
        if not sorts:
            return set()
        among = set(sorts)
        numbers = (x for x, sort in enumerate(deduction.sort) if sort in among)
        return {term for x in numbers if (term := deduction.terms[x]) is not None}

    def _look_for_exclusions(self) -> dict[Pair, list[Sort]]:
        """The sorts that nothing may be of, by the pair of classes that excludes them."""
        deduction = self._deduction
        ids = deduction.ids
        numbers = {
            (ids[a], ids[b]): (a, b) for a, b in self.exclusive_kinds() if a in ids and b in ids
        }
        involved = frozenset(x for pair in numbers for x in pair)
        found: dict[Pair, list[Sort]] = {}
        for sort in deduction.sorts.values():
            here = sort.classes & involved
            if len(here) > 1:
                for (a, b), pair in numbers.items():
                    if a in here and b in here:
                        found.setdefault(pair, []).append(sort)
        return found

    def links(self, p: Node) -> set[Pair]:
        """What is linked by a property."""
        relation = self._deduction.relations.get(p)
        if relation is None:
            return set()
        terms = self._deduction.terms
        return {(terms[s], terms[o]) for s, o in pairs(relation.out)}  # type: ignore[misc]

    def kind_of(self, kind: Node, other: Node) -> bool:
        """Whether a class is another or a kind of it."""
        if kind == other:
            return True
        ids = self._deduction.ids
        return kind in ids and other in ids and ids[other] in self._deduction.tree.up(ids[kind])

    def domains(self, p: Node) -> Iterable[Node]:
        """The classes of what has a property."""
        axioms = self._deduction.axioms
        return {c for q in (p, *axioms.wider.get(p, ())) for c in axioms.domains.get(q, ())}

    def ranges(self, p: Node) -> Iterable[Node]:
        """The classes of the values of a property."""
        axioms = self._deduction.axioms
        return {c for q in (p, *axioms.wider.get(p, ())) for c in axioms.ranges.get(q, ())}

    def narrower(self, p: Node, other: Node) -> bool:
        """Whether a property is another or implies it."""
        return p == other or other in self._deduction.axioms.wider.get(p, ())

    def restricts(self, node: Node) -> Iterable[Node]:
        """The properties that a restriction is on."""
        deduction = self._deduction
        value_class = deduction.tree.meaning.get(deduction.ids.get(node, -1))
        if value_class is None:
            return ()
        if self._merged is None:
            self._merged = equal_restrictions(that_matter(tuple(self._facts.sources)))
        if self._merged.get(node, node) != node:
            return ()
        p = deduction.terms[deduction.tree.gives[value_class][0].name]
        return () if p is None else (p,)
