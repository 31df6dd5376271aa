"""Edits at random of who says what: values, links, whole things with their records, other sources.

Most leave a catalogue sound, so that what comes of them can be compared.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from random import Random

from knockon.reasoner.facts_change import Said
from knockon.reasoner.reading import Facts
from knockon.reasoner.terms import KO, ONTOLOGY_GRAPH, SCHEMA
from rdflib import OWL, RDF, RDFS, SKOS, XSD, Literal, URIRef
from rdflib.term import BNode, Node

Edit = tuple[list[Said], list[Said]]
"""What is added and what is removed."""

_LINKS = frozenset({
    KO.requires, KO.excludes, KO.supersededBy, KO.interchangesWith, KO.basedOn, KO.form, KO.role,
    KO.ofGeneration, KO.body, KO.part, KO.inSet, KO.hasEnd, KO.ownEnd, KO.lacksRole, KO.ofLine,
    OWL.hasValue, RDF.type, SCHEMA.manufacturer,
})  # fmt: skip
_THINGS = ("/part/", "/family/", "/end/", "/car/")
_STANDINGS = (KO.Measured, KO.Reported, KO.Presumed)


def said_in(facts: Facts) -> list[Said]:
    """What the data files state, by each source."""
    return [(*t, g) for t, by in facts.sources.items() for g in by if g != str(ONTOLOGY_GRAPH)]


class Saying:
    """What is said now, and ways to say something else."""

    def __init__(self, facts: Facts, random: Random, tag: str) -> None:
        self._said, self._random, self._tag = said_in(facts), random, tag
        self._about: dict[Node, list[Said]] = defaultdict(list)
        for said in self._said:
            self._about[said[0]].append(said)
        self._named = [n for n in self._about if isinstance(n, URIRef)]
        self._sources = sorted({said[3] for said in self._said})
        self._owners = {o: s for s, _, o, _ in self._said if isinstance(o, BNode)}

    def edit(self) -> Edit:
        """An edit that says something new or takes something away."""
        ways: tuple[Callable[[], Edit], ...] = (
            self._other_value, self._one_more_value, self._other_link, self._fewer, self._other_source,
            self._copied, self._deleted, self._gift, self._retyped, self._tried, self._label,
            self._standing, self._new_source,
        )  # fmt: skip
        added, removed = self._random.choice(ways)()
        now = set(self._said)
        new = [said for said in dict.fromkeys(added) if said not in now]
        return new, [s for s in dict.fromkeys(removed) if s in now and s not in added]

    def whole(self, thing: Node) -> list[Said]:
        """All that is said of a thing and of its records."""
        own = self._about.get(thing, [])
        return own + [s for said in own if isinstance(said[2], BNode) for s in self.whole(said[2])]

    # ------------------------------------------------------------ the ways

    def _other_value(self) -> Edit:
        said = self._pick(self._literals())
        return [self._altered(said, said[3])], [said]

    def _one_more_value(self) -> Edit:
        said = self._pick(s for s in self._literals() if "/end/" in str(s[0]))
        return [self._altered(said, self._random.choice(self._sources))], []

    def _other_link(self) -> Edit:
        s, p, o, g = self._pick(s for s in self._said if s[1] in _LINKS)
        instead = self._pick(s for s in self._said if s[1] == p)[2]
        return [(s, p, instead, g)], self._perhaps([(s, p, o, g)])

    def _fewer(self) -> Edit:
        return [], self._random.sample(self._said, self._random.randint(1, 2))

    def _other_source(self) -> Edit:
        said = self._pick(self._said)
        return [(*said[:3], self._random.choice(self._sources))], self._perhaps([said])

    def _copied(self) -> Edit:
        thing = self._thing(self._random.choice(_THINGS))
        copy = URIRef(f"{thing}-{self._tag}")
        added = self._renamed(self.whole(thing), {thing: copy})
        parts = [s for s, p, o, _ in self._said if p == RDF.type and o == thing]
        if parts:
            member = {thing: copy, parts[0]: URIRef(f"{parts[0]}-{self._tag}")}
            added += self._renamed(self.whole(parts[0]), member)
        elif "/end/" in str(copy):
            added += self._given(self._thing("/family/"), KO.hasEnd, copy, added[0][3])
        return added, []

    def _deleted(self) -> Edit:
        thing = self._thing(self._random.choice(_THINGS))
        removed = self.whole(thing)
        for part, p, o, _ in self._said:
            if p == RDF.type and o == thing:
                removed += self.whole(part)
        gone = {said[0] for said in removed}
        for said in self._said:
            if said[2] in gone and said[0] not in gone:
                removed += self._record_of(said)
        return [], removed

    def _gift(self) -> Edit:
        family = self._thing("/family/")
        if self._random.random() < 0.5:
            gift = self._pick(s for s in self._about[family] if s[1] == RDFS.subClassOf)
            return [], [gift, *(self.whole(gift[2]) if isinstance(gift[2], BNode) else ())]
        like = self._pick(s for s in self._said if s[1] == OWL.hasValue)
        (on,) = [o for _, p, o, _ in self._about[like[0]] if p == OWL.onProperty]
        return self._given(family, on, like[2], like[3]), []

    def _retyped(self) -> Edit:
        part = self._thing("/part/")
        kind = self._pick(s for s in self._about[part] if s[1] == RDF.type)
        return [(part, RDF.type, self._thing("/family/"), kind[3])], self._perhaps([kind])

    def _tried(self) -> Edit:
        source = self._random.choice(self._sources)
        return [(self._thing("/end/"), KO.triedWith, self._thing("/end/"), source)], []

    def _label(self) -> Edit:
        said = self._pick(s for s in self._literals() if "abel" in str(s[1]))
        language = self._random.choice(("en-US", "en-GB", None))
        label = Literal(f"{said[2]} {self._tag}", lang=language)
        return [(said[0], self._random.choice((said[1], SKOS.altLabel)), label, said[3])], []

    def _standing(self) -> Edit:
        said = self._pick(s for s in self._said if s[1] == KO.standing)
        return [(said[0], said[1], self._random.choice(_STANDINGS), said[3])], [said]

    def _new_source(self) -> Edit:
        old, new = self._thing("/source/"), URIRef(f"https://knockon.example/source/{self._tag}")
        described = [(*s[:3], str(new)) for s in self._renamed(self.whole(old), {old: new})]
        value = self._pick(s for s in self._literals() if "/end/" in str(s[0]))
        return [*described, (*value[:3], str(new))], []

    # ------------------------------------------------------------ pieces

    def _pick(self, among: Iterable[Said]) -> Said:
        return self._random.choice(list(among))

    def _perhaps(self, said: list[Said]) -> list[Said]:
        return said if self._random.random() < 0.6 else []

    def _thing(self, kind: str) -> URIRef:
        return self._random.choice([n for n in self._named if kind in str(n)])

    def _literals(self) -> list[Said]:
        return [said for said in self._said if isinstance(said[2], Literal)]

    def _altered(self, said: Said, source: str) -> Said:
        s, p, o, _ = said
        assert isinstance(o, Literal)
        is_number = o.datatype in (XSD.decimal, XSD.integer)
        text = f"{o}{self._random.choice('015' if is_number else 'xy')}"
        return s, p, Literal(text, lang=o.language, datatype=o.datatype, normalize=False), source

    def _given(self, family: Node, on: Node, value: Node, source: str) -> list[Said]:
        gift = BNode(f"gift{self._tag}")
        said = [(RDF.type, OWL.Restriction), (OWL.onProperty, on), (OWL.hasValue, value)]
        return [(family, RDFS.subClassOf, gift, source), *((gift, p, o, source) for p, o in said)]

    def _renamed(self, all_said: list[Said], names: dict[URIRef, URIRef]) -> list[Said]:
        def name(node: Node) -> Node:
            if isinstance(node, BNode):
                return BNode(f"{node}{self._tag}{len(names)}")
            return names.get(node, node) if isinstance(node, URIRef) else node

        def value(p: Node, o: Node) -> Node:
            return Literal(f"{o}{self._tag}") if p == SCHEMA.mpn else name(o)

        return [(name(s), p, value(p, o), g) for s, p, o, g in all_said]

    def _record_of(self, said: Said) -> list[Said]:
        """What says something of a thing that goes: the statement, or the whole record it is in."""
        top: Node = said[0]
        while isinstance(self._owners.get(top), BNode):
            top = self._owners[top]
        if not isinstance(top, BNode):
            return [said]
        return [s for s in self._said if s[2] == top] + self.whole(top)


def facts_with(facts: Facts, added: Iterable[Said], removed: Iterable[Said]) -> Facts:
    """The facts after an edit, made from the start."""
    sources = dict(facts.sources)
    for s, p, o, g in removed:
        left = tuple(by for by in sources.pop((s, p, o)) if by != g)
        if left:
            sources[s, p, o] = left
    for s, p, o, g in added:
        sources[s, p, o] = tuple(sorted({*sources.get((s, p, o), ()), g}))
    files = {s: facts.files.get(s, "the edit") for s, _, _ in sources}
    owners = {o: s for s, _, o in sources if isinstance(o, BNode)}
    return Facts(sources, files, facts.texts, [], owners)
