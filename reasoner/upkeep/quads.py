"""Statements as the store keeps them: four terms, none of them blank, with one way to write each.

A record (a profile step, a member of a joint, an OWL restriction) is a blank node in text. Here it
has a name worked out from what it says, of what, and in which source: the same text always gives
the same names, so that a change set can say exactly what it adds and takes away. A record is
therefore a value: to change a word in it is to take the whole record away and add another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import sha256
from typing import Final, TypeAlias

import pyoxigraph as ox
from rdflib import Literal, URIRef
from rdflib.term import BNode, Node

from ..errors import KnockonError
from ..reading import Facts
from ..terms import ONTOLOGY_GRAPH, local_name

Quad: TypeAlias = tuple[URIRef, URIRef, URIRef | Literal, URIRef]
"""Subject, predicate, object, and the graph of the source that says so."""

LooseQuad: TypeAlias = tuple[Node, Node, Node, Node]
"""The same, when records may still be blank nodes."""

RECORDS: Final = "https://knockon.example/.well-known/genid/"
"""Where the names of records begin."""

KEPT_GRAPHS: Final = "https://knockon.example/store/"
"""Graphs below this are the store's own: its history and its format."""

_XSD_STRING = "http://www.w3.org/2001/XMLSchema#string"
_MODULUS = 1 << 256


class NotAStatement(KnockonError):
    """Something that no source can state: a literal as subject, a record that two things share."""


def is_record(node: Node) -> bool:
    """Whether a node stands for a record: blank, or under a record's name."""
    return isinstance(node, BNode) or str(node).startswith(RECORDS)


def quads_of(facts: Facts) -> frozenset[Quad]:
    """What the data files state, each in the graph of its source; the vocabulary is left out.

    Raises:
        NotAStatement: something is stated outside any source, or a record is not a value.
    """
    for (subject, _, _), file in facts.unsourced:
        raise NotAStatement(
            f"{file} states {facts.name(subject)} outside the graph of any source; "
            "write it inside src:… { } so that the store knows who says so"
        )
    loose = (
        (*triple, URIRef(source))
        for triple, sources in facts.sources.items()
        for source in sources
        if source != str(ONTOLOGY_GRAPH)
    )
    return named(loose)


def named(quads: Iterable[LooseQuad]) -> frozenset[Quad]:
    """The same statements with every record under the name that its content gives it.

    Names that records already have are worked out anew, so statements about a record may be
    edited freely and named afterwards. Two records that say the same of the same thing in the same
    source are one.

    Raises:
        NotAStatement: a record belongs to two things, to itself, or to two sources.
    """
    plain: set[Quad] = set()
    shape = _Records()
    for s, p, o, g in quads:
        quad = _checked(s, p, o, g)
        if is_record(quad[0]) or is_record(quad[2]):
            shape.note(quad)
        else:
            plain.add(quad)
    names = shape.names()
    for s, p, o, g in shape.quads:
        target = names.get(o, o) if isinstance(o, URIRef) else o
        plain.add((names.get(s, s), p, target, g))
    return frozenset(plain)


def whole(quads: Iterable[LooseQuad]) -> frozenset[Quad]:
    """`named`, for an edit: records that have a name already must be stated in full.

    Raises:
        NotAStatement: also if a named record is changed in part, for it would be another record.
    """
    given = tuple(quads)
    found = named(given)
    before = {n for s, _, o, _ in given for n in (s, o) if isinstance(n, URIRef) and is_record(n)}
    after = {n for s, _, o, _ in found for n in (s, o)}
    for record in sorted(before - after):
        owner = next((q for q in given if q[2] == record), None) or next(
            q for q in given if q[0] == record
        )
        raise NotAStatement(
            f"a record of {local_name(owner[0])} ({local_name(owner[1])}) is changed in part; "
            "take the whole record away and add the new one"
        )
    return found


@dataclass(slots=True)
class _Records:
    """The records of some statements: what each says and whose it is."""

    quads: list[Quad] = field(default_factory=list)
    says: dict[URIRef, list[Quad]] = field(default_factory=dict)
    whose: dict[URIRef, Quad] = field(default_factory=dict)

    def note(self, quad: Quad) -> None:
        s, _, o, _ = quad
        self.quads.append(quad)
        if is_record(s):
            self.says.setdefault(s, []).append(quad)
        if isinstance(o, URIRef) and is_record(o):
            self.says.setdefault(o, [])
            other = self.whose.setdefault(o, quad)
            if other != quad:
                raise NotAStatement(
                    f"a record belongs to {_said(other)} and to {_said(quad)}; "
                    "write it out for each of them"
                )

    def names(self) -> Mapping[URIRef, URIRef]:
        order = [r for r in self.says if r not in self.whose or not is_record(self.whose[r][0])]
        for record in order:  # grows while it is walked: each record, then the records in it
            inner = (q[2] for q in self.says[record] if is_record(q[2]))
            order.extend(o for o in inner if isinstance(o, URIRef))
        if len(order) < len(self.says):
            lost = min(set(self.says) - set(order))
            raise NotAStatement(f"a record is part of itself: {_said(self.whose[lost])}")
        content: dict[Node, str] = {}
        for record in reversed(order):
            # A set: two inner records that say the same are one, and count as one.
            lines = {
                f"{_text(p)} {content[o] if is_record(o) else _text(o)}"
                for _, p, o, _ in self.says[record]
            }
            content[record] = sha256("\n".join(sorted(lines)).encode()).hexdigest()
        found: dict[URIRef, URIRef] = {}
        for record in order:
            owner = self.whose.get(record)
            graphs = {q[3] for q in self.says[record]} | ({owner[3]} if owner else set())
            if len(graphs) > 1:
                both = " and ".join(sorted(local_name(g) for g in graphs))
                raise NotAStatement(f"a record is stated partly by {both}; one source states all")
            place = [*graphs]
            if owner is not None:
                place += [found.get(owner[0], owner[0]), owner[1]]
            key = "\n".join([*map(str, place), content[record]])
            found[record] = URIRef(RECORDS + sha256(key.encode()).hexdigest()[:32])
        return found


def _said(quad: Quad) -> str:
    owner = "another record" if is_record(quad[0]) else local_name(quad[0])
    return f"{owner} ({local_name(quad[1])}, by {local_name(quad[3])})"


def _checked(s: Node, p: Node, o: Node, g: Node) -> Quad:
    """The one way to write a statement: blank nodes under a passing name, languages in small."""
    subject, obj = _node(s), _node(o)
    if not isinstance(subject, URIRef):
        raise NotAStatement(f"“{subject}” is a value; only a thing can have facts stated of it")
    if not isinstance(p, URIRef) or is_record(p):
        raise NotAStatement(f"{local_name(subject)} is stated by something that is no property")
    if not isinstance(g, URIRef) or not str(g):
        raise NotAStatement(f"nobody states {local_name(subject)} {local_name(p)}; name its source")
    if str(g).startswith(KEPT_GRAPHS) or g == ONTOLOGY_GRAPH:
        raise NotAStatement(f"<{g}> is not the graph of a source; facts cannot be put there")
    return subject, p, obj, g


def _node(node: Node) -> URIRef | Literal:
    if isinstance(node, BNode):
        return URIRef(f"{RECORDS}passing-{node}")
    if isinstance(node, Literal):
        language = node.language.lower() if node.language else None
        datatype = None if str(node.datatype) == _XSD_STRING else node.datatype
        if language == node.language and datatype == node.datatype:
            return node
        return Literal(str(node), lang=language, datatype=datatype, normalize=False)
    if isinstance(node, URIRef):
        return node
    raise NotAStatement(f"{node!r} is no term of a statement")


def to_store(node: Node) -> ox.NamedNode | ox.Literal:
    """A term as Oxigraph's.

    Raises:
        NotAStatement: an IRI is none, or a language tag is none.
    """
    try:
        if not isinstance(node, Literal):
            return _iri(str(node))
        if node.language:
            return ox.Literal(str(node), language=node.language)
        return ox.Literal(str(node), datatype=_iri(str(node.datatype)) if node.datatype else None)
    except ValueError as error:
        raise NotAStatement(f"<{node}> is not a name that can be stated: {error}") from None


@lru_cache(maxsize=4096)
def _iri(text: str) -> ox.NamedNode:
    return ox.NamedNode(text)


def from_store(term: object) -> URIRef | BNode | Literal:
    """A term of Oxigraph as rdflib's, its text untouched."""
    if isinstance(term, ox.NamedNode):
        return URIRef(term.value)
    if isinstance(term, ox.BlankNode):
        return BNode(term.value)
    if not isinstance(term, ox.Literal):
        raise NotAStatement("a statement about a statement; only plain facts are kept")
    if term.language:
        return Literal(term.value, lang=term.language)
    kind = term.datatype.value
    datatype = None if kind == _XSD_STRING else URIRef(kind)
    return Literal(term.value, datatype=datatype, normalize=False)


def _text(node: Node) -> str:
    return str(to_store(node))


def line(quad: Quad) -> str:
    """One statement as a line of N-Quads, without the line's end."""
    return f"{' '.join(_text(term) for term in quad)} ."


def read_lines(text: str) -> tuple[Quad, ...]:
    """Statements from N-Quads whose records have names already.

    Raises:
        NotAStatement: the text is no N-Quads, or states what no source can.
    """
    try:
        return tuple(_loose(quad) for quad in ox.parse(text, format=ox.RdfFormat.N_QUADS))
    except SyntaxError as error:
        raise NotAStatement(f"line {error.lineno}: {error.msg}") from None


def _loose(quad: ox.Quad) -> Quad:
    graph = URIRef("") if isinstance(quad.graph_name, ox.DefaultGraph) else quad.graph_name.value
    return _checked(
        from_store(quad.subject), from_store(quad.predicate), from_store(quad.object), URIRef(graph)
    )


def in_order(quads: Iterable[Quad]) -> Iterator[Quad]:
    """Statements in the order in which they are written everywhere."""
    return iter(sorted(quads, key=line))


def version_of(quads: Iterable[Quad]) -> str:
    """The version of a catalogue with exactly these statements, in 64 hexadecimal digits.

    It is the sum of the statements' hashes, so it depends on nothing but what is stated, and an
    edit of ten statements takes ten hashes. It tells versions apart; it is no seal against forgery.
    """
    return moved("0" * 64, quads, ())


def moved(version: str, added: Iterable[Quad], removed: Iterable[Quad]) -> str:
    """The version after an edit; `added` were not stated before, `removed` were."""
    total = int(version, 16) + sum(map(_weight, added)) - sum(map(_weight, removed))
    return f"{total % _MODULUS:064x}"


def _weight(quad: Quad) -> int:
    return int.from_bytes(sha256(line(quad).encode()).digest(), "big")
