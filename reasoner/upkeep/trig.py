"""Write the statements of one source as TriG that diffs well: sorted, one fact a line.

The text is a function of the statements alone. Records are written in place, in brackets; what the
reader makes of the text is exactly what was written (tests hold this against two RDF libraries).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

from rdflib import RDF, Literal, URIRef
from rdflib.term import Node

from .quads import Quad, is_record, to_store

PREFIXES: Final = {
    **{
        prefix: f"https://knockon.example/{space}"
        for prefix, space in (
            ("ko", "ns#"),
            ("st", "station/"),
            ("role", "role/"),
            ("joint", "joint/"),
            ("op", "operation/"),
            ("fam", "family/"),
            ("part", "part/"),
            ("end", "end/"),
            ("form", "form/"),
            ("gen", "generation/"),
            ("line", "line/"),
            ("car", "car/"),
            ("set", "set/"),
            ("obs", "observation/"),
            ("use", "consumable/"),
            ("advice", "advice/"),
            ("src", "source/"),
            ("maker", "maker/"),
            ("who", "who/"),
        )
    },
    "owl": "http://www.w3.org/2002/07/owl#",
    "prov": "http://www.w3.org/ns/prov#",
    "qudt": "http://qudt.org/schema/qudt/",
    "rdf": str(RDF),
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "schema": "https://schema.org/",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "unit": "http://qudt.org/vocab/unit/",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
}

_BY_SPACE = {space: prefix for prefix, space in PREFIXES.items()}
_SPLIT = re.compile(r"(.*[/#])([A-Za-z0-9](?:[A-Za-z0-9._-]*[A-Za-z0-9_-])?)", re.DOTALL)
_COMMA, _SEMICOLON = " ,\n        ", " ;\n    "
_XSD = PREFIXES["xsd"]
_BARE = {
    # Not every reader keeps 007 or +7 to the letter, so those are written in quotes.
    f"{_XSD}integer": re.compile(r"-?(0|[1-9][0-9]*)"),
    f"{_XSD}decimal": re.compile(r"-?(0|[1-9][0-9]*)\.[0-9]+"),
    f"{_XSD}boolean": re.compile(r"true|false"),
}


def trig(source: URIRef, quads: Iterable[Quad], heading: str) -> str:
    """One file: a comment, the prefixes that are used, and the graph of `source`.

    `quads` are all of that source, and hold their records whole.
    """
    writer = _Writer(quads)
    body = [writer.thing(subject) for subject in writer.subjects()]
    graph = writer.iri(source)
    used = [f"@prefix {p}: <{PREFIXES[p]}> ." for p in sorted(writer.used)]
    parts = [f"# {heading}", "\n".join(used), f"{graph} {{\n", "\n\n".join(body), "\n}"]
    return "\n".join(part for part in parts if part) + "\n"


def fact_lines(quads: Iterable[Quad]) -> tuple[str, ...]:
    """Statements one a line for people, records in brackets, with who says so."""
    by_source: dict[URIRef, list[Quad]] = {}
    for quad in quads:
        by_source.setdefault(quad[3], []).append(quad)
    found = []
    for source, facts in by_source.items():
        writer = _Writer(facts)
        for subject in writer.subjects():
            name = "[]" if is_record(subject) else writer.iri(subject)
            for verb, objects in writer.facts(subject):
                found += [f"{name} {verb} {each} ({writer.iri(source)})" for each in objects]
    return tuple(sorted(found))


class _Writer:
    def __init__(self, quads: Iterable[Quad]) -> None:
        self.used: set[str] = set()
        self._says: dict[URIRef, dict[URIRef, list[URIRef | Literal]]] = {}
        self._inner: set[Node] = set()
        for s, p, o, _ in quads:
            self._says.setdefault(s, {}).setdefault(p, []).append(o)
            if is_record(o):
                self._inner.add(o)

    def subjects(self) -> list[URIRef]:
        """Things by name, then the records that belong to nothing, by what they say."""
        own = [s for s in self._says if s not in self._inner]
        return sorted(own, key=lambda s: (is_record(s), self._record(s) if is_record(s) else s))

    def thing(self, subject: URIRef) -> str:
        """All that is stated of one thing."""
        name = "[]" if is_record(subject) else self.iri(subject)
        lines = [f"{verb} {_COMMA.join(objects)}" for verb, objects in self.facts(subject)]
        return f"{name} {_SEMICOLON.join(lines)} ."

    def iri(self, node: URIRef) -> str:
        """A name, shortened where a prefix fits it without escapes."""
        found = _SPLIT.fullmatch(node)
        if found is not None and found[1] in _BY_SPACE:
            prefix = _BY_SPACE[found[1]]
            self.used.add(prefix)
            return f"{prefix}:{found[2]}"
        return str(to_store(node))

    def facts(self, subject: URIRef) -> list[tuple[str, list[str]]]:
        """What is stated of a thing or record: each property with its values, in order."""
        says = self._says.get(subject, {})
        order = sorted(says, key=lambda p: (p != RDF.type, p))
        return [
            ("a" if p == RDF.type else self.iri(p), sorted(self._object(o) for o in says[p]))
            for p in order
        ]

    def _object(self, node: URIRef | Literal) -> str:
        if isinstance(node, Literal):
            return self._literal(node)
        return self._record(node) if is_record(node) else self.iri(node)

    def _record(self, record: URIRef) -> str:
        items = self._items(record)
        if items:
            return f"( {' '.join(self._object(item) for item in items)} )"
        facts = (f"{verb} {' , '.join(objects)}" for verb, objects in self.facts(record))
        text = " ; ".join(facts)
        return f"[ {text} ]" if text else "[]"

    def _items(self, record: URIRef) -> Sequence[URIRef | Literal]:
        """The members, if the record is a plain RDF list; long ones would nest too deep."""
        items: list[URIRef | Literal] = []
        node: URIRef | Literal = record
        while node != RDF.nil:
            says = self._says.get(node, {}) if isinstance(node, URIRef) else {}
            first, rest = says.get(RDF.first, []), says.get(RDF.rest, [])
            if len(says) != 2 or len(first) != 1 or len(rest) != 1 or not is_record(node):
                return ()
            items.append(first[0])
            node = rest[0]
        return items

    def _literal(self, node: Literal) -> str:
        kind = str(node.datatype or "")
        if kind in _BARE and _BARE[kind].fullmatch(str(node)):
            return str(node)
        text = str(to_store(node))
        if kind and not node.language:
            quoted = text.removesuffix(f"^^<{kind}>")
            return f"{quoted}^^{self.iri(URIRef(kind))}"
        return text
