"""Statements that a file makes, held against what the catalogue states already."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from hashlib import sha256

from rdflib import OWL, RDF, RDFS, XSD, Literal, URIRef
from rdflib.term import BNode, Node

from ...reading import Facts
from ...terms import KO
from ..quads import LooseQuad
from .measure import spell_decimal


@dataclass(slots=True)
class Statements:
    """What is added and removed. What its source states already is only counted."""

    facts: Facts
    added: dict[LooseQuad, None] = field(default_factory=dict)
    removed: dict[LooseQuad, None] = field(default_factory=dict)
    unchanged: int = 0
    _of: dict[Node, list[tuple[Node, Node]]] = field(default_factory=dict)
    _new: dict[Node, list[tuple[Node, Node]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for s, p, o in self.facts.sources:
            self._of.setdefault(s, []).append((p, o))

    def say(self, s: Node, p: URIRef, o: Node, source: URIRef) -> None:
        """State something on the word of a source."""
        if str(source) in self.facts.sources.get((s, p, o), ()):
            self.unchanged += 1
        else:
            self.added[(s, p, o, source)] = None

    def take_back(self, s: Node, p: URIRef, o: Node) -> None:
        """Remove a statement from every source that makes it."""
        for source in self.facts.sources.get((s, p, o), ()):
            self.removed[(s, p, o, URIRef(source))] = None

    def record(self, source: URIRef, *said: tuple[URIRef, Node], of: str = "") -> BNode:
        """A record that says these things; the same content has the same name in every run."""
        key = "\n".join([of, str(source), *(f"{p} {o!r}" for p, o in said)])
        node = BNode(f"k{sha256(key.encode()).hexdigest()[:24]}")
        for p, o in said:
            self.say(node, p, o, source)
        return node

    def known(self, s: Node, p: URIRef) -> list[Node]:
        """What the catalogue, before this file, states of `s` under `p`."""
        return [o for q, o in self._of.get(s, ()) if q == p]

    def known_at_all(self, s: Node) -> bool:
        """Whether the catalogue states anything of `s`."""
        return s in self._of

    def restricted(self, family: Node, prop: URIRef) -> Iterator[URIRef]:
        """What a family of the catalogue gives its parts under `prop` (owl:hasValue)."""
        for restriction in self.known(family, RDFS.subClassOf):
            if prop in self.known(restriction, OWL.onProperty):
                yield from (o for o in self.known(restriction, OWL.hasValue) if _is_iri(o))  # type: ignore[misc]

    def families_of(self, part: Node) -> list[Node]:
        """The families that the catalogue states a part to be of, nearest only."""
        return [*self.known(part, RDF.type), *self.known(part, KO.ofFamily)]


def _is_iri(node: Node) -> bool:
    return isinstance(node, URIRef)


def text(value: str, language: str = "") -> Literal:
    """A text, in a language where it is a label."""
    return Literal(value, lang=language or None)


def label(value: str) -> Literal:
    """A label as the maintainers of this catalogue spell: British English."""
    return Literal(value, lang="en-gb")


def decimal(value: Decimal) -> Literal:
    """A plain decimal, with a point, so that every Turtle reader takes it for one."""
    said = spell_decimal(value)
    return Literal(said if "." in said else f"{said}.0", datatype=XSD.decimal, normalize=False)


def whole(value: int) -> Literal:
    """A whole number."""
    return Literal(str(value), datatype=XSD.integer, normalize=False)


def flag(value: bool) -> Literal:
    """True or false."""
    return Literal("true" if value else "false", datatype=XSD.boolean, normalize=False)


def same_value(one: Node, other: Node) -> bool:
    """Whether two values are the same, however their numbers are spelt: 94.00 is 94.

    >>> same_value(Literal("94.00", datatype=XSD.decimal, normalize=False), decimal(Decimal(94)))
    True
    """
    if isinstance(one, Literal) and isinstance(other, Literal):
        if {one.datatype, other.datatype} <= {XSD.decimal, XSD.integer}:
            return Decimal(str(one)) == Decimal(str(other))
        return str(one) == str(other)
    return one == other
