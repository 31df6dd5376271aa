"""What follows from facts, worked out fact by fact (semi-naive evaluation of OWL 2 RL).

Terms are whole numbers in here. Classes of things are kept per *sort*: everything that is of
exactly the same classes shares one value, so that what they say is worked out once. Each new link
starts the rules of its property (`Relation`); each new class gives the links of its value classes.

The rules, named as in W3C OWL 2 Profiles (Second Edition), Tables 4 to 9: cax-sco, cax-eqc1/2,
cls-hv1/2, prp-dom, prp-rng, prp-spo1, prp-spo2, prp-eqp1/2, prp-inv1/2, prp-symp, prp-trp, scm-cls,
scm-sco, scm-eqc1/2, scm-spo, scm-eqp1/2, scm-dom1/2, scm-rng1/2, scm-hv and dt-type2.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from rdflib import OWL, RDF, RDFS, URIRef
from rdflib.term import Literal, Node

from .axioms import Axioms
from .class_tree import ClassTree
from .literal_types import types_of
from .reading import Triple
from .relation import Relation, linked, put, reach
from .terms import KO

Said = dict[Node, list[Triple]]
Link = tuple[int, Relation, int]

_KO: Final = str(KO)


class Sort:
    """Everything that is of exactly these classes."""

    __slots__ = ("classes",)

    def __init__(self, classes: frozenset[int]) -> None:
        self.classes = classes


class Stated:
    """Everything that is stated to be of exactly these classes, and what that makes it.

    `shown` are the classes that follow and that anybody is told of.
    """

    __slots__ = ("classes", "links", "shown", "sort")

    def __init__(self, classes: frozenset[int]) -> None:
        self.classes = classes
        self.sort: Sort | None = None
        self.links: tuple[tuple[Relation, int], ...] = ()
        self.shown: tuple[int, ...] = ()


class Deduction:
    """The closure of facts.

    While it is changed (see `closure_change`), `links_before` says of links that were put or taken
    whether they were there, and `sort_before` of what sort things were.
    """

    def __init__(self, said: Said, axioms: Axioms) -> None:
        self.axioms = axioms
        self.terms: list[Node | None] = []
        self.ids: dict[Node, int] = {}
        self.nothing = Sort(frozenset())
        self.unstated = Stated(frozenset())
        self.unstated.sort = self.nothing
        self.sorts: dict[frozenset[int], Sort] = {self.nothing.classes: self.nothing}
        self.stateds: dict[frozenset[int], Stated] = {self.unstated.classes: self.unstated}
        self.sort: list[Sort] = []
        self.stated: list[Stated] = []
        self.tree = ClassTree(self._new_class)
        self.relations: dict[Node, Relation] = {}
        self.stack: list[Link] = []
        self.several: set[tuple[Relation, int, bool]] = set()
        self.same: set[tuple[int, int]] = set()
        self.literals: set[int] = set()
        self.unread: list[str] = list(axioms.unread)
        self.links_before: dict[Link, bool] | None = None
        self.sort_before: dict[int, Sort] | None = None
        self._steps: dict[int, dict[Sort, tuple[Sort, tuple[tuple[Relation, int], ...]]]] = {}
        self.owl_class = self.id(OWL.Class)
        self._make_relations()
        self._state_classes(said)
        self._state_types(said)
        for p in said:
            relation = self.relations.get(p)
            if relation is not None:
                self.state_links(relation, said[p])
        for s, _, o in said.get(OWL.sameAs, ()):
            if s != o:
                self.same.add((self.id(s), self.id(o)))

    # ------------------------------------------------------------ terms

    def id(self, term: Node) -> int:
        """The number of a term."""
        found = self.ids.get(term)
        if found is None:
            found = self.ids[term] = self._new(term)
            if isinstance(term, Literal):
                kinds = frozenset(self.id(t) for t in types_of(term))
                self.restate(found, self.stated_as(kinds))
        return found

    def _new(self, term: Node | None) -> int:
        self.terms.append(term)
        self.sort.append(self.nothing)
        self.stated.append(self.unstated)
        return len(self.terms) - 1

    def _new_class(self) -> int:
        return self._new(None)

    # ------------------------------------------------------------ what the axioms say

    def relation(self, p: Node) -> Relation:
        """The links of property `p`."""
        found = self.relations.get(p)
        if found is None:
            shown = str(p).startswith(_KO)
            found = Relation(self.id(p), True, shown, p in self.axioms.telling)
            self.relations[p] = found
        return found

    def _make_relations(self) -> None:
        axioms = self.axioms
        for p in axioms.joined():
            self.relation(p).use = False
        for p, kinds in axioms.domains.items():
            self.relation(p).domain = tuple(sorted(map(self.id, kinds)))
        for p, kinds in axioms.ranges.items():
            self.relation(p).range = tuple(sorted(map(self.id, kinds)))
        for p in list(self.relations):
            relation = self.relations[p]
            relation.wider = tuple(map(self.relation, sorted(axioms.wider.get(p, ()), key=str)))
            inverses = set(axioms.inverses.get(p, ()))
            if p in axioms.typed[OWL.SymmetricProperty]:
                inverses.add(p)
            relation.inverses = tuple(map(self.relation, sorted(inverses, key=str)))
            relation.transitive = p in axioms.typed[OWL.TransitiveProperty]
            relation.functional = p in axioms.typed[OWL.FunctionalProperty]
            relation.inverse_functional = p in axioms.typed[OWL.InverseFunctionalProperty]
        for whole, links in axioms.chains:
            steps = tuple(map(self.relation, links))
            for at, step in enumerate(steps):
                chain = (steps[:at][::-1], steps[at + 1 :], self.relation(whole))
                step.chains.append(chain)

    def _state_classes(self, said: Said) -> None:
        thing = self.id(OWL.Thing)
        for s, _, o in said.get(RDFS.subClassOf, ()):
            if not isinstance(o, Literal):
                one, other = self.id(s), self.id(o)
                if one != other and other != thing:
                    self.tree.put_below(one, other)
        for s, _, o in said.get(OWL.equivalentClass, ()):
            if not isinstance(o, Literal):
                self.tree.put_below(self.id(s), self.id(o))
                self.tree.put_below(self.id(o), self.id(s))
        on: dict[Node, Node] = {}
        for s, _, o in said.get(OWL.onProperty, ()):
            if (first := on.setdefault(s, o)) is not o and first != o:
                self.unread.append("a restriction of two properties")
        for s, _, o in said.get(OWL.hasValue, ()):
            if isinstance(o, Literal):
                self.literals.add(self.id(o))
            if s in on:
                self._restrict(s, on[s], o)
        exclusive = {node for pair in self.axioms.exclusive_kinds for node in pair}
        for restriction in list(self.tree.meaning):
            term = self.terms[restriction]
            if restriction in self.tree.above or term in exclusive or isinstance(term, URIRef):
                self.tree.note(restriction)
                if on[term] not in self.axioms.declared:  # type: ignore[index]
                    self.unread.append("a restriction of a property that is not declared")

    def _restrict(self, s: Node, p: Node, o: Node) -> None:
        restriction, relation = self.id(s), self.relation(p)
        value_class = self.tree.value_class(relation, self.id(o))
        if self.tree.meaning.setdefault(restriction, value_class) != value_class:
            self.unread.append("a restriction to two values")

    # ------------------------------------------------------------ what is stated

    def _state_types(self, said: Said) -> None:
        kinds: dict[int, Stated] = {}
        step: dict[tuple[Stated, Node], Stated] = {}
        ids = self.ids
        for s, _, o in said.get(RDF.type, ()):
            x = ids.get(s)
            if x is None:
                x = self.id(s)
            before = kinds.get(x, self.unstated)
            after = step.get((before, o))
            if after is None:
                if isinstance(o, Literal) or o == OWL.Thing:
                    continue
                after = step[before, o] = self.stated_as(before.classes | {self.id(o)})
            kinds[x] = after
        for x, stated in kinds.items():
            self.restate(x, stated)
        self.settle()

    def state_links(self, relation: Relation, triples: Iterable[Triple]) -> None:
        """Take up stated links of one property, and all that follows."""
        ids, sort, stack = self.ids, self.sort, self.stack
        use, domain, range_ = relation.use, relation.domain, relation.range
        for s, _, o in triples:
            literal = isinstance(o, Literal)
            if literal and not relation.telling:
                continue
            x = ids.get(s)
            if x is None:
                x = self.id(s)
            y = ids.get(o)
            if y is None:
                y = self.id(o)
            if literal:
                self.literals.add(y)
            if use:
                for kind in domain:
                    if kind not in sort[x].classes:
                        self.gain(x, kind)
                for kind in range_:
                    if kind not in sort[y].classes:
                        self.gain(y, kind)
            else:
                stack.append((x, relation, y))
            if len(stack) > 1000:
                self.settle()
        self.settle()

    def restate(self, x: int, stated: Stated) -> None:
        """`x` is stated to be of these classes; it gains what follows and loses nothing."""
        self.stated[x] = stated
        sort = self.firm(stated)
        before = self.sort[x]
        if before is self.nothing:
            self.note_move(x)
            self.sort[x] = sort
            self.stack += [(x, relation, value) for relation, value in stated.links]
        elif not sort.classes <= before.classes:
            self.gain_all(x, sort.classes)

    def stated_as(self, classes: frozenset[int]) -> Stated:
        """The one value for everything stated to be of these classes."""
        found = self.stateds.get(classes)
        if found is None:
            found = self.stateds[classes] = Stated(classes)
        return found

    def firm(self, stated: Stated) -> Sort:
        """What its stated classes make of a thing, whatever else is said of it."""
        if stated.sort is None:
            up = self.tree.up
            above = frozenset().union(*(up(kind) for kind in stated.classes))
            stated.sort = self.sort_of(stated.classes | above)
            stated.links = self._links(stated.sort.classes)
            told = (k for k in stated.sort.classes if self.named(k) and k not in stated.classes)
            stated.shown = tuple(sorted(told))
        return stated.sort

    def named(self, kind: int) -> bool:
        """Whether anybody is told of a class."""
        term = self.terms[kind]
        return isinstance(term, URIRef) and str(term).startswith("https://")

    # ------------------------------------------------------------ classes of things

    def sort_of(self, classes: frozenset[int]) -> Sort:
        """The one value for everything that is of these classes."""
        found = self.sorts.get(classes)
        if found is None:
            found = self.sorts[classes] = Sort(classes)
        return found

    def note_move(self, x: int) -> None:
        """`x` is about to be of another sort."""
        if self.sort_before is not None:
            self.sort_before.setdefault(x, self.sort[x])

    def forget_steps(self, kinds: Iterable[int]) -> None:
        """These are kinds of something else than before."""
        for kind in kinds:
            self._steps.pop(kind, None)

    def _links(self, classes: Iterable[int]) -> tuple[tuple[Relation, int], ...]:
        gives = self.tree.gives
        return tuple(gives[kind] for kind in sorted(classes) if kind in gives)

    def gain(self, x: int, kind: int) -> None:
        """`x` is of class `kind` too, and of all that it is a kind of (cax-sco, cls-hv1)."""
        before = self.sort[x]
        steps = self._steps.get(kind)
        if steps is None:
            steps = self._steps[kind] = {}
        step = steps.get(before)
        if step is None:
            after = self.sort_of(before.classes | {kind} | self.tree.up(kind))
            step = steps[before] = (after, self._links(after.classes - before.classes))
        self.note_move(x)
        self.sort[x] = step[0]
        for relation, value in step[1]:
            self.stack.append((x, relation, value))

    def gain_all(self, x: int, classes: frozenset[int]) -> None:
        """`x` is of all these classes too; nothing more follows from them but links."""
        before = self.sort[x]
        more = classes - before.classes
        if more:
            self.note_move(x)
            self.sort[x] = self.sort_of(before.classes | more)
            self.stack += [(x, relation, value) for relation, value in self._links(more)]

    # ------------------------------------------------------------ links

    def settle(self) -> None:
        """Take up the links on the stack, and every link that follows from one."""
        stack, sort, several, noted = self.stack, self.sort, self.several, self.links_before
        while stack:
            s, relation, o = stack.pop()
            out, into = relation.out, relation.into
            if not put(out, s, o):
                continue
            put(into, o, s)
            if noted is not None:
                noted.setdefault((s, relation, o), False)
            for kind in relation.domain:
                if kind not in sort[s].classes:
                    self.gain(s, kind)
            for kind in relation.range:
                if kind not in sort[o].classes:
                    self.gain(o, kind)
            given = relation.given.get(o)
            if given is not None and given not in sort[s].classes:
                self.gain(s, given)
            for wider in relation.wider:
                stack.append((s, wider, o))
            for inverse in relation.inverses:
                stack.append((o, inverse, s))
            if relation.transitive:
                stack += [(s, relation, z) for z in linked(out, o)]
                stack += [(w, relation, o) for w in linked(into, s)]
            for before, after, whole in relation.chains:
                ends = reach((o,), after, backwards=False)
                if ends:
                    for w in reach((s,), before, backwards=True):
                        stack += [(w, whole, z) for z in ends]
            if relation.functional and type(out[s]) is not int:
                several.add((relation, s, False))
            if relation.inverse_functional and type(into[o]) is not int:
                several.add((relation, o, True))
