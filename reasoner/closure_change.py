"""One change of a deduction, in place: what is taken back, what is put in, what follows of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from rdflib import OWL, RDF
from rdflib.term import Literal

from .deduction import Deduction, Link, Sort, Stated
from .grounds import Grounds
from .grouped import Grouped
from .reading import Triple
from .relation import has, linked
from .told import is_told, never_empty, told_bottom, told_classes, told_link, told_types
from .tree_change import TreeChange
from .withdrawal import Withdrawal


class ClosureChange:
    """A change that was made; `new_links` and `new_sorts` are where it may contradict something.

    `is_stated` says what is stated after it. `never_empty` counts by how many declared classes a
    class is known to stand above what is nothing at all; it is kept up to date.
    """

    def __init__(
        self,
        deduction: Deduction,
        grounds: Grounds,
        never_empty: Counter[int],
        is_stated: Callable[[Triple], bool],
        added: Grouped,
        removed: Grouped,
    ) -> None:
        self._deduction, self._grounds, self._is_stated = deduction, grounds, is_stated
        self._never_empty = never_empty
        self._links: dict[Link, bool] = {}
        self._sorts: dict[int, Sort] = {}
        self._stated: dict[int, Stated] = {}
        self._shown: dict[Stated, tuple[int, ...]] = {}
        deduction.links_before, deduction.sort_before = self._links, self._sorts
        try:
            self._make(added, removed)
        finally:
            deduction.links_before = deduction.sort_before = None
        self.told, self.untold = self._difference()

    @property
    def new_links(self) -> Iterator[Link]:
        """Links that are and were not."""
        return (link for link, was in self._links.items() if not was and _is(link))

    @property
    def new_sorts(self) -> set[Sort]:
        """The sorts of things that are of another sort than before."""
        sort = self._deduction.sort
        return {sort[x] for x, before in self._sorts.items() if sort[x] is not before}

    # ------------------------------------------------------------ making it

    def _make(self, added: Grouped, removed: Grouped) -> None:
        deduction, grounds = self._deduction, self._grounds
        known = len(deduction.terms)
        self._tree = TreeChange(deduction, grounds, self._is_stated, added, removed)
        self._members = self._find_members(known)
        self._restate(added, removed)
        withdrawal = Withdrawal(
            deduction, grounds, self._is_stated_link, self._firm, self._tree.ups
        )
        for x, lost in self._members:
            withdrawal.lose_just(x, lost)
        for x, before in self._stated.items():
            withdrawal.lose(x, before.classes - deduction.stated[x].classes)
        for p, triples in removed.items():
            relation = deduction.relations.get(p)
            if relation is not None:
                for x, _, kind in grounds.count(relation, triples, -1):
                    withdrawal.lose(x, (kind,))
                for s, _, o in triples:
                    withdrawal.doom((deduction.id(s), relation, deduction.id(o)))
        grounds.count_values(removed.get(OWL.hasValue, ()), -1)
        grounds.count_values(added.get(OWL.hasValue, ()), 1)
        withdrawal.spread()
        withdrawal.take()
        withdrawal.give_back()
        self._put_in(added)

    def _find_members(self, known: int) -> list[tuple[int, frozenset[int]]]:
        """Things that are of a class which is a kind of something else now, and what they lose.

        Only classes below `known` can have any.
        """
        deduction, ups = self._deduction, self._tree.ups_before
        changed = {kind for kind in ups if kind < known}
        if not changed:
            return []
        for stated in deduction.stateds.values():
            if stated.sort is not None and not stated.classes.isdisjoint(changed):
                self._shown[stated] = stated.shown
                stated.sort = None
                deduction.firm(stated)
        up = deduction.tree.up
        lost: dict[Sort, frozenset[int]] = {}
        for sort in list(deduction.sorts.values()):
            if not sort.classes.isdisjoint(changed):
                here = sort.classes & changed
                lost[sort] = frozenset(k for kind in here for k in ups[kind] - up(kind))
        return [(x, lost[sort]) for x, sort in enumerate(deduction.sort) if sort in lost]

    def _restate(self, added: Grouped, removed: Grouped) -> None:
        """Things of which other kinds are stated than before; they gain nothing from it yet."""
        deduction = self._deduction
        kinds: dict[int, frozenset[int]] = {}
        for group, is_added in ((removed, False), (added, True)):
            for s, _, o in group.get(RDF.type, ()):
                if not isinstance(o, Literal) and o != OWL.Thing:
                    x, kind = deduction.id(s), frozenset({deduction.id(o)})
                    held = kinds.get(x, deduction.stated[x].classes)
                    kinds[x] = held | kind if is_added else held - kind
        for x, classes in kinds.items():
            self._stated[x] = deduction.stated[x]
            deduction.stated[x] = deduction.stated_as(classes)

    def _firm(self, x: int) -> frozenset[int]:
        deduction = self._deduction
        return deduction.firm(deduction.stated[x]).classes

    def _is_stated_link(self, link: Link) -> bool:
        s, relation, o = link
        terms = self._deduction.terms
        if isinstance(terms[o], Literal) and not relation.telling:
            return False  # nothing starts from it: see `Deduction.state_links`
        return self._is_stated((terms[s], terms[relation.name], terms[o]))  # type: ignore[arg-type]

    def _put_in(self, added: Grouped) -> None:
        deduction = self._deduction
        tree, sort, ups = deduction.tree, deduction.sort, self._tree.ups_before
        for x, _ in self._members:
            here = sort[x].classes & ups.keys()
            deduction.gain_all(x, frozenset(k for kind in here for k in tree.up(kind)))
        for value_class in self._tree.value_classes:
            relation, value = tree.gives[value_class]
            for s in list(linked(relation.into, value)):
                deduction.gain(s, value_class)
        for x in self._stated:
            deduction.gain_all(x, self._firm(x))
        deduction.settle()
        for p, triples in added.items():
            relation_of = deduction.relations.get(p)
            if relation_of is not None:
                self._grounds.count(relation_of, triples, 1)
                deduction.state_links(relation_of, triples)

    # ------------------------------------------------------------ what follows of it

    def _difference(self) -> tuple[set[Triple], set[Triple]]:
        """What is told and was not, and what was told and is not."""
        now: set[Triple] = set()
        then: set[Triple] = set()
        for told in (self._types(), self._classes(), self._bottom(), self._linked()):
            for triple, was in told:
                (then if was else now).add(triple)
        return now - then, then - now

    def _types(self) -> Iterator[tuple[Triple, bool]]:
        deduction = self._deduction
        stated = deduction.stated
        changed = {x: stated[x] for x, _ in self._members if stated[x] in self._shown}
        things = {**changed, **self._stated}
        for x, before in things.items():
            shown = self._shown.get(before, before.shown)
            yield from ((t, True) for t in told_types(deduction, x, shown))
            now = deduction.stated[x].shown
            yield from ((t, False) for t in told_types(deduction, x, now))

    def _classes(self) -> Iterator[tuple[Triple, bool]]:
        deduction, tree = self._deduction, self._deduction.tree
        kinds = self._tree.ups_before.keys() | self._tree.edges_from
        for kind in kinds:
            if kind in self._tree.above_before or (
                kind in tree.above and kind not in self._tree.edges_from
            ):
                before = self._tree.ups(kind)
                yield from ((t, True) for t in told_classes(deduction, kind, before))
            if kind in tree.above:
                yield from ((t, False) for t in told_classes(deduction, kind, tree.up(kind)))

    def _bottom(self) -> Iterator[tuple[Triple, bool]]:
        deduction, tree, counts = self._deduction, self._tree, self._never_empty
        owl_class, sort = deduction.owl_class, deduction.sort
        before = {
            x: owl_class in self._sorts.get(x, sort[x]).classes
            for x in (*self._sorts, *tree.ups_before)
        }
        change: Counter[int] = Counter()
        for x, was in before.items():
            if was:
                change.subtract(k for k in {x, *tree.ups(x)} if deduction.named(k))
            if owl_class in sort[x].classes:
                change.update(never_empty(deduction, x))
        for kind, more in change.items():
            if more:
                was_there = counts[kind] > 0
                counts[kind] += more
                if was_there != (counts[kind] > 0):
                    yield told_bottom(deduction, kind), was_there

    def _linked(self) -> Iterator[tuple[Triple, bool]]:
        for link, was in self._links.items():
            s, relation, o = link
            if is_told(relation) and was != _is(link):
                yield from ((t, was) for t in told_link(self._deduction, s, relation, o))


def _is(link: Link) -> bool:
    s, relation, o = link
    return has(relation.out, s, o)
