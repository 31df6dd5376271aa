"""Change which class is a kind of which: families come, go, and give their parts something else."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rdflib import OWL, RDFS, URIRef
from rdflib.term import Literal, Node

from .deduction import Deduction
from .grounds import Grounds
from .grouped import Grouped
from .reading import Triple
from .relation import linked


class TreeChange:
    """What changed about classes: `ups_before` says of each class concerned what it was a kind of.

    Of `edges_from` steps up came or went; those in `above_before` had some before. `value_classes`
    are new.
    """

    def __init__(
        self,
        deduction: Deduction,
        grounds: Grounds,
        is_stated: Callable[[Triple], bool],
        added: Grouped,
        removed: Grouped,
    ) -> None:
        self._deduction, self._grounds, self._is_stated = deduction, grounds, is_stated
        self.value_classes: list[int] = []
        self._concerned: set[int] = set()
        exclusive = deduction.axioms.exclusive_kinds
        self._exclusive = {node for pair in exclusive for node in pair}
        restrictions = _restrictions_after(grounds, added, removed)
        edges = self._edges(added, removed)
        tree = deduction.tree
        self.edges_from = {one for one, _ in edges}
        self.above_before = {one for one in self.edges_from if one in tree.above}
        touched = {deduction.id(node) for node in restrictions} | self.edges_from
        before = {x: self._standing(x) for x in touched}
        for (one, other), there in edges.items():
            (tree.put_below if there else tree.take_from)(one, other)
        self._concerned |= self.edges_from
        for node, (properties, values) in restrictions.items():
            self._restrict(node, properties, values)
        for x in touched:
            self._note(x, before[x])
        self.ups_before = self._forget()

    def ups(self, kind: int) -> frozenset[int]:
        """What a class was a kind of before."""
        found = self.ups_before.get(kind)
        return self._deduction.tree.up(kind) if found is None else found

    def _edges(self, added: Grouped, removed: Grouped) -> dict[tuple[int, int], bool]:
        """The steps up that may have changed, and whether each is stated now."""
        found: dict[tuple[int, int], bool] = {}
        for group in (removed, added):
            for s, _, o in group.get(RDFS.subClassOf, ()):
                if not isinstance(o, Literal) and s != o and o != OWL.Thing:
                    found[self._deduction.id(s), self._deduction.id(o)] = self._is_edge(s, o)
            for s, _, o in group.get(OWL.equivalentClass, ()):
                if not isinstance(o, Literal):
                    for one, other in ((s, o), (o, s)):
                        ids = self._deduction.id(one), self._deduction.id(other)
                        found[ids] = self._is_edge(one, other)
        return found

    def _is_edge(self, one: Node, other: Node) -> bool:
        said = self._is_stated
        if one != other and other != OWL.Thing and said((one, RDFS.subClassOf, other)):
            return True
        return said((one, OWL.equivalentClass, other)) or said((other, OWL.equivalentClass, one))

    def _restrict(self, node: Node, properties: frozenset[Node], values: frozenset[Node]) -> None:
        deduction, tree, loose = self._deduction, self._deduction.tree, self._grounds.loose
        restriction = deduction.id(node)
        loose.pop(node, None)
        if properties and values:
            (p,), (o,) = properties, values
            relation, value = deduction.relation(p), deduction.id(o)
            if value not in relation.given:
                self.value_classes.append(tree.value_class(relation, value))
                narrower = self._grounds.narrower.get(relation, ())
                self._concerned.update(r.given[value] for r in narrower if value in r.given)
            tree.meaning[restriction] = relation.given[value]
            return
        tree.meaning.pop(restriction, None)
        if properties or values:
            loose[node] = (properties, values)

    def _standing(self, x: int) -> tuple[int | None, bool]:
        """What a restriction means, and whether more is noted of it."""
        tree = self._deduction.tree
        value_class = tree.meaning.get(x)
        return value_class, value_class is not None and x in tree.notable.get(value_class, ())

    def _note(self, x: int, before: tuple[int | None, bool]) -> None:
        tree, term = self._deduction.tree, self._deduction.terms[x]
        meant, noted = before
        if meant is not None and noted:
            tree.notable[meant].discard(x)
        if x in tree.above or term in self._exclusive or isinstance(term, URIRef):
            tree.note(x)
        after = self._standing(x)
        if after != before:
            self._concerned.update((x, *linked(tree.below, x)))
            self._concerned.update(v for v in (meant, after[0]) if v is not None)

    def _forget(self) -> dict[int, frozenset[int]]:
        """The classes that are kinds of something else now, with what they were kinds of."""
        tree = self._deduction.tree
        known = tree.known_to_reach(self._concerned)
        tree.forget(known)
        changed = {kind: ups for kind, ups in known.items() if tree.up(kind) != ups}
        for kind in self._concerned - known.keys():
            if tree.up(kind):
                changed[kind] = frozenset()  # nobody has asked yet
        self._deduction.forget_steps(changed)
        return changed


def _restrictions_after(
    grounds: Grounds, added: Grouped, removed: Grouped
) -> dict[Node, tuple[frozenset[Node], frozenset[Node]]]:
    """The properties and the values of each restriction of which something changed."""
    found: dict[Node, tuple[frozenset[Node], frozenset[Node]]] = {}
    for group, is_added in ((removed, False), (added, True)):
        for at, word in enumerate((OWL.onProperty, OWL.hasValue)):
            for s, _, o in group.get(word, ()):
                held = list(found.get(s) or grounds.restriction(s))
                held[at] = held[at] | {o} if is_added else held[at] - {o}
                found[s] = (held[0], held[1])
    return found


def restricts_twice(grounds: Grounds, added: Grouped, removed: Grouped) -> bool:
    """Whether some restriction would have two properties or two values."""
    after: Iterable[tuple[frozenset[Node], frozenset[Node]]]
    after = _restrictions_after(grounds, added, removed).values()
    return any(len(properties) > 1 or len(values) > 1 for properties, values in after)
