"""The closed catalogue as graphs: what each source states, and what follows from all of it.

Every source is a named graph, the vocabulary is one (`ONTOLOGY_GRAPH`), and what was derived is one
more (`DERIVED_GRAPH`), so that a query can ask who says so. The quads are kept as N-Quads in the
same folder, and under the same fingerprint, as the closed catalogue.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final, TypeAlias

from pyoxigraph import BlankNode, DefaultGraph, NamedNode, Quad, RdfFormat, Store
from pyoxigraph import Literal as Text
from rdflib import Literal, URIRef
from rdflib.term import BNode, Node

from .cache_files import reasoner_stamp, written_whole
from .load import default_cache, stated
from .reading import Facts, Triple, read_facts

Term: TypeAlias = NamedNode | BlankNode | Text

DERIVED_GRAPH: Final = URIRef("https://knockon.example/ns/derived")
"""The graph of what nobody states and OWL 2 RL derives."""

_FORMAT: Final = "quads 1"
"""Changes when what is kept changes its shape."""


def load_graphs(data: Path | None = None, cache: Path | None = None) -> Store:
    """The closed graphs of the catalogue in folder `data` (the demo by default), in memory.

    Raises:
        CatalogueFileError: a file cannot be read or parsed.
        CatalogueRefused: the data breaks a shape or contradicts itself.
    """
    version, read = stated(data)
    found = _recall(_kept(version, cache))
    if found is not None:
        return found
    version, files = read()
    # Only a catalogue that may be served is queried, so it is closed and checked all the same.
    from .closure import close
    from .validate import check_shapes

    facts = read_facts(files)
    derived = close(facts)
    check_shapes(facts, derived)
    return _remember(_kept(version, cache), graphs_of(facts, derived))


def graphs_of(facts: Facts, derived: Iterable[Triple]) -> Store:
    """Stated and derived triples as a store of named graphs."""
    store = Store()
    store.bulk_extend(_quads(facts, derived))
    return store


def _quads(facts: Facts, derived: Iterable[Triple]) -> Iterator[Quad]:
    for triple, sources in facts.sources.items():
        for source in sources:
            yield _quad(triple, source)
    for triple in derived:
        yield _quad(triple, str(DERIVED_GRAPH))


def _quad(triple: Triple, graph: str) -> Quad:
    subject, predicate, obj = (_term(node) for node in triple)
    if isinstance(subject, Text) or not isinstance(predicate, NamedNode):
        raise ValueError(f"not a statement of RDF: {triple}")
    return Quad(subject, predicate, obj, NamedNode(graph) if graph else DefaultGraph())


def _term(node: Node) -> Term:
    """A node of the reader as a term of the store, its text untouched.

    >>> _term(URIRef("https://knockon.example/station/hub")).value
    'https://knockon.example/station/hub'
    """
    if isinstance(node, Literal):
        if node.language:
            return Text(str(node), language=node.language)
        return Text(str(node), datatype=NamedNode(str(node.datatype)) if node.datatype else None)
    return BlankNode(str(node)) if isinstance(node, BNode) else NamedNode(str(node))


def _kept(version: str, cache: Path | None) -> Path:
    return (cache or default_cache()) / f"{version[:32]}-{reasoner_stamp('graphs')}.nq"


def _recall(kept: Path) -> Store | None:
    store = Store()
    try:
        store.bulk_load(path=kept, format=RdfFormat.N_QUADS)
    except (OSError, SyntaxError, ValueError):
        return None  # missing or damaged: build it again
    return store


def _remember(kept: Path, store: Store) -> Store:
    try:
        with written_whole(kept) as part, part.open("wb") as handle:
            store.dump(handle, format=RdfFormat.N_QUADS)
    except OSError:
        pass  # a cache that cannot be written costs time, never an answer
    return store
