"""What SHACL's constraints ask of a value, one rule for each: which of these values fail?

Values come and go as lists, each with its own place in memory, so that a number is not hashed to
be looked at. Every rule errs on the side of failing: whoever fails is put to the SHACL engine.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import TypeAlias

from pyshacl.rdfutil.compare import compare_literal
from rdflib import RDF, RDFS, SH, XSD, Graph, Literal, URIRef
from rdflib.term import BNode, Node

from .links import Links

Rule: TypeAlias = Callable[[Links, Sequence[Node]], Iterable[Node]]
"""Of the given values those that fail, each as the very object that was given."""


class NotScreened(Exception):
    """A shape says something that has no rule here; the text says what."""


def each(passes: Callable[[Node], bool]) -> Rule:
    """The rule of a question that looks at nothing but the value."""
    return lambda _, values: [v for v in values if not passes(v)]


def only(graph: Graph, shape: Node, parameter: URIRef) -> Node:
    """The one value that a parameter may have."""
    found = list(graph.objects(shape, parameter))
    if len(found) != 1:
        raise NotScreened(f"{parameter} more than once on one shape")
    return found[0]


def whole(graph: Graph, shape: Node, parameter: URIRef) -> int:
    """The one whole number of a parameter."""
    number = only(graph, shape, parameter)
    if not isinstance(number, Literal) or not isinstance(number.value, int):
        raise NotScreened(f"{parameter} that is not a whole number")
    return number.value


_PYTHON: dict[Node, tuple[type, ...]] = {
    XSD.string: (str, bytes),
    RDF.langString: (str, bytes),
    XSD.integer: (int,),
    XSD.float: (float,),
    XSD.decimal: (Decimal,),
    XSD.boolean: (bool,),
    XSD.date: (date,),
    XSD.time: (time,),
    XSD.dateTime: (datetime,),
}


def _datatype(graph: Graph, shape: Node) -> Rule:
    kind = only(graph, shape, SH.datatype)
    if kind in (RDFS.Literal, RDFS.Datatype):
        raise NotScreened("sh:datatype of any literal")
    python = _PYTHON.get(kind)

    def passes(value: Node) -> bool:
        if not isinstance(value, Literal) or value.ill_typed:
            return False
        plain = value.datatype is None and (
            (kind == XSD.string and not value.language)
            or (kind == RDF.langString and bool(value.language))
        )
        if not plain and value.datatype != kind:
            return False
        return python is None or isinstance(value.value, python)

    return each(passes)


def _node_kind(graph: Graph, shape: Node) -> Rule:
    kind = str(only(graph, shape, SH.nodeKind)).removeprefix(str(SH))
    known = ("BlankNode", "IRI", "Literal", "BlankNodeOrIRI", "BlankNodeOrLiteral", "IRIOrLiteral")
    if kind not in known:
        raise NotScreened(f"sh:nodeKind {kind}")
    words = kind.split("Or")

    def passes(value: Node) -> bool:
        sort = (
            "BlankNode"
            if isinstance(value, BNode)
            else "Literal"
            if isinstance(value, Literal)
            else "IRI"
        )
        return sort in words

    return each(passes)


def _class(graph: Graph, shape: Node) -> Rule:
    kinds = tuple(graph.objects(shape, SH["class"]))

    def failing(links: Links, values: Sequence[Node]) -> list[Node]:
        return [
            v
            for v in values
            if isinstance(v, Literal) or not all(links.is_a(v, kind) for kind in kinds)
        ]

    return failing


def _in(graph: Graph, shape: Node) -> Rule:
    allowed = set(graph.items(only(graph, shape, SH["in"])))
    return each(lambda value: value in allowed)


def _bound(parameter: URIRef, passes: Callable[[int], bool]) -> Callable[[Graph, Node], Rule]:
    def rule(graph: Graph, shape: Node) -> Rule:
        limits = [o for o in graph.objects(shape, parameter) if isinstance(o, Literal)]
        return each(lambda value: all(_compares(value, limit, passes) for limit in limits))

    return rule


def _compares(value: Node, limit: Literal, passes: Callable[[int], bool]) -> bool:
    if not isinstance(value, Literal):
        return False
    if isinstance(value.value, str) is not isinstance(limit.value, str):
        return False
    try:
        return passes(compare_literal(value, limit))  # type: ignore[no-untyped-call]
    except (TypeError, NotImplementedError):
        return False


def _text(value: Node) -> str:
    texts = (None, RDF.langString, XSD.string)
    if isinstance(value, Literal) and value.value is not None and value.datatype in texts:
        return str(value.value)
    return str(value)


def _min_length(graph: Graph, shape: Node) -> Rule:
    least = whole(graph, shape, SH.minLength)
    return each(lambda v: not least or (not isinstance(v, BNode) and len(_text(v)) >= least))


def _max_length(graph: Graph, shape: Node) -> Rule:
    most = whole(graph, shape, SH.maxLength)
    return each(lambda v: not isinstance(v, BNode) and len(_text(v)) <= most)


def _pattern(graph: Graph, shape: Node) -> Rule:
    flags = 0
    for said in graph.objects(shape, SH.flags):
        letters = set(str(said).lower())
        if letters - {"i", "m"}:
            raise NotScreened(f"sh:flags {said}")
        flags |= (re.I if "i" in letters else 0) | (re.M if "m" in letters else 0)
    patterns = [re.compile(str(p), flags) for p in graph.objects(shape, SH.pattern)]
    return each(
        lambda v: not isinstance(v, BNode) and all(pattern.search(_text(v)) for pattern in patterns)
    )


VALUE_RULES: dict[URIRef, Callable[[Graph, Node], Rule]] = {
    SH.datatype: _datatype,
    SH.nodeKind: _node_kind,
    SH["class"]: _class,
    SH["in"]: _in,
    SH.minInclusive: _bound(SH.minInclusive, lambda order: order >= 0),
    SH.minExclusive: _bound(SH.minExclusive, lambda order: order > 0),
    SH.maxInclusive: _bound(SH.maxInclusive, lambda order: order <= 0),
    SH.maxExclusive: _bound(SH.maxExclusive, lambda order: order < 0),
    SH.minLength: _min_length,
    SH.maxLength: _max_length,
    SH.pattern: _pattern,
}
"""Constraints that look at one value at a time."""


def in_order(value: Node, other: Node, *, strictly: bool) -> bool:
    """Whether a value comes before another as sh:lessThan wants it (or sh:lessThanOrEquals)."""
    mine, theirs = _comparable(value), _comparable(other)
    if mine is None or theirs is None or isinstance(mine, str) is not isinstance(theirs, str):
        return False
    try:
        if isinstance(mine, Literal) and isinstance(theirs, Literal):
            return bool(mine < theirs if strictly else mine <= theirs)
        return str(mine) < str(theirs) if strictly else str(mine) <= str(theirs)
    except (TypeError, NotImplementedError):
        return False


def _comparable(node: Node) -> Node | str | None:
    if isinstance(node, BNode):
        return None
    if isinstance(node, Literal):
        return str(node.value) if isinstance(node.value, str) else node
    return str(node)
