"""What the ontology says of its words, for making templates and judging cells.

Everything here is read from the asserted facts, so that a new quantity, kind or limit shows up in
the templates and in the reading without a word changed here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from rdflib import RDF, RDFS, SH, XSD, Literal, URIRef
from rdflib.collection import Collection
from rdflib.graph import Graph
from rdflib.namespace import SKOS
from rdflib.term import Node

from ...reading import Facts
from ...terms import KO, ONTOLOGY_GRAPH, QUDT, local_name

UNITS = {
    "MilliM": "mm", "DEG": "deg", "N": "N", "N-M": "N·m", "REV-PER-MIN": "rev/min", "IN": "in",
    "KiloGM": "kg",
}  # fmt: skip
"""QUDT units of the vocabulary as people write them; counts and bare ratios have none."""

_LABEL_WITH_UNIT = re.compile(r"(?P<name>.+?), (?P<unit>EUR|kg|mm)")


@dataclass(frozen=True, slots=True)
class Limits:
    """What a shape asks of a value. `said` is the shape's own sentence."""

    least: Decimal | None = None
    most: Decimal | None = None
    above: Decimal | None = None
    below: Decimal | None = None
    one_of: tuple[str, ...] = ()
    pattern: str = ""
    said: str = ""

    def allows(self, value: Decimal) -> bool:
        """Whether a number keeps within the limits."""
        return not (
            (self.least is not None and value < self.least)
            or (self.most is not None and value > self.most)
            or (self.above is not None and value <= self.above)
            or (self.below is not None and value >= self.below)
        )


ANYTHING = Limits()
"""No limits at all."""


@dataclass(frozen=True, slots=True)
class Word:
    """A property of the vocabulary as a column shows it.

    `unit` is "" where there is none. `number` is "whole", "decimal" or "" for texts and things.
    """

    iri: URIRef
    label: str
    unit: str
    note: str
    number: str
    synonyms: tuple[str, ...] = ()
    limits: Limits = ANYTHING

    @property
    def name(self) -> str:
        """The local name."""
        return local_name(self.iri)


@dataclass(frozen=True, slots=True)
class KindWords:
    """An interface kind: its quantities, the fields of its records, and its sides."""

    iri: URIRef
    label: str
    note: str
    values: tuple[Word, ...]
    records: tuple[tuple[Word, tuple[Word, ...]], ...]
    sides: tuple[URIRef, ...]


@dataclass(slots=True)
class Vocabulary:
    """The words of the ontology by IRI; made by `vocabulary_of`."""

    graph: Graph
    kinds: dict[URIRef, KindWords] = field(default_factory=dict)
    quantities: dict[URIRef, Word] = field(default_factory=dict)
    attributes: dict[URIRef, Word] = field(default_factory=dict)

    def word(self, iri: URIRef) -> Word:
        """One property: its label, unit and note; what it says of itself, nothing more."""
        return self.quantities.get(iri) or self.attributes.get(iri) or _word(self.graph, iri, {})

    def label(self, iri: Node) -> str:
        """The plain label of a class or individual."""
        return _label(self.graph, iri)

    def below(self, cls: URIRef) -> frozenset[URIRef]:
        """A class of the vocabulary and all its subclasses."""
        found = self.graph.transitive_subjects(RDFS.subClassOf, cls)
        return frozenset(c for c in found if isinstance(c, URIRef))

    def limits(self, cls: URIRef, prop: URIRef) -> Limits:
        """What the shape of a class asks of one property; no limits where none is stated."""
        return _limits_of_class(self.graph, cls).get(prop, ANYTHING)

    def members(self, cls: URIRef) -> tuple[URIRef, ...]:
        """The vocabulary's own individuals of a class, in order of label."""
        found = [s for s in self.graph.subjects(RDF.type, cls) if isinstance(s, URIRef)]
        return tuple(sorted(found, key=self.label))


def vocabulary_of(facts: Facts) -> Vocabulary:
    """Everything the templates and the reading need to know of the ontology."""
    graph = Graph()
    for triple, sources in facts.sources.items():
        if str(ONTOLOGY_GRAPH) in sources:
            graph.add(triple)
    found = Vocabulary(graph)
    kinds = sorted(
        (k for k in graph.subjects(RDFS.subClassOf, KO.End) if isinstance(k, URIRef)), key=str
    )
    carried: set[Node] = set()
    for kind in kinds:
        limits = _limits_of_class(graph, kind)
        names = sorted(graph.subjects(KO.quantityOf, kind), key=str)
        values = []
        records = []
        for name in names:
            assert isinstance(name, URIRef)
            carried.add(name)
            if (name, RDF.type, KO.RecordProperty) in graph:
                fields = sorted(graph.subjects(KO.fieldOf, name), key=_Order(graph))
                inner = _limits_of_records(graph, kind, name)
                records.append(
                    (
                        _word(graph, name, limits),
                        tuple(_word(graph, f, inner) for f in fields if isinstance(f, URIRef)),
                    )
                )
            else:
                word = _word(graph, name, limits)
                values.append(word)
                found.quantities.setdefault(name, word)
        found.kinds[kind] = KindWords(
            kind,
            _label(graph, kind),
            str(graph.value(kind, KO.kindRule) or ""),
            tuple(sorted(values, key=lambda w: _Order(graph)(w.iri))),
            tuple(records),
            _sides(graph, kind),
        )
    for name in sorted(graph.subjects(RDF.type, KO.ValueProperty), key=str):
        if isinstance(name, URIRef) and name not in carried:
            found.attributes[name] = _word(graph, name, _limits_of_subjects(graph, name))
    return found


@dataclass(frozen=True, slots=True)
class _Order:
    """Counts before sizes before words, then by name: the order in which people fill them in."""

    graph: Graph

    def __call__(self, node: Node) -> tuple[int, str]:
        unit = self.graph.value(node, QUDT.hasUnit)
        kind = self.graph.value(node, RDFS.range)
        rank = 0 if kind == XSD.integer else 1 if unit is not None else 2
        return rank, str(node)


def _label(graph: Graph, node: Node) -> str:
    labels = sorted(graph.objects(node, RDFS.label), key=str)
    labels = labels or sorted(graph.objects(node, SKOS.prefLabel), key=str)
    return str(labels[0]) if labels else local_name(node)


def _word(graph: Graph, iri: URIRef, limits: dict[Node, Limits]) -> Word:
    label, unit = (
        _label(graph, iri),
        UNITS.get(local_name(graph.value(iri, QUDT.hasUnit) or ""), ""),
    )
    with_unit = _LABEL_WITH_UNIT.fullmatch(label)
    if with_unit:
        label, unit = with_unit["name"], unit or with_unit["unit"]
    kind = graph.value(iri, RDFS.range)
    notes = [graph.value(iri, RDFS.comment), graph.value(iri, KO.measureBy)]
    return Word(
        iri,
        label,
        unit,
        " ".join(_sentence(str(n)) for n in notes if n is not None),
        "whole" if kind == XSD.integer else "decimal" if kind == XSD.decimal else "",
        tuple(sorted(str(o) for o in graph.objects(iri, SKOS.altLabel))),
        limits.get(iri, ANYTHING),
    )


def _sentence(text: str) -> str:
    start = text[:1].upper() + text[1:]
    return start if start.endswith((".", "!", "?")) else f"{start}."


def _limits_of_class(graph: Graph, cls: URIRef) -> dict[Node, Limits]:
    found: dict[Node, Limits] = {}
    for shape in graph.subjects(SH.targetClass, cls):
        found |= _limits(graph, shape)
    return found


def _limits_of_subjects(graph: Graph, prop: URIRef) -> dict[Node, Limits]:
    found: dict[Node, Limits] = {}
    for shape in graph.subjects(SH.targetSubjectsOf, prop):
        found |= _limits(graph, shape)
    return found


def _limits_of_records(graph: Graph, cls: URIRef, prop: URIRef) -> dict[Node, Limits]:
    found: dict[Node, Limits] = {}
    for shape in graph.subjects(SH.targetClass, cls):
        for asked in graph.objects(shape, SH.property):
            if graph.value(asked, SH.path) == prop:
                for inner in graph.objects(asked, SH.node):
                    found |= _limits(graph, inner)
    return found


def _limits(graph: Graph, shape: Node) -> dict[Node, Limits]:
    found: dict[Node, Limits] = {}
    for asked in graph.objects(shape, SH.property):
        path = graph.value(asked, SH.path)
        if not isinstance(path, URIRef):
            continue
        listed = graph.value(asked, SH["in"])
        found[path] = Limits(
            least=_number(graph, asked, SH.minInclusive),
            most=_number(graph, asked, SH.maxInclusive),
            above=_number(graph, asked, SH.minExclusive),
            below=_number(graph, asked, SH.maxExclusive),
            one_of=tuple(str(o) for o in Collection(graph, listed) if isinstance(o, Literal))
            if listed is not None
            else (),
            pattern=str(graph.value(asked, SH.pattern) or ""),
            said=str(graph.value(asked, SH.message) or ""),
        )
    return found


def _number(graph: Graph, node: Node, prop: URIRef) -> Decimal | None:
    value = graph.value(node, prop)
    try:
        return None if value is None else Decimal(str(value))
    except InvalidOperation:
        return None


def _sides(graph: Graph, kind: URIRef) -> tuple[URIRef, ...]:
    """The sides that the kind's shape allows; none where an end of the kind has no side."""
    for shape in graph.subjects(SH.targetClass, kind):
        for asked in graph.objects(shape, SH.property):
            listed = graph.value(asked, SH["in"])
            if graph.value(asked, SH.path) == KO.side and listed is not None:
                return tuple(o for o in Collection(graph, listed) if isinstance(o, URIRef))
    return ()
