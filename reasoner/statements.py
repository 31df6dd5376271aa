"""Check each statement by itself: known words, a source that vouches, and things that are stated.

Shapes look at things and not at statements, so a misspelt property is invisible to them, and a
misspelt name is a thing like any other. What is found here would otherwise be lost in silence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from rdflib import OWL, PROV, RDF, RDFS, SH, SKOS, XSD, Literal, URIRef
from rdflib.namespace import DefinedNamespaceMeta
from rdflib.term import Node

from .errors import Fault
from .nearest_name import nearest
from .reading import Facts, Triple
from .terms import KO, ONTOLOGY_GRAPH, local_name

_REUSED: dict[str, DefinedNamespaceMeta] = {
    "owl": OWL,
    "prov": PROV,
    "rdfs": RDFS,
    "skos": SKOS,
}
_REUSED_WORDS = frozenset(str(word) for space in _REUSED.values() for word in dir(space))
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
class _Vocabulary:
    """What the ontology says of its own words."""

    words: set[Node] = field(default_factory=set)
    ranges: dict[Node, set[Node]] = field(default_factory=dict)
    domains: dict[Node, set[Node]] = field(default_factory=dict)
    wider: dict[Node, set[Node]] = field(default_factory=dict)
    labels: dict[Node, str] = field(default_factory=dict)
    links: set[Node] = field(default_factory=set)
    values: set[Node] = field(default_factory=set)


def check_statements(facts: Facts) -> Iterator[Finding]:
    """Every statement that uses an unknown word, no source, an unknown name or a wrong value."""
    vocabulary = _vocabulary(facts)
    yield from _without_source(facts)
    yield from _unknown_words(facts, vocabulary)
    yield from _wrong_values(facts, vocabulary)
    yield from _unstated_things(facts, vocabulary)


def _vocabulary(facts: Facts) -> _Vocabulary:
    found = _Vocabulary()
    tables: dict[Node, dict[Node, set[Node]]] = {
        RDFS.range: found.ranges,
        RDFS.domain: found.domains,
        RDFS.subClassOf: found.wider,
        RDFS.subPropertyOf: found.wider,
    }
    for (s, p, o), sources in facts.sources.items():
        if str(ONTOLOGY_GRAPH) in sources:
            found.words.add(s)
        if p in tables and isinstance(o, URIRef):
            tables[p].setdefault(s, set()).add(o)
        elif p == RDFS.label:
            found.labels.setdefault(s, str(o))
        elif p == RDF.type and o == OWL.ObjectProperty:
            found.links.add(s)
        elif p == RDF.type and o == OWL.DatatypeProperty:
            found.values.add(s)
    return found


def _with_wider(nodes: Iterable[Node], wider: Mapping[Node, set[Node]]) -> set[Node]:
    reached: set[Node] = set()
    waiting = list(nodes)
    while waiting:
        node = waiting.pop()
        if node not in reached:
            reached.add(node)
            waiting += wider.get(node, ())
    return reached


def _without_source(facts: Facts) -> Iterator[Finding]:
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
    described = {s for s, p, o in facts.sources if p == RDF.type and o == KO.Source}
    stating = {source for sources in facts.sources.values() for source in sources if source}
    for source in sorted(stating - set(map(str, described)) - {str(ONTOLOGY_GRAPH)}):
        node = URIRef(source)
        what = (
            "facts stand in the graph of this source, but nobody describes it; state its "
            f"ko:standing and who it comes from{nearest(node, described)}"
        )
        yield Finding(_fault(facts, node, "every fact has a source", what), node)


def _unknown_words(facts: Facts, vocabulary: _Vocabulary) -> Iterator[Finding]:
    ours = {w for w in vocabulary.words if _in(KO, w)}
    told: set[Node] = set()
    for triple in facts.sources:
        subject, predicate, obj = triple
        if _in(SH, predicate):
            continue
        for word in (predicate, obj):
            if word not in told and _in(KO, word) and word not in ours:
                told.add(word)
                what = f"ko:{local_name(word)} is not a word of the vocabulary{nearest(word, ours)}"
                yield Finding(_fault(facts, subject, "known words", what), *triple)
        for name, space in _REUSED.items():
            if (
                _in(space, predicate)
                and predicate not in told
                and str(predicate) not in _REUSED_WORDS
            ):
                told.add(predicate)
                what = f"{name}:{local_name(predicate)} is not a word of that vocabulary"
                yield Finding(_fault(facts, subject, "known words", what), *triple)


def _in(space: object, node: Node) -> bool:
    return isinstance(node, URIRef) and node.startswith(str(space))


def _wrong_values(facts: Facts, vocabulary: _Vocabulary) -> Iterator[Finding]:
    for s, p, o in facts.sources:
        if p in vocabulary.links and isinstance(o, Literal):
            what = f"{local_name(p)}: “{o}” is a text; name the thing itself, such as st:wheel"
            yield Finding(_fault(facts, s, "names of things", what), s, p, o)
        elif p in vocabulary.values and not isinstance(o, Literal):
            what = f"{local_name(p)}: {facts.name(o)} is a thing; a value belongs here"
            yield Finding(_fault(facts, s, "plain values", what), s, p, o)
        elif isinstance(o, Literal):
            for kind in _wanted(p, vocabulary):
                if not _is(o, kind):
                    what = f"{local_name(p)}: “{o}” is not {_EXPECTED[kind]}"
                    yield Finding(_fault(facts, s, "plain values", what), s, p, o)


def _wanted(p: Node, vocabulary: _Vocabulary) -> list[Node]:
    if p in (KO.least, KO.most):
        return [XSD.decimal]
    return sorted((r for r in vocabulary.ranges.get(p, ()) if r in _EXPECTED), key=str)


def _is(value: Literal, kind: Node) -> bool:
    if value.ill_typed or value.language:
        return False
    if kind == XSD.decimal:
        return value.datatype in _NUMBERS
    return (value.datatype or XSD.string) == kind


def _unstated_things(facts: Facts, vocabulary: _Vocabulary) -> Iterator[Finding]:
    """Things used as something that nobody states them to be: misspelt, forgotten or mixed up."""
    types: dict[Node, set[Node]] = {}
    for s, p, o in facts.sources:
        if p == RDF.type:
            types.setdefault(s, set()).add(o)
    kinds = {s: _with_wider(direct, vocabulary.wider) for s, direct in types.items()}
    told: set[tuple[Node, Node]] = set()
    for s, p, o in _with_restrictions_spelt_out(facts):
        properties = _with_wider([p], vocabulary.wider)
        for node, table in ((s, vocabulary.domains), (o, vocabulary.ranges)):
            for kind in sorted({k for q in properties for k in table.get(q, ())}, key=str):
                unstated = isinstance(node, URIRef) and kind not in kinds.get(node, ())
                if unstated and _in(KO, kind) and (node, kind) not in told:
                    told.add((node, kind))
                    yield _unstated(facts, node, kind, (s, p, o), kinds, vocabulary)


def _unstated(
    facts: Facts,
    node: Node,
    kind: Node,
    use: Triple,
    kinds: Mapping[Node, set[Node]],
    vocabulary: _Vocabulary,
) -> Finding:
    word = vocabulary.labels.get(kind, local_name(kind))
    known = [n for n, of in kinds.items() if kind in of]
    s, p, o = use
    said = f"{facts.name(s)} {local_name(p)} {facts.name(o)}"
    if node in facts.files:
        what = f"used as a {word} ({said}), but nobody states that it is one"
    else:
        what = f"used as a {word} ({said}), but stated nowhere{nearest(node, known)}"
    place = facts.place(node if node in facts.files else s)
    return Finding(Fault(local_name(node), place, "things are stated", what), *use)


def _with_restrictions_spelt_out(facts: Facts) -> Iterator[Triple]:
    """Each link as stated; a family's owl:hasValue counts as a link of the family's parts."""
    on = {s: o for s, p, o in facts.sources if p == OWL.onProperty}
    for s, p, o in facts.sources:
        if p == OWL.hasValue and s in on:
            yield s, on[s], o
        elif _in(KO, p):
            yield s, p, o


def _fault(facts: Facts, node: Node, rule: str, what: str) -> Fault:
    return Fault(facts.name(node), facts.place(node), rule, what)
