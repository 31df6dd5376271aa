"""A closure that stays: of facts that change, only what the change touches is closed again.

What follows is exactly what `closure.close` derives, in both directions; and what it refuses is
refused here, in the same words.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Container, Iterator

from rdflib import OWL, RDF, RDFS
from rdflib.term import Literal, Node

from .axioms import (
    CLASS_WORDS,
    PROPERTY_TYPES,
    PROPERTY_WORDS,
    Axioms,
    by_predicate,
    of_a_vocabulary,
    unread_word,
)
from .closed_facts import some_are_the_same
from .closure import deduce, followed, stands
from .closure_change import ClosureChange
from .collecting import without_collecting
from .deduction import Deduction, Link, Sort
from .grounds import Grounds
from .grouped import Grouped, by_property
from .literal_types import exclusive_types, objection
from .reading import Facts, Triple
from .reference_closure import close_by_reference
from .relation import has
from .told import declared, is_class, is_link, never_empty, told
from .tree_change import restricts_twice

Derived = tuple[frozenset[Triple], frozenset[Triple]]


class StandingClosure:
    """What follows from facts, kept up to date.

    Facts about things, and families with what they give their parts, come and go at the cost of
    what they touch. Where a change says something else of properties, lists, or of names that stand
    for one thing, or something that the fast engine does not know, all is closed from scratch and
    compared.
    """

    def __init__(self, facts: Facts) -> None:
        """Close `facts`. Raises as `closure.close`."""
        self._close(facts)

    def _close(self, facts: Facts) -> None:
        with without_collecting():
            deduction = deduce(facts)
            if deduction is None:
                self._slow = close_by_reference(facts)
            else:
                self._begin(deduction, facts)
            self._deduction = deduction

    def _begin(self, deduction: Deduction, facts: Facts) -> None:
        self._grounds = Grounds(deduction, by_predicate(facts.sources))
        self._never_empty = Counter(
            kind for x in declared(deduction) for kind in never_empty(deduction, x)
        )
        axioms = deduction.axioms
        self._undeclared = not axioms.restricted <= axioms.declared
        self._types_in_use: frozenset[Node] | None = None
        self._note_exclusive(deduction)

    def derived(self, facts: Facts) -> frozenset[Triple]:
        """What follows from `facts`, which are what is closed here, and is not among them."""
        return self._slow if self._deduction is None else followed(self._deduction, facts)

    def change(
        self, facts: Facts, added: Collection[Triple] = (), removed: Collection[Triple] = ()
    ) -> Derived:
        """Follow a change that `facts` show already: what follows and did not, and the reverse.

        `added` are statements that nobody made before and somebody makes now, `removed` those that
        nobody makes any more. What was derived and is stated now no longer counts as derived.

        Raises:
            CatalogueRefused: as by `closure.close`; the closure is then as it was before.
        """
        new, old = frozenset(added), frozenset(removed)
        deduction, stated = self._deduction, facts.sources

        def was_stated(triple: Triple) -> bool:
            return triple in old or (triple in stated and triple not in new)

        groups = by_property(new), by_property(old)
        if deduction is None or not self._is_ordinary(deduction, *groups):
            return self._anew(facts, was_stated)
        made = self._make(deduction, stated.__contains__, *groups)
        if self._is_doubtful(deduction, made, groups[0]):
            is_sound = False
            try:
                is_sound = stands(deduction, facts)
            finally:
                if not is_sound:
                    self._make(deduction, was_stated, *groups[::-1])
                    self._note_exclusive(deduction)
            if not is_sound:
                return self._anew(facts, was_stated)
        return self._differs(deduction, made, new, old, stated, was_stated)

    def _make(
        self,
        deduction: Deduction,
        is_stated: Callable[[Triple], bool],
        added: Grouped,
        removed: Grouped,
    ) -> ClosureChange:
        grounds, counts = self._grounds, self._never_empty
        return ClosureChange(deduction, grounds, counts, is_stated, added, removed)

    def _differs(
        self,
        deduction: Deduction,
        made: ClosureChange,
        new: frozenset[Triple],
        old: frozenset[Triple],
        stated: Container[Triple],
        was_stated: Callable[[Triple], bool],
    ) -> Derived:
        """What counts as derived is what is told and not stated."""
        derived = {t for t in made.told if t not in stated}
        underived = {t for t in made.untold if not was_stated(t)}
        derived |= {t for t in old - made.told - made.untold if self._is_told(deduction, t)}
        underived |= {t for t in new - made.told - made.untold if self._is_told(deduction, t)}
        return frozenset(derived), frozenset(underived)

    def _is_told(self, deduction: Deduction, triple: Triple) -> bool:
        s, p, o = triple
        if p == RDFS.subClassOf:
            empty = s == OWL.Nothing and self._never_empty[deduction.ids.get(o, -1)] > 0
            return empty or is_class(deduction, triple)
        # Of kinds those that are stated are not told: see `Stated.shown`.
        return is_link(deduction, triple)

    def _anew(self, facts: Facts, was_stated: Callable[[Triple], bool]) -> Derived:
        """All from scratch, and compared."""
        deduction = self._deduction
        before = (
            self._slow
            if deduction is None
            else frozenset(t for t in told(deduction) if not was_stated(t))
        )
        self._close(facts)
        after = self.derived(facts)
        return after - before, before - after

    # ------------------------------------------------------------ what is ordinary

    def _is_ordinary(self, deduction: Deduction, added: Grouped, removed: Grouped) -> bool:
        axioms = deduction.axioms
        for group in (added, removed):
            for p, triples in group.items():
                if p in PROPERTY_WORDS or p == OWL.sameAs:
                    return False
                if p == RDF.type and any(o in PROPERTY_TYPES for _, _, o in triples):
                    return False
                if p in (RDF.first, RDF.rest) and any(s in axioms.cells for s, _, _ in triples):
                    return False
                if p in CLASS_WORDS and self._undeclared:
                    return False
        for p, triples in added.items():
            telling = p in CLASS_WORDS or of_a_vocabulary(p)
            if telling and any(unread_word(t) for t in triples):
                return False
            if p == OWL.onProperty and any(o not in axioms.restricted for _, _, o in triples):
                return False
        return not restricts_twice(self._grounds, added, removed)

    # ------------------------------------------------------------ what may contradict something

    def _note_exclusive(self, deduction: Deduction) -> None:
        """Which classes exclude each other; of types of literals only those in use do."""
        used = frozenset(self._grounds.literal_types)
        if used != self._types_in_use:
            pairs = {*deduction.axioms.exclusive_kinds}
            pairs |= {(a, b) for a, b in exclusive_types() if a in used and b in used}
            self._types_in_use = used
            self._exclusive = tuple((deduction.id(a), deduction.id(b)) for a, b in pairs)
            self._clashing: dict[Sort, bool] = {}

    def _is_doubtful(self, deduction: Deduction, made: ClosureChange, added: Grouped) -> bool:
        """Whether anything that came with a change may contradict something."""
        used = self._types_in_use
        self._note_exclusive(deduction)
        sorts = made.new_sorts if self._types_in_use == used else set(deduction.sort)
        return (
            any(map(self._clashes, sorts))
            or any(_is_wrong(deduction.axioms, deduction, link) for link in made.new_links)
            or some_are_the_same(deduction)
            or any(map(objection, _literals(deduction, added)))
        )

    def _clashes(self, sort: Sort) -> bool:
        found = self._clashing.get(sort)
        if found is None:
            classes = sort.classes
            found = any(a in classes and b in classes for a, b in self._exclusive)
            self._clashing[sort] = found
        return found


def _is_wrong(axioms: Axioms, deduction: Deduction, link: Link) -> bool:
    """Whether a link cannot be, be it by itself or beside another."""
    s, relation, o = link
    p = deduction.terms[relation.name]
    if s == o and p in axioms.typed[OWL.IrreflexiveProperty]:
        return True
    if p in axioms.typed[OWL.AsymmetricProperty] and has(relation.out, o, s):
        return True
    for pair in axioms.exclusive_links:
        if p in pair:
            other = deduction.relations.get(pair[0] if p == pair[1] else pair[1])
            if other is not None and has(other.out, s, o):
                return True
    return False


def _literals(deduction: Deduction, added: Grouped) -> Iterator[Literal]:
    """The literals that came."""
    for p, triples in added.items():
        if p == OWL.hasValue or p in deduction.relations:
            for _, _, o in triples:
                if isinstance(o, Literal) and deduction.ids.get(o) in deduction.literals:
                    yield o
