"""What a catalogue says in OWL: axioms about properties, and the words that no rule here reads.

Rules are named as in W3C OWL 2 Profiles (Second Edition), section 4.3, Tables 4 to 9. `unread`
holds everything that the fast engine must not pass over; a catalogue with such words is closed by
the reference engine.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import combinations

from rdflib import OWL, RDF, RDFS, SH, XSD, URIRef
from rdflib.term import Literal, Node

from .reached import reached
from .reading import Triple

Pairs = set[tuple[Node, Node]]

_VOCABULARIES = (str(OWL), str(RDFS), str(RDF), str(XSD))

PROPERTY_WORDS = frozenset({
    RDFS.subPropertyOf, OWL.equivalentProperty, OWL.inverseOf, OWL.propertyChainAxiom,
    OWL.propertyDisjointWith, RDFS.domain, RDFS.range, OWL.disjointWith, OWL.members,
})  # fmt: skip
"""Predicates of axioms that seldom change: after such a change all is closed anew."""

PROPERTY_TYPES = frozenset({
    OWL.FunctionalProperty, OWL.InverseFunctionalProperty, OWL.SymmetricProperty,
    OWL.AsymmetricProperty, OWL.TransitiveProperty, OWL.IrreflexiveProperty, OWL.ObjectProperty,
    OWL.DatatypeProperty, RDF.Property, OWL.AllDisjointClasses, OWL.AllDisjointProperties,
})  # fmt: skip

CLASS_WORDS = frozenset({RDFS.subClassOf, OWL.equivalentClass, OWL.onProperty, OWL.hasValue})

_SILENT = frozenset({
    OWL.distinctMembers, OWL.differentFrom, OWL.sameAs, OWL.versionInfo, OWL.versionIRI,
    OWL.imports, OWL.priorVersion, OWL.backwardCompatibleWith, OWL.incompatibleWith,
    OWL.deprecated, RDFS.label, RDFS.comment, RDFS.seeAlso, RDFS.isDefinedBy,
})  # fmt: skip
"""Words that start no rule, or none unless two things are one; that is looked into by itself."""

_SILENT_TYPES = frozenset({
    OWL.Class, OWL.Thing, OWL.Restriction, OWL.NamedIndividual, OWL.AnnotationProperty,
    OWL.Ontology, OWL.OntologyProperty, OWL.AllDifferent, RDFS.Class, RDFS.Datatype,
    RDFS.Resource, OWL.DeprecatedClass, OWL.DeprecatedProperty,
})  # fmt: skip

_LABELS = frozenset({RDFS.label, RDFS.comment, RDFS.seeAlso, RDFS.isDefinedBy})


def of_a_vocabulary(node: Node) -> bool:
    """Whether a word belongs to OWL, RDFS, RDF or XML Schema."""
    return isinstance(node, URIRef) and str(node).startswith(_VOCABULARIES)


def unread_word(triple: Triple) -> str | None:
    """Why the fast engine cannot take a statement; None if it can."""
    s, p, o = triple
    if p == RDF.type:
        if not of_a_vocabulary(o) or o in _SILENT_TYPES or str(o).startswith(str(RDF)):
            return f"{s} is a {o}" if o in PROPERTY_TYPES and of_a_vocabulary(s) else None
        if o not in PROPERTY_TYPES:
            return f"a {o}"
        silent = o in (OWL.ObjectProperty, OWL.DatatypeProperty, RDF.Property)
        return f"{s} is a {o}" if of_a_vocabulary(s) and not silent else None
    if p in PROPERTY_WORDS or p in CLASS_WORDS:
        if isinstance(o, Literal) and p != OWL.hasValue:
            return None
        return None if _plain(s, p, o) else f"{s} {p} {o}"
    if str(p).startswith((str(OWL), str(RDFS))):
        return None if p in _SILENT else str(p)
    return None


def _plain(s: Node, p: Node, o: Node) -> bool:
    """Whether an axiom speaks of the catalogue's own words and not of OWL's."""
    if p == RDFS.subClassOf and o == OWL.Thing:
        return True
    if of_a_vocabulary(s):
        return False
    if p == RDFS.subPropertyOf and o in _LABELS:
        return True
    if p == RDFS.range and (str(o).startswith(str(XSD)) or o in (RDFS.Literal, RDF.langString)):
        return True
    if p in (RDFS.subClassOf, RDFS.domain, RDFS.range) and o in (OWL.Class, RDFS.Resource):
        return True
    return p == OWL.hasValue or not of_a_vocabulary(o)


@dataclass(slots=True)
class Axioms:
    """The axioms about properties, and which kinds and links exclude each other.

    `wider` is closed (scm-spo, scm-eqp) and holds no property under itself. `cells` are the nodes
    of lists that axioms are written with.
    """

    unread: list[str] = field(default_factory=list)
    declared: set[Node] = field(default_factory=set)
    typed: dict[Node, set[Node]] = field(default_factory=lambda: defaultdict(set))
    wider: dict[Node, set[Node]] = field(default_factory=lambda: defaultdict(set))
    inverses: dict[Node, set[Node]] = field(default_factory=lambda: defaultdict(set))
    chains: list[tuple[Node, tuple[Node, ...]]] = field(default_factory=list)
    domains: dict[Node, set[Node]] = field(default_factory=lambda: defaultdict(set))
    ranges: dict[Node, set[Node]] = field(default_factory=lambda: defaultdict(set))
    exclusive_links: Pairs = field(default_factory=set)
    exclusive_kinds: Pairs = field(default_factory=set)
    restricted: set[Node] = field(default_factory=set)
    telling: set[Node] = field(default_factory=set)
    cells: set[Node] = field(default_factory=set)

    def joined(self) -> set[Node]:
        """Properties whose links meet other links in some rule."""
        found = set(self.restricted) | set(self.wider) | set(self.inverses)
        found.update(q for wider in self.wider.values() for q in wider)
        for kind in PROPERTY_TYPES - {OWL.ObjectProperty, OWL.DatatypeProperty, RDF.Property}:
            found |= self.typed[kind]
        for whole, links in self.chains:
            found.update((whole, *links))
        found.update(p for pair in self.exclusive_links for p in pair)
        return found


def read_axioms(said: Mapping[Node, list[Triple]]) -> Axioms:
    """The axioms among statements that are sorted by predicate."""
    found = Axioms()
    lists = _Lists(said)
    for p, triples in said.items():
        if p == RDF.type:
            _types(found, triples)
        elif p in CLASS_WORDS:
            found.unread += [why for t in _of_vocabularies(triples) if (why := unread_word(t))]
        elif str(p).startswith((str(OWL), str(RDFS))) and p not in _SILENT:
            found.unread += [why for t in triples if (why := unread_word(t))]
    for s, o in _stated(said, RDFS.subPropertyOf):
        found.wider[s].add(o)
        found.telling.add(s)
    for s, o in _stated(said, OWL.equivalentProperty):
        found.wider[s].add(o)
        found.wider[o].add(s)
    for s, o in _stated(said, OWL.inverseOf):
        found.inverses[s].add(o)
        found.inverses[o].add(s)
    for s, o in _stated(said, RDFS.domain):
        found.domains[s].add(o)
        found.telling.add(s)
    for s, o in _stated(said, RDFS.range):
        found.ranges[s].add(o)
    found.restricted.update(o for _, _, o in said.get(OWL.onProperty, ()))
    for s, o in _stated(said, OWL.propertyChainAxiom):
        if chain := lists.items(o, found):
            found.chains.append((s, chain))
    _exclusions(found, said, lists)
    _close(found.wider)
    for p in [q for q in found.restricted if of_a_vocabulary(q) and q not in _LABELS]:
        found.unread.append(f"a restriction on {p}")
    return found


def _types(found: Axioms, triples: Iterable[Triple]) -> None:
    by_kind: dict[Node, list[Triple]] = defaultdict(list)
    for triple in triples:
        by_kind[triple[2]].append(triple)
    for kind, those in by_kind.items():
        if kind in PROPERTY_TYPES:
            found.typed[kind].update(s for s, _, _ in those)
            found.unread += [why for t in those if (why := unread_word(t))]
        elif of_a_vocabulary(kind) and (why := unread_word(those[0])):
            found.unread.append(why)
    for kind in (OWL.ObjectProperty, OWL.DatatypeProperty, RDF.Property):
        found.declared |= found.typed[kind]


def _of_vocabularies(triples: Iterable[Triple]) -> Iterator[Triple]:
    """Those with a word of OWL in them; there are many axioms about classes and few words."""
    known: dict[Node, bool] = {}
    for triple in triples:
        for node in (triple[0], triple[2]):
            held = known.get(node)
            if held is None:
                held = known[node] = of_a_vocabulary(node)
            if held:
                yield triple
                break


def _stated(said: Mapping[Node, list[Triple]], p: Node) -> Iterator[tuple[Node, Node]]:
    """What is stated under an axiom's word of two things that are not the same."""
    for s, _, o in said.get(p, ()):
        if s != o and not isinstance(o, Literal):
            yield s, o


def _exclusions(found: Axioms, said: Mapping[Node, list[Triple]], lists: _Lists) -> None:
    found.exclusive_kinds.update(_stated(said, OWL.disjointWith))
    found.exclusive_links.update(_stated(said, OWL.propertyDisjointWith))
    members = defaultdict(list)
    for s, o in _stated(said, OWL.members):
        members[s].append(o)
    for kind, pairs in (
        (OWL.AllDisjointClasses, found.exclusive_kinds),
        (OWL.AllDisjointProperties, found.exclusive_links),
    ):
        for group in found.typed[kind]:
            for head in members[group]:
                pairs.update(combinations(lists.items(head, found), 2))
    for pairs in (found.exclusive_kinds, found.exclusive_links):
        ordered = {(min(a, b, key=str), max(a, b, key=str)) for a, b in pairs}
        pairs.clear()
        pairs.update(ordered)


def _close(wider: dict[Node, set[Node]]) -> None:
    """Make a relation transitive, leaving out what stands in it to itself."""
    for start in list(wider):
        wider[start] = reached(wider[start], lambda node: wider.get(node, ())) - {start}


class _Lists:
    """The lists of RDF that axioms are written with."""

    def __init__(self, said: Mapping[Node, list[Triple]]) -> None:
        self._said = said
        self._first: dict[Node, list[Node]] | None = None
        self._rest: dict[Node, list[Node]] = defaultdict(list)

    def items(self, head: Node, found: Axioms) -> tuple[Node, ...]:
        if self._first is None:
            self._first = defaultdict(list)
            for s, _, o in self._said.get(RDF.first, ()):
                self._first[s].append(o)
            for s, _, o in self._said.get(RDF.rest, ()):
                self._rest[s].append(o)
        items: list[Node] = []
        seen: set[Node] = set()
        while head != RDF.nil and head not in seen:
            seen.add(head)
            found.cells.add(head)
            first, rest = self._first.get(head, []), self._rest.get(head, [])
            if len(first) != 1 or len(rest) != 1:
                found.unread.append("a list that is none")
                return ()
            items.append(first[0])
            head = rest[0]
        return tuple(items)


def by_predicate(triples: Iterable[Triple]) -> dict[Node, list[Triple]]:
    """Statements sorted by predicate; shapes, which no rule reads, are left out."""
    said: dict[Node, list[Triple]] = defaultdict(list)
    for triple in triples:
        said[triple[1]].append(triple)
    return {p: found for p, found in said.items() if not str(p).startswith(str(SH))}
