"""The queries of shapes (sh:sparql), put to one thing at a time: might it be an answer?

Only what such a query needs is known here: patterns that lead from `$this` outwards, and filters.
What cannot be decided counts as an answer, for whoever is one is put to the query engine itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, TypeAlias

from rdflib import XSD, Literal, URIRef, Variable
from rdflib.paths import AlternativePath, SequencePath
from rdflib.plugins.sparql.algebra import translateQuery
from rdflib.plugins.sparql.parser import parseQuery
from rdflib.term import BNode, Node

from .links import Links
from .shape_rules import NotScreened

Bound: TypeAlias = Mapping[Variable, Node]
Solutions: TypeAlias = Callable[[Links, Bound], Iterator[tuple[Bound, bool]]]
"""Ways to bind the variables of a pattern, each with whether it holds for certain."""

Truth: TypeAlias = Callable[[Links, Bound], bool | None]
"""Of a filter: true, false, or not to be decided here."""

Step: TypeAlias = Callable[[Links, Node], Sequence[Node]]

THIS = Variable("this")
_NUMBERS = (XSD.decimal, XSD.integer, XSD.double, XSD.float)


class Question:
    """One query, ready to be put to many things. `predicates` are the properties it looks at.

    Raises:
        NotScreened: the query says something that is not known here.
    """

    def __init__(self, text: str) -> None:
        self.predicates: set[Node] = set()
        self._depth: dict[Node, int] = {THIS: 0}
        found = translateQuery(parseQuery(text)).algebra
        if found.name != "SelectQuery" or found.p.name != "Project" or list(found.PV) != [THIS]:
            raise NotScreened("a query that asks for more than $this")
        self._solutions = self._pattern(found.p.p, {THIS})

    def might_answer(self, links: Links, node: Node) -> bool:
        """Whether a thing is an answer, as far as can be told."""
        return any(True for _ in self._solutions(links, {THIS: node}))

    @property
    def reach(self) -> int:
        """How many statements away from a thing the query looks, at most."""
        return max(self._depth.values())

    # ------------------------------------------------------------------ patterns

    def _pattern(self, part: Any, bound: set[Variable]) -> Solutions:
        if part.name == "BGP":
            return self._triples(list(part.triples), bound)
        if part.name == "Filter":
            inner = self._pattern(part.p, bound)
            holds = self._condition(part.expr, bound)

            def filtered(links: Links, known: Bound) -> Iterator[tuple[Bound, bool]]:
                for found, certain in inner(links, known):
                    truth = holds(links, found)
                    if truth is not False:
                        yield found, certain and truth is True

            return filtered
        if part.name == "Join":
            return self._triples(list(_joined(part)), bound)
        raise NotScreened(f"{part.name} in a query")

    def _triples(self, triples: list[Any], bound: set[Variable]) -> Solutions:
        """Patterns in an order in which each starts at something known; binds what they meet."""
        steps: list[tuple[Node, Step, Node]] = []
        while triples:
            ready = [t for t in triples if not isinstance(t[0], Variable) or t[0] in bound]
            if not ready:
                raise NotScreened("a pattern that does not lead outwards from $this")
            subject, path, target = ready[0]
            triples.remove(ready[0])
            step, length = self._step(path)
            self._depth.setdefault(target, self._depth.get(subject, 0) + length)
            steps.append((subject, step, target))
            if isinstance(target, Variable):
                bound.add(target)

        def solve(links: Links, known: Bound, at: int) -> Iterator[tuple[Bound, bool]]:
            if at == len(steps):
                yield known, True
                return
            subject, step, target = steps[at]
            start = known[subject] if isinstance(subject, Variable) else subject
            wanted = known.get(target) if isinstance(target, Variable) else target
            for node in step(links, start):
                if wanted is None:
                    assert isinstance(target, Variable)
                    yield from solve(links, {**known, target: node}, at + 1)
                elif node is wanted or (hash(node) == hash(wanted) and node == wanted):
                    yield from solve(links, known, at + 1)

        return lambda links, known: solve(links, known, 0)

    def _step(self, path: Any) -> tuple[Step, int]:
        if isinstance(path, URIRef):
            predicate = path
            self.predicates.add(predicate)
            return (lambda links, node: links.objects(node, predicate)), 1
        if isinstance(path, SequencePath):
            steps = [self._step(part) for part in path.args]

            def follow(links: Links, node: Node) -> list[Node]:
                here = [node]
                for step, _ in steps:
                    here = [far for near in here for far in step(links, near)]
                return here

            return follow, sum(length for _, length in steps)
        if isinstance(path, AlternativePath):
            ways = [self._step(part) for part in path.args]
            return (
                lambda links, node: [far for step, _ in ways for far in step(links, node)]
            ), max(length for _, length in ways)
        raise NotScreened(f"the path {path} in a query")

    # ------------------------------------------------------------------ filters

    def _condition(self, said: Any, bound: set[Variable]) -> Truth:
        name = getattr(said, "name", "")
        if name in ("ConditionalAndExpression", "ConditionalOrExpression"):
            parts = [self._condition(p, bound) for p in (_raw(said, "expr"), *_raw(said, "other"))]
            deciding = name == "ConditionalOrExpression"

            def combined(links: Links, known: Bound) -> bool | None:
                truths = [part(links, known) for part in parts]
                return deciding if deciding in truths else None if None in truths else not deciding

            return combined
        if name == "UnaryNot":
            inner = self._condition(_raw(said, "expr"), bound)

            def negated(links: Links, known: Bound) -> bool | None:
                truth = inner(links, known)
                return None if truth is None else not truth

            return negated
        if name in ("Builtin_EXISTS", "Builtin_NOTEXISTS"):
            solutions = self._pattern(said.graph, set(bound))
            expected = name == "Builtin_EXISTS"

            def exists(links: Links, known: Bound) -> bool | None:
                certain = [sure for _, sure in solutions(links, known)]
                return expected if True in certain else None if certain else not expected

            return exists
        if name == "Builtin_isNUMERIC":
            value = _raw(said, "arg")
            return lambda _, known: _is_number(_value(value, known))
        if name == "RelationalExpression":
            return _comparison(said)
        raise NotScreened(f"{name or said} in a filter")


@lru_cache(maxsize=64)
def question(text: str) -> Question:
    """The question that a query asks; reading one takes longer than putting it to a thousand."""
    return Question(text)


def _joined(part: Any) -> Iterator[Any]:
    """The triples of patterns that only stand side by side."""
    if part.name == "BGP":
        yield from part.triples
    elif part.name == "Join":
        yield from _joined(part.p1)
        yield from _joined(part.p2)
    else:
        raise NotScreened(f"{part.name} beside another pattern in a query")


def _raw(said: Any, field: str) -> Any:
    """A field of an expression as written; asking the expression itself would evaluate it."""
    return dict.__getitem__(said, field)


def _comparison(said: Any) -> Truth:
    op, left, right = _raw(said, "op"), _raw(said, "expr"), _raw(said, "other")
    if op not in ("=", "!=", "IN", "NOT IN"):
        raise NotScreened(f"{op} in a filter")
    others = list(right) if op.endswith("IN") else [right]
    positive = op in ("=", "IN")

    def holds(_: Links, known: Bound) -> bool | None:
        mine = _value(left, known)
        theirs = [_value(other, known) for other in others]
        if mine is None or not all(isinstance(v, (URIRef, BNode)) for v in (mine, *theirs)):
            return None  # numbers are compared by what they are worth: not here
        return (mine in theirs) is positive

    return holds


def _value(term: Any, known: Bound) -> Node | None:
    if isinstance(term, Variable):
        return known.get(term)
    if isinstance(term, (URIRef, BNode, Literal)):
        return term
    raise NotScreened(f"{getattr(term, 'name', term)} in a filter")


def _is_number(node: Node | None) -> bool | None:
    if node is None:
        return None
    if not isinstance(node, Literal):
        return False
    if node.datatype in _NUMBERS:
        return None if node.ill_typed else True
    return False if node.datatype in (None, XSD.string) else None
