"""Asserted and derived triples, indexed for looking up by subject and predicate.

A catalogue has millions of them, so a subject's statements lie in one flat list and are sorted out
when it is asked about. Backwards only the things of each kind are known.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal, InvalidOperation
from itertools import repeat
from typing import Any, Final, TypeAlias

from rdflib import RDF, RDFS, Literal, URIRef
from rdflib.namespace import SKOS
from rdflib.term import Node

from .collecting import without_collecting
from .interfaces.kind import Scalar
from .reading import Facts, Triple

Sources: TypeAlias = tuple[str, ...]
Said: TypeAlias = Mapping[str, list[tuple[Node, Sources]]]
"""What is stated and derived about one subject: by predicate, each object with who asserts it."""

TYPE: Final = sys.intern(str(RDF.type))
SUBCLASS: Final = sys.intern(str(RDFS.subClassOf))
_PREFERRED, _OTHER, _PLAIN = str(SKOS.prefLabel), str(SKOS.altLabel), str(RDFS.label)

_NOTHING: Final[Said] = {}
_LATELY: Final = 4096


class FactIndex:
    """Read access to one closed set of facts. Everything returned is ordered.

    Predicates may be given as terms or as plain texts; plain ones are looked up much faster.
    """

    def __init__(self, facts: Facts, derived: Iterable[Triple]) -> None:
        self._rows: dict[Node, list[Any]] = {}
        self._backward: dict[str, dict[Node, dict[Node, None]]] = {TYPE: {}, SUBCLASS: {}}
        self._words: dict[int, tuple[Node, str]] = {}
        self._lately: dict[Node, Said] = {}
        self._scalars: dict[int, tuple[Node, Scalar]] = {}
        with without_collecting():
            self._take(facts.sources.items())
            self._take(zip(derived, repeat(())))

    def _take(self, stated: Iterable[tuple[Triple, Sources]]) -> None:
        rows, words, backward = self._rows, self._words, self._backward
        for (subject, predicate, obj), by in stated:
            # By identity: to hash and compare terms would cost more than all the rest.
            known = words.get(id(predicate))
            if known is None:
                known = words[id(predicate)] = predicate, sys.intern(str(predicate))
            word = known[1]
            row = rows.get(subject)
            if row is None:
                rows[subject] = [word, obj, by]
            else:
                row += (word, obj, by)
            if word in backward:
                backward[word].setdefault(obj, {})[subject] = None

    def add_all(self, stated: Iterable[tuple[Triple, Sources]]) -> None:
        """More triples, none of which is there: asserted by their sources, or derived."""
        more = tuple(stated)
        self._take(more)
        for (subject, _, _), _ in more:
            self._lately.pop(subject, None)

    def remove_all(self, triples: Iterable[Triple]) -> None:
        """These are neither asserted nor derived any more."""
        gone: dict[Node, dict[str, set[Node]]] = {}
        for subject, predicate, obj in triples:
            word = str(predicate)
            gone.setdefault(subject, {}).setdefault(word, set()).add(obj)
            if word in self._backward:
                self._backward[word].get(obj, {}).pop(subject, None)
        for subject, said in gone.items():
            self._lately.pop(subject, None)
            each = iter(self._rows.pop(subject, ()))
            left: list[Any] = []
            for word, obj, by in zip(each, each, each, strict=True):
                if word not in said or obj not in said[word]:
                    left += (word, obj, by)
            if left:
                self._rows[subject] = left

    def about(self, subject: Node) -> Said:
        """All that is said of one subject, objects sorted by their text. Not to be changed."""
        found = self._lately.get(subject)
        if found is not None:
            return found
        row = self._rows.get(subject)
        if row is None:
            return _NOTHING
        said: dict[str, list[tuple[Node, Sources]]] = {}
        each = iter(row)
        for word, obj, by in zip(each, each, each, strict=True):
            if word in said:
                said[word].append((obj, by))
            else:
                said[word] = [(obj, by)]
        for objects in said.values():
            if len(objects) > 1:
                objects.sort(key=_text)
        if len(self._lately) >= _LATELY:
            self._lately = {}
        self._lately[subject] = said
        return said

    def said(self, subject: Node, predicate: str) -> list[tuple[Node, Sources]]:
        """All objects, sorted by their text, each with who asserts it (nobody: it is derived)."""
        word = predicate if type(predicate) is str else str(predicate)
        return self.about(subject).get(word, [])

    def objects(self, subject: Node, predicate: str) -> list[Node]:
        """All objects, sorted by their text."""
        return [obj for obj, _ in self.said(subject, predicate)]

    def iris(self, subject: Node, predicate: str) -> tuple[str, ...]:
        """All objects that are IRIs."""
        return iris(self.said(subject, predicate))

    def iri(self, subject: Node, predicate: str) -> str:
        """The first IRI, or ""."""
        return next(iter(self.iris(subject, predicate)), "")

    def subjects(self, predicate: str, obj: Node) -> list[Node]:
        """All subjects, sorted by their text. Slow but for kinds and what they are kinds of."""
        word = str(predicate)
        if word in self._backward:
            return sorted(self._backward[word].get(obj, ()), key=str)
        found = (s for s in self._rows if any(o == obj for o in self.objects(s, word)))
        return sorted(found, key=str)

    def instances(self, cls: URIRef) -> list[URIRef]:
        """Everything with an IRI that is of class `cls`, asserted or derived."""
        return [s for s in self.subjects(TYPE, cls) if isinstance(s, URIRef)]

    def things_of(self, cls: URIRef) -> Mapping[Node, None]:
        """Everything of class `cls`, asserted or derived, in no order; it shows later changes."""
        return self._backward[TYPE].setdefault(cls, {})

    def is_a(self, subject: Node, cls: URIRef) -> bool:
        """Whether a thing is of class `cls`, asserted or derived."""
        return subject in self._backward[TYPE].get(cls, ())

    def sources(self, subject: Node, predicate: str, obj: Node) -> Sources:
        """Who asserts this triple; empty when it is derived."""
        return next((by for o, by in self.said(subject, predicate) if o == obj), ())

    def text(self, subject: Node, predicate: str) -> str:
        """The first literal's text, or ""."""
        found = self.said(subject, predicate)
        return str(found[0][0]) if found else ""

    def whole(self, subject: Node, predicate: str) -> int | None:
        """The first literal as a whole number, or None."""
        found = self.said(subject, predicate)
        return int(str(found[0][0])) if found else None

    def decimal(self, subject: Node, predicate: str) -> Decimal | None:
        """The first literal as an exact number, or None."""
        found = self.said(subject, predicate)
        return Decimal(str(found[0][0])) if found else None

    def true(self, subject: Node, predicate: str) -> bool:
        """Whether the flag is stated true."""
        return any(str(o) in ("true", "1") for o, _ in self.said(subject, predicate))

    def scalar(self, node: Node) -> Scalar:
        """As `scalar`, with one value for each term."""
        known = self._scalars.get(id(node))
        if known is None or known[0] is not node:
            known = self._scalars[id(node)] = node, scalar(node)
        return known[1]

    def label(self, subject: Node, fallback: str) -> str:
        """The preferred label, else rdfs:label, else `fallback`. British English first."""
        for predicate in (_PREFERRED, _PLAIN):
            literals = [o for o, _ in self.said(subject, predicate) if isinstance(o, Literal)]
            if len(literals) == 1:
                return str(literals[0])
            if literals:
                return str(min(literals, key=lambda o: (_language_rank(o.language), str(o))))
        return fallback

    def synonyms(self, subject: Node) -> tuple[str, ...]:
        """Every other label, any language, without the preferred one."""
        names = {
            str(o)
            for predicate in (_PREFERRED, _OTHER, _PLAIN)
            for o, _ in self.said(subject, predicate)
        }
        if len(names) > 1:
            return tuple(sorted(names - {self.label(subject, "")}))
        return tuple(names - {self.label(subject, "")}) if names else ()

    def regional(self, subject: Node) -> dict[str, str]:
        """Labels that are said in one country only, with their language tag ("en-GB", "en-US")."""
        said: dict[str, set[str]] = {}
        for label in self._labels(subject):
            said.setdefault(str(label), set()).add(label.language or "en")
        return {
            text: {"en-gb": "en-GB", "en-us": "en-US"}[language]
            for text, languages in sorted(said.items())
            if len(languages) == 1 and (language := next(iter(languages)).lower()) in _REGIONS
        }

    def _labels(self, subject: Node) -> Iterator[Literal]:
        for predicate in (_PREFERRED, _OTHER):
            for label, _ in self.said(subject, predicate):
                if isinstance(label, Literal):
                    yield label


def iris(said: Iterable[tuple[Node, Sources]]) -> tuple[str, ...]:
    """Those objects that are IRIs, as plain texts, of equal ones the same."""
    return tuple([sys.intern(str(o)) for o, _ in said if isinstance(o, URIRef)])


_REGIONS = ("en-gb", "en-us")


def _text(said: tuple[Node, Sources]) -> str:
    return str(said[0])


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
