"""Check each statement by itself: known words, a source that vouches, and things that are stated.

Shapes look at things and not at statements, so a misspelt property is invisible to them, and a
misspelt name is a thing like any other. What is found here would otherwise be lost in silence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from rdflib import OWL, PROV, RDF, RDFS, SH, SKOS, XSD, Literal, URIRef
from rdflib.namespace import DefinedNamespaceMeta
from rdflib.term import Node

from .errors import Fault
from .grouped import Grouped, by_property
from .nearest_name import did_you_mean, nearest
from .reached import reached
from .reading import Facts, Triple
from .terms import KO, ONTOLOGY_GRAPH, local_name

_REUSED: dict[str, DefinedNamespaceMeta] = {
    "owl": OWL,
    "prov": PROV,
    "rdfs": RDFS,
    "skos": SKOS,
}
_REUSED_WORDS = frozenset(str(word) for space in _REUSED.values() for word in dir(space))
_LINKS_OR_VALUES = frozenset((OWL.ObjectProperty, OWL.DatatypeProperty))
_NUMBERS = (XSD.decimal, XSD.integer)
_EXPECTED: dict[Node, str] = {
    XSD.decimal: "a plain decimal number",
    XSD.integer: "a whole number",
    XSD.boolean: "true or false",
    XSD.string: "a text in quotes",
}


@dataclass(frozen=True, slots=True)
class Finding:
    """A fault with the statement it is about, so that nothing is told twice."""

    fault: Fault
    subject: Node | None = None
    predicate: Node | None = None
    value: Node | None = None


@dataclass(slots=True)
class Vocabulary:
    """What the ontology says of its own words, and what things are stated to be."""

    words: set[Node] = field(default_factory=set)
    ranges: dict[Node, set[Node]] = field(default_factory=dict)
    domains: dict[Node, set[Node]] = field(default_factory=dict)
    wider: dict[Node, set[Node]] = field(default_factory=dict)
    labels: dict[Node, str] = field(default_factory=dict)
    links: set[Node] = field(default_factory=set)
    values: set[Node] = field(default_factory=set)
    types: dict[Node, list[Node]] = field(default_factory=dict)
    on: dict[Node, Node] = field(default_factory=dict)
    _on_before: dict[Node, list[Node]] = field(default_factory=dict)
    _above: dict[Node, frozenset[Node]] = field(default_factory=dict)
    _names: dict[Node, tuple[int, list[str]]] = field(default_factory=dict)

    def add_words(self, facts: Facts, stated: Grouped) -> None:
        """Take in the words that the ontology explains, of all that `facts` state."""
        space, ontology = str(KO), str(ONTOLOGY_GRAPH)
        ko = {s for s in facts.files if type(s) is URIRef and str.startswith(s, space)}
        self.words.update(
            t[0]
            for group in stated.values()
            for t in group
            if t[0] in ko and ontology in facts.sources[t]
        )

    def add(self, stated: Grouped) -> None:
        """Take in what is stated, by property."""
        self._above.clear()
        for p, table in (
            (RDFS.range, self.ranges),
            (RDFS.domain, self.domains),
            (RDFS.subClassOf, self.wider),
            (RDFS.subPropertyOf, self.wider),
        ):
            for s, _, o in stated.get(p, ()):
                if isinstance(o, URIRef):
                    table.setdefault(s, set()).add(o)
        for s, _, o in stated.get(RDFS.label, ()):
            self.labels[s] = min(self.labels.get(s, str(o)), str(o))
        for s, _, o in stated.get(RDF.type, ()):
            had = self.types.get(s)
            if had is None:
                self.types[s] = [o]
            else:
                had.append(o)
            if o in _LINKS_OR_VALUES:
                (self.links if o == OWL.ObjectProperty else self.values).add(s)
        for s, _, o in stated.get(OWL.onProperty, ()):
            if s in self.on:
                self._on_before.setdefault(s, []).append(self.on[s])
            self.on[s] = o

    def remove(self, stated: Grouped) -> None:
        """Take out statements of things; what the vocabulary says of its words stays."""
        self._above.clear()
        for s, _, o in stated.get(RDFS.subClassOf, ()):
            self.wider.get(s, set()).discard(o)
        for s, _, o in stated.get(OWL.onProperty, ()):
            before = self._on_before.get(s, [])
            if o in before:
                before.remove(o)
            elif self.on.pop(s, None) is not None and before:
                self.on[s] = before.pop()

    def above(self, node: Node) -> frozenset[Node]:
        """A class or property and all that are wider."""
        found = self._above.get(node)
        if found is None:
            above = reached([node], lambda here: self.wider.get(here, ()))
            found = self._above[node] = frozenset(above)
        return found

    def is_a(self, node: Node, kind: Node) -> bool:
        """Whether somebody states that a thing is of a class or of one below it."""
        return any(kind in self.above(t) for t in self.types.get(node, ()))

    def names_of(self, kind: Node) -> list[str]:
        """What the things of a class are called, for finding the nearest."""
        size, names = self._names.get(kind, (-1, []))
        if size != len(self.types):
            known = {local_name(n) for n in self.types if self.is_a(n, kind)}
            names = sorted(known)
            self._names[kind] = (len(self.types), names)
        return names


def check_statements(facts: Facts, stated: Grouped | None = None) -> Iterator[Finding]:
    """Every statement that uses an unknown word, no source, an unknown name or a wrong value.

    `stated` is what `facts` state, by property, for who has it already.
    """
    stated = by_property(facts.sources) if stated is None else stated
    vocabulary = Vocabulary()
    vocabulary.add_words(facts, stated)
    vocabulary.add(stated)
    yield from without_source(facts)
    yield from check_these(facts, stated, vocabulary, facts.sources.values())


def check_these(
    facts: Facts, stated: Grouped, vocabulary: Vocabulary, said_by: Iterable[tuple[str, ...]]
) -> Iterator[Finding]:
    """What is wrong with some statements of `facts`, of which `vocabulary` knows all.

    `said_by` are the sources of these statements.
    """
    yield from _undescribed_sources(facts, vocabulary, said_by)
    yield from _unknown_words(facts, stated, vocabulary)
    yield from _wrong_values(facts, stated, vocabulary)
    yield from _unstated_things(facts, stated, vocabulary)


def without_source(facts: Facts) -> Iterator[Finding]:
    """Statements outside the graph of any source."""
    told: dict[str, Node] = {}
    counts: Counter[str] = Counter()
    for (subject, _, _), file in facts.unsourced:
        told.setdefault(file, subject)
        counts[file] += 1
    for file, subject in told.items():
        many = "a statement stands" if counts[file] == 1 else f"{counts[file]} statements stand"
        what = (
            f"{many} outside any named graph, so nobody vouches for it; "
            "put what is stated inside the graph of its source"
        )
        yield Finding(_fault(facts, subject, "every fact has a source", what), subject)


def _undescribed_sources(
    facts: Facts, vocabulary: Vocabulary, said_by: Iterable[tuple[str, ...]]
) -> Iterator[Finding]:
    stating = {source for said in set(said_by) for source in said if source}
    for source in sorted(stating - {str(ONTOLOGY_GRAPH)}):
        node = URIRef(source)
        if KO.Source not in vocabulary.types.get(node, ()):
            described = [n for n, kinds in vocabulary.types.items() if KO.Source in kinds]
            what = (
                "facts stand in the graph of this source, but nobody describes it; state its "
                f"ko:standing and who it comes from{nearest(node, described)}"
            )
            yield Finding(_fault(facts, node, "every fact has a source", what), node)


def _unknown_words(facts: Facts, stated: Grouped, vocabulary: Vocabulary) -> Iterator[Finding]:
    ours = {w for w in vocabulary.words if _in(KO, w)}
    groups = {p: group for p, group in stated.items() if not _in(SH, p)}
    used = {o for group in groups.values() for o in {o for _, _, o in group if type(o) is URIRef}}
    for word in sorted({w for w in (*groups, *used) if _in(KO, w)} - ours, key=str):
        uses = (t for p, group in groups.items() for t in group if word in (p, t[2]))
        first = min(uses, key=_order)
        what = f"ko:{local_name(word)} is not a word of the vocabulary{nearest(word, ours)}"
        yield Finding(_fault(facts, first[0], "known words", what), *first)
    for word, group in groups.items():
        for name, space in _REUSED.items():
            if _in(space, word) and str(word) not in _REUSED_WORDS:
                first = min(group, key=_order)
                what = f"{name}:{local_name(word)} is not a word of that vocabulary"
                yield Finding(_fault(facts, first[0], "known words", what), *first)


def _in(space: object, node: Node) -> bool:
    return isinstance(node, URIRef) and node.startswith(str(space))


def _order(triple: Triple) -> tuple[str, ...]:
    return tuple(map(str, triple))


def _wrong_values(facts: Facts, stated: Grouped, vocabulary: Vocabulary) -> Iterator[Finding]:
    for p, group in stated.items():
        if p in vocabulary.links:
            for s, _, o in group:
                if isinstance(o, Literal):
                    what = (
                        f"{local_name(p)}: “{o}” is a text; name the thing itself, such as st:wheel"
                    )
                    yield Finding(_fault(facts, s, "names of things", what), s, p, o)
            continue
        if p in vocabulary.values:
            for s, _, o in group:
                if not isinstance(o, Literal):
                    what = f"{local_name(p)}: {facts.name(o)} is a thing; a value belongs here"
                    yield Finding(_fault(facts, s, "plain values", what), s, p, o)
        kinds = _wanted(p, vocabulary)
        if kinds:
            # A number stands under a property many times over; one look at each is enough.
            distinct = {id(o): o for _, _, o in group if isinstance(o, Literal)}
            bad = {at for at, o in distinct.items() if not all(_is(o, kind) for kind in kinds)}
            for s, _, o in group:
                if bad and id(o) in bad and isinstance(o, Literal):
                    for kind in kinds:
                        if not _is(o, kind):
                            what = f"{local_name(p)}: “{o}” is not {_EXPECTED[kind]}"
                            yield Finding(_fault(facts, s, "plain values", what), s, p, o)


def _wanted(p: Node, vocabulary: Vocabulary) -> list[Node]:
    if p in (KO.least, KO.most):
        return [XSD.decimal]
    return sorted((r for r in vocabulary.ranges.get(p, ()) if r in _EXPECTED), key=str)


def _is(value: Literal, kind: Node) -> bool:
    if value.ill_typed or value.language:
        return False
    if kind == XSD.decimal:
        return value.datatype in _NUMBERS
    return (value.datatype or XSD.string) == kind


def _unstated_things(facts: Facts, stated: Grouped, vocabulary: Vocabulary) -> Iterator[Finding]:
    """Things used as something that nobody states them to be: misspelt, forgotten or mixed up."""
    told: dict[tuple[Node, Node], Triple] = {}
    for p, group in _links_spelt_out(stated, vocabulary):
        for side, table in ((0, vocabulary.domains), (2, vocabulary.ranges)):
            kinds = {k for q in vocabulary.above(p) for k in table.get(q, ()) if _in(KO, k)}
            if not kinds:
                continue
            things = {t[side] for t in group}
            for kind in sorted(kinds, key=str):
                odd = {n for n in things if type(n) is URIRef and not vocabulary.is_a(n, kind)}
                if odd:
                    for s, _, o in group:
                        node = o if side else s
                        if node in odd:
                            use = (s, p, o)
                            had = told.setdefault((node, kind), use)
                            told[(node, kind)] = min(had, use, key=_order)
    for (node, kind), use in told.items():
        yield _unstated(facts, node, kind, use, vocabulary)


def _unstated(facts: Facts, node: Node, kind: Node, use: Triple, vocabulary: Vocabulary) -> Finding:
    word = vocabulary.labels.get(kind, local_name(kind))
    s, p, o = use
    said = f"{facts.name(s)} {local_name(p)} {facts.name(o)}"
    if node in facts.files:
        what = f"used as a {word} ({said}), but nobody states that it is one"
    else:
        near = did_you_mean(local_name(node), vocabulary.names_of(kind))
        what = f"used as a {word} ({said}), but stated nowhere{near}"
    place = facts.place(node if node in facts.files else s)
    return Finding(Fault(local_name(node), place, "things are stated", what), *use)


def _links_spelt_out(
    stated: Grouped, vocabulary: Vocabulary
) -> Iterator[tuple[Node, Sequence[Triple]]]:
    """Each link as stated; a family's owl:hasValue counts as a link of the family's parts."""
    given: dict[Node, list[Triple]] = {}
    for triple in stated.get(OWL.hasValue, ()):
        link = vocabulary.on.get(triple[0])
        if link is not None:
            given.setdefault(link, []).append(triple)
    yield from given.items()
    for p, group in stated.items():
        if _in(KO, p):
            yield p, group


def _fault(facts: Facts, node: Node, rule: str, what: str) -> Fault:
    return Fault(facts.name(node), facts.place(node), rule, what)
