"""Facts and edits for the tests of upkeep: short texts in, statements out, and arbitrary ones."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import strategies as st
from knockon.reasoner.files import TextFile
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.changes import ChangeSet, draft
from knockon.reasoner.upkeep.quads import LooseQuad, Quad, named, quads_of, version_of
from knockon.reasoner.upkeep.store import create
from rdflib import XSD, BNode, Literal, URIRef
from rdflib.term import Node

PREFIXES = """
@prefix ko: <https://knockon.example/ns#> .
@prefix end: <https://knockon.example/end/> .
@prefix part: <https://knockon.example/part/> .
@prefix src: <https://knockon.example/source/> .
"""
BENCH = "https://knockon.example/source/bench"
NOON = datetime(2024, 5, 1, 12, tzinfo=UTC)

TWO_ENDS = """
src:bench {
    end:spline a ko:Spline ; ko:teeth 27 ; ko:module 1.0 .
    end:hat a ko:Envelope ; ko:step [ ko:from 0 ; ko:to 42 ; ko:radius 110.50 ] .
}
src:drawings { end:spline ko:teeth 28 . }
"""


def facts(text: str) -> frozenset[Quad]:
    """The statements of a short TriG text without its prefixes."""
    return quads_of(read_facts([TextFile("data/short.trig", PREFIXES + text, ontology=False)]))


def bench(text: str) -> frozenset[Quad]:
    """What the bench states."""
    return facts(f"src:bench {{ {text} }}") if text else frozenset()


def edit(
    base: str | Collection[Quad],
    added: Collection[Quad] | str = (),
    removed: Collection[Quad] | str = (),
    who: str = "Ann",
    why: str = "counted again",
) -> ChangeSet:
    """A draft on a version, or on the version of some statements; texts are the bench's words."""
    version = base if isinstance(base, str) else version_of(base)
    new = bench(added) if isinstance(added, str) else added
    old = bench(removed) if isinstance(removed, str) else removed
    return draft(who, NOON, why, BENCH, new, old, version)


def store_of(folder: Path, text: str = TWO_ENDS) -> Path:
    """A store that begins with a short text."""
    create(folder, facts(text), "Ann", "2024-01-08T09:00:00Z", "the first book")
    return folder


_NAMES = ["part/A-1", "part/a-1", "end/é", "ns#x", "odd/a.b.", "other", "source/bench", "part/"]
iris = st.sampled_from([URIRef(f"https://knockon.example/{name}") for name in _NAMES])
graphs = st.sampled_from(
    [
        URIRef("https://knockon.example/source/bench"),
        URIRef("https://knockon.example/source/Bench"),
        URIRef("https://elsewhere.example/reports#1"),
    ]
)
_texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
literals = st.one_of(
    st.builds(Literal, _texts),
    st.builds(Literal, _texts, lang=st.sampled_from(["en", "en-GB", "de-ch"])),
    st.builds(
        lambda text, kind: Literal(text, datatype=kind, normalize=False),
        st.sampled_from(["1", "1.0", "100.50", "007", "+3", ".5", "1e3", "true", "1.", "", "x"])
        | st.just("2024-05-01T12:00:00.000+00:00"),
        st.sampled_from([XSD.integer, XSD.decimal, XSD.double, XSD.boolean, XSD.dateTime]),
    ),
)
_leaf = st.tuples(iris, st.one_of(iris, literals))
_records = st.recursive(
    st.lists(_leaf, max_size=3),
    lambda inner: st.lists(st.one_of(_leaf, st.tuples(iris, inner)), max_size=3),
    max_leaves=8,
)


@st.composite
def loose(draw: st.DrawFn) -> list[LooseQuad]:
    """Any statements, with records as blank nodes, some of them nobody's."""
    found: list[LooseQuad] = []

    def state(subject: Node, says: object, graph: URIRef) -> None:
        assert isinstance(says, list)
        for predicate, value in says:
            if isinstance(value, list):
                record = BNode()
                found.append((subject, predicate, record, graph))
                state(record, value, graph)
            else:
                found.append((subject, predicate, value, graph))

    for _ in range(draw(st.integers(0, 4))):
        subject: Node = draw(st.one_of(iris, st.builds(BNode)))
        state(subject, draw(_records), draw(graphs))
    return found


quad_sets = loose().map(named)
"""Any statements, their records named."""
