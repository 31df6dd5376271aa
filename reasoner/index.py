"""Asserted and derived triples, indexed for looking up by subject and predicate."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from rdflib import RDF, RDFS, Literal, URIRef
from rdflib.namespace import SKOS
from rdflib.term import Node

from .interfaces.kind import Scalar
from .reading import Facts, Triple


class FactIndex:
    """Read access to one closed set of facts. Everything returned is ordered."""

    def __init__(self, facts: Facts, derived: Iterable[Triple]) -> None:
        self._sources = facts.sources
        self._forward: dict[tuple[Node, Node], list[Node]] = {}
        self._backward: dict[tuple[Node, Node], list[Node]] = {}
        for s, p, o in (*facts.sources, *derived):
            self._forward.setdefault((s, p), []).append(o)
            self._backward.setdefault((p, o), []).append(s)
        for table in (self._forward, self._backward):
            for nodes in table.values():
                nodes.sort(key=str)

    def objects(self, subject: Node, predicate: Node) -> list[Node]:
        """All objects, sorted by their text."""
        return self._forward.get((subject, predicate), [])

    def iris(self, subject: Node, predicate: Node) -> tuple[str, ...]:
        """All objects that are IRIs."""
        return tuple(str(o) for o in self.objects(subject, predicate) if isinstance(o, URIRef))

    def iri(self, subject: Node, predicate: Node) -> str:
        """The first IRI, or ""."""
        return next(iter(self.iris(subject, predicate)), "")

    def subjects(self, predicate: Node, obj: Node) -> list[Node]:
        """All subjects, sorted by their text."""
        return self._backward.get((predicate, obj), [])

    def instances(self, cls: URIRef) -> list[URIRef]:
        """Everything with an IRI that is of class `cls`, asserted or derived."""
        return [s for s in self.subjects(RDF.type, cls) if isinstance(s, URIRef)]

    def sources(self, subject: Node, predicate: Node, obj: Node) -> tuple[str, ...]:
        """Who asserts this triple; empty when it is derived."""
        return self._sources.get((subject, predicate, obj), ())

    def text(self, subject: Node, predicate: Node) -> str:
        """The first literal's text, or ""."""
        return next((str(o) for o in self.objects(subject, predicate)), "")

    def whole(self, subject: Node, predicate: Node) -> int | None:
        """The first literal as a whole number, or None."""
        return next((int(str(o)) for o in self.objects(subject, predicate)), None)

    def decimal(self, subject: Node, predicate: Node) -> Decimal | None:
        """The first literal as an exact number, or None."""
        return next((Decimal(str(o)) for o in self.objects(subject, predicate)), None)

    def true(self, subject: Node, predicate: Node) -> bool:
        """Whether the flag is stated true."""
        return any(str(o) in ("true", "1") for o in self.objects(subject, predicate))

    def label(self, subject: Node, fallback: str) -> str:
        """The preferred label, else rdfs:label, else `fallback`. British English first."""
        for predicate in (SKOS.prefLabel, RDFS.label):
            literals = [o for o in self.objects(subject, predicate) if isinstance(o, Literal)]
            if literals:
                return str(min(literals, key=lambda o: (_language_rank(o.language), str(o))))
        return fallback

    def synonyms(self, subject: Node) -> tuple[str, ...]:
        """Every other label, any language, without the preferred one."""
        label = self.label(subject, "")
        names = {
            str(o)
            for predicate in (SKOS.prefLabel, SKOS.altLabel, RDFS.label)
            for o in self.objects(subject, predicate)
        }
        return tuple(sorted(names - {label}))

    def regional(self, subject: Node) -> dict[str, str]:
        """Labels that are said in one country only, with their language tag ("en-GB", "en-US")."""
        said: dict[str, set[str]] = {}
        for predicate in (SKOS.prefLabel, SKOS.altLabel):
            for label in self.objects(subject, predicate):
                if isinstance(label, Literal):
                    said.setdefault(str(label), set()).add(label.language or "en")
        return {
            text: {"en-gb": "en-GB", "en-us": "en-US"}[language]
            for text, languages in sorted(said.items())
            if len(languages) == 1 and (language := next(iter(languages)).lower()) in _REGIONS
        }


_REGIONS = ("en-gb", "en-us")


def _language_rank(language: str | None) -> int:
    order = ("en-gb", "en", "en-us")
    lowered = (language or "en").lower()
    return order.index(lowered) if lowered in order else len(order)


def scalar(node: Node) -> Scalar:
    """A literal as the rules want it: exact numbers, texts, truth; an IRI as its text.

    >>> scalar(Literal("114.3", datatype=URIRef("http://www.w3.org/2001/XMLSchema#decimal")))
    Decimal('114.3')
    """
    if not isinstance(node, Literal):
        return str(node)
    kind = str(node.datatype or "")
    if kind.endswith("#boolean"):
        return str(node) in ("true", "1")
    if kind.endswith("#integer"):
        return int(str(node))
    if kind.endswith(("#decimal", "#double", "#float")):
        try:
            return Decimal(str(node))
        except InvalidOperation:
            return str(node)
    return str(node)
