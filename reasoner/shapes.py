"""SHACL shapes as plain checks of many things at once: who breaks a shape, or might?

Each shape with targets becomes a `Screen`. It finds suspects and no words: whoever is suspected is
put to the SHACL engine, which decides. A shape that says something unknown here suspects all.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from rdflib import RDF, RDFS, SH, Graph, Literal, URIRef
from rdflib.term import Node

from .links import Links
from .shape_queries import Question, question
from .shape_rules import VALUE_RULES, NotScreened, Rule, in_order, only, whole

_SAYS_NOTHING: Final = {
    SH.path, SH.message, SH.severity, SH.name, SH.description, SH.order, SH.group, SH.flags,
    SH.targetClass, SH.targetNode, SH.targetSubjectsOf, SH.targetObjectsOf, SH.sparql,
    SH.deactivated, SH.defaultValue,
}  # fmt: skip
_COUNTS_AND_PAIRS: Final = {
    SH.minCount, SH.maxCount, SH.lessThan, SH.lessThanOrEquals,
}  # fmt: skip
_LOGIC: Final = {SH["not"], SH["or"], SH["and"], SH.xone, SH.node, SH.property}

TARGETS: Final = (SH.targetClass, SH.targetNode, SH.targetSubjectsOf, SH.targetObjectsOf)
"""The ways in which a shape names the things that it is for."""


@dataclass(frozen=True, slots=True)
class Targets:
    """For whom a shape is."""

    classes: frozenset[Node]
    nodes: frozenset[Node]
    subjects_of: frozenset[Node]
    objects_of: frozenset[Node]


@dataclass(frozen=True, slots=True)
class Screen:
    """One shape: for whom it is, and which of them break it or might.

    `unknown` says what it asks that is not known here ("" if all is). `predicates` are the
    properties it looks at, `reach` how many statements away from its things it looks. It asks of
    the values of `kinds` what they are, and looks at what the values of `through` have.
    """

    shape: Node
    targets: Targets
    rule: Rule
    queries: tuple[tuple[Node, Question | None], ...]
    predicates: frozenset[Node]
    kinds: frozenset[Node]
    through: frozenset[Node]
    reach: int
    unknown: str = ""

    def suspects(self, links: Links, nodes: Sequence[Node]) -> list[Node]:
        """Of the things this shape is for, those that break its constraints or might."""
        return list(self.rule(links, nodes))

    def answers(self, links: Links, constraint: Node, nodes: Sequence[Node]) -> list[Node]:
        """Of the things this shape is for, those that a query of it finds or might find."""
        asked = dict(self.queries)[constraint]
        if asked is None:
            return list(nodes)
        return [node for node in nodes if asked.might_answer(links, node)]


def screens_of(shapes: Graph) -> tuple[Screen, ...]:
    """Every shape that has targets, in order of name."""
    targeted = {s for p in TARGETS for s in shapes.subjects(p, None)}
    of_classes: set[Node] = {RDFS.Class}
    of_classes.update(s for s in shapes.transitive_subjects(RDFS.subClassOf, RDFS.Class) if s)
    targeted |= {s for s in _shapes(shapes) if of_classes & set(shapes.objects(s, RDF.type))}
    return tuple(_screen(shapes, shape, of_classes) for shape in sorted(targeted, key=str))


def _shapes(shapes: Graph) -> set[Node]:
    return {s for kind in (SH.NodeShape, SH.PropertyShape) for s in shapes.subjects(RDF.type, kind)}


def _screen(shapes: Graph, shape: Node, of_classes: set[Node]) -> Screen:
    implicit = {shape} if of_classes & set(shapes.objects(shape, RDF.type)) else set()
    targets = Targets(
        frozenset({*shapes.objects(shape, SH.targetClass), *implicit}),
        *(frozenset(shapes.objects(shape, p)) for p in TARGETS[1:]),
    )
    compiled = _Compiled(shapes)
    unknown = ""
    rule: Rule = _everybody
    try:
        if any(shapes.subjects(RDF.type, SH.ConstraintComponent)):
            raise NotScreened("a constraint component of one's own")
        rule = compiled.shape(shape)
    except NotScreened as said:
        unknown = str(said)
    queries: list[tuple[Node, Question | None]] = []
    for constraint in sorted(shapes.objects(shape, SH.sparql), key=str):
        try:
            asked = question(str(only(shapes, constraint, SH.select)))
            compiled.predicates |= asked.predicates
            compiled.through |= asked.predicates - {RDF.type}
            compiled.reach = max(compiled.reach, asked.reach)
            queries.append((constraint, asked))
        except NotScreened as said:
            unknown = unknown or str(said)
            queries.append((constraint, None))
    looked_at = compiled.predicates | targets.subjects_of | targets.objects_of
    return Screen(
        shape,
        targets,
        rule,
        tuple(queries),
        frozenset(looked_at),
        frozenset(compiled.kinds),
        frozenset(compiled.through),
        compiled.reach,
        unknown,
    )


def _nobody(_: Links, __: Sequence[Node]) -> Sequence[Node]:
    return ()


def _everybody(_: Links, nodes: Sequence[Node]) -> Sequence[Node]:
    return nodes


class _Compiled:
    """Rules of shapes and of the shapes inside them."""

    def __init__(self, shapes: Graph) -> None:
        self.shapes = shapes
        self.predicates: set[Node] = set()
        self.kinds: set[Node] = set()
        self.through: set[Node] = set()
        self.reach = 0
        self._inside: list[Node] = []
        self._steps = 0
        self._ends: list[Node] = []

    def shape(self, shape: Node) -> Rule:
        if shape in self._inside:
            raise NotScreened("a shape inside itself")
        if (SH.deactivated, Literal(True)) in set(self.shapes.predicate_objects(shape)):
            return _nobody
        self._inside.append(shape)
        paths = list(self.shapes.objects(shape, SH.path))
        path = self._path(paths[0]) if paths else ()
        self._steps += len(path)
        if path:
            self.through.update((*path[:-1], *self._ends[-1:]))
            self._ends.append(path[-1])
        if (shape, SH["class"], None) in self.shapes:
            self.kinds.update(self._ends[-1:])
        rules = self._rules(shape)
        if path:
            self._ends.pop()
        # One statement more says of what kind a value is.
        self.reach = max(self.reach, self._steps + 1)
        self._steps -= len(path)
        self._inside.pop()
        return self._property(shape, path, rules) if path else any_of(rules)

    def _rules(self, shape: Node) -> list[Rule]:
        rules: list[Rule] = []
        for parameter in sorted(set(self.shapes.predicates(shape, None)), key=str):
            if not isinstance(parameter, URIRef) or not parameter.startswith(str(SH)):
                continue
            if parameter in VALUE_RULES:
                rules.append(VALUE_RULES[parameter](self.shapes, shape))
            elif parameter in _LOGIC:
                for said in sorted(self.shapes.objects(shape, parameter), key=str):
                    rules.append(self._logic(parameter, said))
            elif parameter not in _SAYS_NOTHING and parameter not in _COUNTS_AND_PAIRS:
                raise NotScreened(parameter)
            elif parameter == SH.sparql and len(self._inside) > 1:
                raise NotScreened("a query of a shape inside another")
        return rules

    def _logic(self, parameter: URIRef, said: Node) -> Rule:
        if parameter in (SH.node, SH.property):
            return self.shape(said)
        if parameter == SH["not"]:
            inner = self.shape(said)
            return lambda links, values: _without(values, inner(links, values))
        parts = [self.shape(part) for part in self.shapes.items(said)]
        if parameter == SH["and"]:
            return any_of(parts)
        exactly_one = parameter == SH.xone

        def failing(links: Links, values: Sequence[Node]) -> list[Node]:
            fails = [set(map(id, part(links, values))) for part in parts]
            passed = [(v, sum(id(v) not in ids for ids in fails)) for v in values]
            return [v for v, count in passed if not count or (exactly_one and count > 1)]

        return failing

    def _path(self, path: Node) -> tuple[Node, ...]:
        steps = (path,) if isinstance(path, URIRef) else tuple(self.shapes.items(path))
        if not steps or not all(isinstance(step, URIRef) for step in steps):
            raise NotScreened("a path that is not a sequence of properties")
        self.predicates.update(steps)
        return steps

    def _property(self, shape: Node, path: tuple[Node, ...], rules: list[Rule]) -> Rule:
        values_fail = any_of(rules)
        at_least, at_most = (
            whole(self.shapes, shape, p) if (shape, p, None) in self.shapes else None
            for p in (SH.minCount, SH.maxCount)
        )
        pairs = [
            (other, parameter == SH.lessThan)
            for parameter in (SH.lessThan, SH.lessThanOrEquals)
            for other in self.shapes.objects(shape, parameter)
        ]
        self.predicates.update(other for other, _ in pairs)

        def failing(links: Links, nodes: Sequence[Node]) -> list[Node]:
            found = _values(links, path, nodes)
            distinct = {id(v): v for _, values in found for v in values}
            bad_values = set(map(id, values_fail(links, tuple(distinct.values()))))
            bad: dict[int, Node] = {}
            for node, values in found:
                if (
                    (at_most is not None and len(values) > at_most and len(set(values)) > at_most)
                    or (bad_values and any(id(v) in bad_values for v in values))
                    or (pairs and _out_of_order(links, node, values, pairs))
                ):
                    bad[id(node)] = node
            if at_least:
                many = {id(n) for n, vs in found if at_least == 1 or len(set(vs)) >= at_least}
                bad.update((id(n), n) for n in nodes if id(n) not in many)
            return list(bad.values())

        return failing


def _values(
    links: Links, path: tuple[Node, ...], nodes: Sequence[Node]
) -> list[tuple[Node, Collection[Node]]]:
    """Those of `nodes` that have something at the end of a path, with what they have there."""
    table = links.table(path[0])
    if not table:
        return []
    found: list[tuple[Node, Collection[Node]]] = [
        (node, values) for node in nodes if (values := table.get(node)) is not None
    ]
    for step in path[1:]:
        after = links.table(step)
        further = [
            (node, tuple({id(far): far for near in values for far in after.get(near, ())}.values()))
            for node, values in found
        ]
        found = [(node, values) for node, values in further if values]
    return found


def _out_of_order(
    links: Links, node: Node, values: Iterable[Node], pairs: list[tuple[Node, bool]]
) -> bool:
    return any(
        not in_order(value, other, strictly=strictly)
        for predicate, strictly in pairs
        for other in links.objects(node, predicate)
        for value in values
    )


def _without(values: Sequence[Node], fails: Iterable[Node]) -> list[Node]:
    ids = set(map(id, fails))
    return [value for value in values if id(value) not in ids]


def any_of(rules: Sequence[Rule]) -> Rule:
    """Whoever fails one rule fails."""
    if len(rules) == 1:
        return rules[0]

    def failing(links: Links, values: Sequence[Node]) -> Collection[Node]:
        bad: dict[int, Node] = {}
        if values:
            for rule in rules:
                bad.update((id(v), v) for v in rule(links, values))
        return bad.values()

    return failing
