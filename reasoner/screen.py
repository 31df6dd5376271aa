"""A fast look at a whole catalogue, or at a few things of it, for whoever breaks a shape.

The SHACL engine takes milliseconds for each thing; a catalogue has a million, and nearly all are
sound. So all are screened by plain checks over tables, and only suspects are put to the engine.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from rdflib import RDF, RDFS, SH, Graph, URIRef
from rdflib.term import Node

from .collecting import without_collecting
from .grouped import Grouped
from .links import Links
from .reading import Facts
from .shapes import Screen, screens_of
from .terms import ONTOLOGY_GRAPH

_SH: Final = str(SH)
_LISTS_AND_KINDS: Final = frozenset((RDF.first, RDF.rest, RDF.type, RDFS.subClassOf))


@dataclass(frozen=True, slots=True)
class ShapeBook:
    """The shapes of a vocabulary, ready to be put to statements.

    `shapes` is what the vocabulary says of shapes, but for their queries: those are put to all
    suspects at once, and `queries` has their texts. `ranges` says of what kind the
    records under a property are.
    """

    shapes: Graph
    queries: Graph
    screens: tuple[Screen, ...]
    ranges: Mapping[Node, tuple[Node, ...]]

    @property
    def predicates(self) -> frozenset[Node]:
        """Every property that a shape looks at."""
        return frozenset(p for screen in self.screens for p in screen.predicates)

    @property
    def kinds(self) -> frozenset[Node]:
        """The properties of whose values some shape asks what they are."""
        return frozenset(p for screen in self.screens for p in screen.kinds)

    @property
    def through(self) -> frozenset[Node]:
        """The properties whose values some shape looks at in their turn."""
        return frozenset(p for screen in self.screens for p in screen.through)

    @property
    def reach(self) -> int:
        """How many statements away from a thing its shapes look."""
        return max((screen.reach for screen in self.screens), default=0)

    @property
    def unknown(self) -> tuple[str, ...]:
        """What shapes ask that the screen does not know; all their things are suspects."""
        return tuple(sorted({screen.unknown for screen in self.screens if screen.unknown}))

    def links(self, *statements: Grouped) -> Links:
        """What is stated and what is derived, as far as shapes look at it."""
        links = Links(self.predicates, self.ranges)
        with without_collecting():
            for some in statements:
                links.add(some)
        return links


@dataclass(slots=True)
class Suspects:
    """Who might break which shape, or be found by which of its queries."""

    of_shapes: dict[Node, list[Node]] = field(default_factory=dict)
    of_queries: dict[tuple[Node, Node], list[Node]] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.of_shapes or self.of_queries)

    def nodes(self) -> set[Node]:
        """All suspects."""
        every = (*self.of_shapes.values(), *self.of_queries.values())
        return {node for nodes in every for node in nodes}


def shape_book(facts: Facts) -> ShapeBook:
    """The shapes that the vocabulary states."""
    shapes, queries = Graph(), Graph()
    ranges: dict[Node, list[Node]] = {}
    states: dict[tuple[str, ...], bool] = {}
    ontology, query, of_range = str(ONTOLOGY_GRAPH), {SH.sparql}, {RDFS.range}
    for triple, sources in facts.sources.items():
        ours = states.get(sources)
        if ours is None:
            ours = states[sources] = ontology in sources
        if triple[1] in query:
            queries.add(triple)
        elif ours and (triple[1] in _LISTS_AND_KINDS or str(triple[1]).startswith(_SH)):
            shapes.add(triple)
        if triple[1] in of_range and isinstance(triple[2], URIRef):
            ranges.setdefault(triple[0], []).append(triple[2])
    by_use = {p: tuple(sorted(kinds, key=str)) for p, kinds in ranges.items()}
    screens = screens_of(shapes + queries)
    for _, constraint in list(queries.subject_objects(SH.sparql)):
        queries += shapes.triples((constraint, None, None))
    return ShapeBook(shapes, queries, screens, by_use)


def find_suspects(book: ShapeBook, links: Links, among: Collection[Node] | None = None) -> Suspects:
    """Who might break a shape: of all things, or of those `among`.

    Whoever is sound is never a suspect because of what others look like, so that after an edit it
    is enough to look among the things it touches and whatever refers to them within `book.reach`.
    """
    found = Suspects()
    among = None if among is None else set(among)
    with without_collecting():
        for screen, nodes in zip(book.screens, _targets(book, links, among), strict=True):
            if not nodes:
                continue
            if suspects := screen.suspects(links, nodes):
                found.of_shapes[screen.shape] = suspects
            for constraint, _ in screen.queries:
                if suspects := screen.answers(links, constraint, nodes):
                    found.of_queries[(screen.shape, constraint)] = suspects
    return found


def who_looks_at(
    book: ShapeBook, links: Links, kinds_of: Collection[Node], values_of: Collection[Node]
) -> set[Node]:
    """Whose soundness may hang on what some things are (`kinds_of`) or have (`values_of`)."""
    found: set[Node] = set()
    looked_at = {*kinds_of, *values_of}
    level = [(p, set(kinds_of)) for p in book.kinds - book.through]
    level += [(p, looked_at) for p in book.through]
    for _ in range(book.reach):
        new: set[Node] = set()
        for predicate, values in level:
            if values:
                table = links.table(predicate).items()
                new.update(s for s, objects in table if not values.isdisjoint(objects))
        new -= found
        if not new:
            break
        found |= new
        level = [(p, new) for p in book.through]
    return found


def _targets(book: ShapeBook, links: Links, among: Collection[Node] | None) -> list[list[Node]]:
    """For each screen the things it is for."""
    found: list[dict[Node, None]] = [{} for _ in book.screens]
    for at, screen in enumerate(book.screens):
        named: list[Collection[Node]] = [screen.targets.nodes]
        named += [links.table(p).keys() for p in screen.targets.subjects_of]
        for predicate in screen.targets.objects_of:
            named += links.table(predicate).values()
        for nodes in named:
            wanted = nodes if among is None else _both(nodes, among)
            found[at].update(dict.fromkeys(wanted))
    for_class: dict[Node, list[dict[Node, None]]] = {}
    for at, screen in enumerate(book.screens):
        for kind in screen.targets.classes:
            for_class.setdefault(kind, []).append(found[at])
    for_kind: dict[Node, tuple[dict[Node, None], ...]] = {}
    types = links.table(RDF.type)
    for node in types if among is None else among:
        for kind in types.get(node, ()):
            lists = for_kind.get(kind)
            if lists is None:
                above = for_class.keys() & links.kinds_above(kind)
                lists = tuple(targets for wider in above for targets in for_class[wider])
                for_kind[kind] = lists
            for targets in lists:
                targets[node] = None
    return [list(targets) for targets in found]


def _both(nodes: Collection[Node], among: Collection[Node]) -> list[Node]:
    few, many = sorted((nodes, among), key=len)
    return [node for node in few if node in many]


def surroundings(book: ShapeBook, links: Links, nodes: Iterable[Node]) -> Graph:
    """What shapes can see from these things: statements within reach, and all that kinds are."""
    graph = Graph()
    seen: set[Node] = set()
    here = set(nodes)
    for _ in range(book.reach + 1):
        there: set[Node] = set()
        for predicate in links.predicates():
            table = links.table(predicate)
            for node in here if len(here) < len(table) else [n for n in table if n in here]:
                for value in table.get(node, ()):
                    graph.add((node, predicate, value))
                    there.add(value)
        seen |= here
        here = there - seen
    waiting = list(set(graph.objects(None, RDF.type)))
    known: set[Node] = set()
    while waiting:
        kind = waiting.pop()
        if kind not in known:
            known.add(kind)
            for above in links.objects(kind, RDFS.subClassOf):
                graph.add((kind, RDFS.subClassOf, above))
                waiting.append(above)
    return graph
