"""Make a new store on an endpoint: there whole, or seen to be unfinished and begun again.

A catalogue is more than one request can carry, so the store's page about itself comes first, saying
only that it is being filled and with which graphs; then the statements in batches; then, in one
request and after a count, all that makes it a store. Nobody takes an unfinished one for a store.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

import pyoxigraph as ox

from .endpoint import endpoint_of
from .endpoint_http import Line
from .endpoint_shelf import HOLDS, EndpointShelf
from .layout import ABOUT, HISTORY, format_of, word
from .opening import StoreError
from .shelf import Outrun
from .sparql_text import graphs, term

BATCH: Final = 1_000
"""Statements in a request; some services compile a request like a program, and have limits."""

_FILLING = word("filling")


def fill(place: Path, kept: Iterable[ox.Quad]) -> None:
    """A new store from all that it keeps.

    Raises:
        StoreError: there is a store already, or others' statements in the graphs of its sources;
            or see `Line`.
    """
    quads = list(kept)
    page = [quad for quad in quads if quad.graph_name == ABOUT]
    rest = [quad for quad in quads if quad.graph_name != ABOUT]
    sizes = Counter(q.graph_name for q in rest if isinstance(q.graph_name, ox.NamedNode))
    line = Line(endpoint_of(place))
    try:
        shelf = EndpointShelf(line)
        _make_room(place, line, shelf, sizes)
        try:
            _begin(shelf, sizes)
        except Outrun:
            raise StoreError(place, "another process is making a store here") from None
        for batch in _batches(rest):
            line.update(f"INSERT DATA {{\n{graphs(batch)}}}")
        for graph, size in sizes.items():
            found = shelf.count_in(graph)
            if found != size:
                raise line.fault(f"was given {size} statements of {graph}, and counts {found}")
        shelf.change(page, [q for q in shelf.page_now() if q.predicate == _FILLING])
    finally:
        line.close()


def _make_room(place: Path, line: Line, shelf: EndpointShelf, sizes: Counter[ox.NamedNode]) -> None:
    if format_of(shelf):
        raise StoreError(place, "there is a store here already; name an endpoint without one")
    cut_short = any(q.predicate == _FILLING for q in shelf.page_now())
    if cut_short:  # its graphs were found empty when it was begun, so all in them is its own
        for graph in (*shelf.holds, HISTORY):
            line.update(f"CLEAR SILENT GRAPH {term(graph)}")
    for graph in (HISTORY, *sizes):
        if line.yes(f"GRAPH {term(graph)} {{ ?s ?p ?o }}"):
            raise StoreError(
                place, f"there is something in {graph} already; name an endpoint without it"
            )
    if cut_short:
        line.update(f"CLEAR SILENT GRAPH {ABOUT}")


def _begin(shelf: EndpointShelf, sizes: Counter[ox.NamedNode]) -> None:
    held = [ox.Quad(ABOUT, HOLDS, graph, ABOUT) for graph in sizes if graph != HISTORY]
    begun = ox.Quad(ABOUT, _FILLING, ox.Literal("begun"), ABOUT)
    shelf.change([begun, *held], [], only_if_empty=True)


def _batches(quads: list[ox.Quad]) -> Iterator[list[ox.Quad]]:
    ordered = sorted(quads, key=lambda quad: str(quad.graph_name))
    return (ordered[first : first + BATCH] for first in range(0, len(ordered), BATCH))
