"""A store on a SPARQL 1.1 endpoint: read whole or not at all, and edited by compare-and-set.

Nothing is locked. An edit is one update request that does everything if the store's page about
itself still says the version and number of edits that the editor saw, and nothing otherwise; then
it is read back whether it was done, by a receipt that the same request leaves. So of two editors
one wins, and a line that breaks leaves no doubt. What an endpoint must give for that: an update
request is done whole and alone, as SPARQL 1.1 asks of a service ("should be atomic").

Services cut long answers short without saying so. Every answer is counted against the service's own
count, fetched on in pages if it is short, and refused if it stays so. What is read of several
requests is of one version: see `settled`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pyoxigraph as ox

from .endpoint import endpoint_of
from .endpoint_http import EndpointError, Line, Unknown
from .layout import ABOUT, HISTORY, word
from .quads import KEPT_GRAPHS
from .shelf import Outrun, Place
from .sparql_text import graphs, term, values_told

_BATCH = 100
_LONG = (word("added"), word("removed"))
"""Properties of the history whose texts may be long; they are fetched one by one."""

HOLDS = word("holds")
_RECEIPT = word("receipt")
_RECEIPTS = ox.NamedNode(f"{KEPT_GRAPHS}receipts")
_COUNT = ("n",)


class EndpointShelf:
    """One session with a store on an endpoint; `Shelf` says what it answers."""

    def __init__(self, line: Line) -> None:
        self._line = line
        self._forget()

    def _forget(self) -> None:
        self._nodes: dict[ox.NamedNode, list[ox.Quad]] = {}
        self._all_nodes = False
        self._page = self.page_now()

    def page_now(self) -> frozenset[ox.Quad]:
        """What the store says of itself at this moment."""
        return frozenset(self._matching(None, None, None, ABOUT))

    @property
    def holds(self) -> tuple[ox.NamedNode, ...]:
        """The graphs of sources that are this store's; what else the endpoint has is not."""
        found = (q.object for q in self._page if q.predicate == HOLDS)
        return tuple(sorted((g for g in found if isinstance(g, ox.NamedNode)), key=str))

    # ------------------------------------------------------------------ what a shelf answers

    def quads_for_pattern(
        self,
        subject: ox.NamedNode | None,
        predicate: ox.NamedNode | None,
        object: ox.NamedNode | ox.Literal | None,  # noqa: A002
        graph_name: ox.NamedNode,
    ) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        known = self._known(subject, predicate, object, graph_name)
        if known is None:
            return self._matching(subject, predicate, object, graph_name)
        return (
            quad
            for quad in known
            if (subject is None or quad.subject == subject)
            and (predicate is None or quad.predicate == predicate)
            and (object is None or quad.object == object)
        )

    def facts(self) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        for graph in self.holds:
            yield from self._matching(None, None, None, graph)

    def facts_at(self, places: Sequence[Place]) -> Iterator[ox.Quad]:
        """See `Shelf`."""
        held = set(self.holds)
        for first in range(0, len(places), _BATCH):
            some = places[first : first + _BATCH]
            wanted = " UNION ".join(
                f"{{ GRAPH ?g {{ {term(s)} {term(p) if p else '?p'} ?o }} "
                f"BIND({term(s)} AS ?s){f' BIND({term(p)} AS ?p)' if p else ''} }}"
                for s, p in some
            )
            for s, p, o, g in self._counted(("s", "p", "o", "g"), wanted):
                if g in held:
                    yield self._quad(s, p, o, g)

    def change(
        self,
        added: Iterable[ox.Quad],
        removed: Iterable[ox.Quad],
        only_if_empty: bool = False,
    ) -> None:
        """See `Shelf`. With `only_if_empty`, also only if the store says nothing of itself."""
        old, new = list(removed), list(added)
        seen = [quad for quad in old if quad.graph_name == ABOUT]
        token = ox.Literal(uuid4().hex)
        have = {ABOUT, HISTORY, *self.holds}
        graphs_of = {q.graph_name for q in new if isinstance(q.graph_name, ox.NamedNode)}
        new += [ox.Quad(ABOUT, HOLDS, graph, ABOUT) for graph in graphs_of - have]
        new.append(ox.Quad(ABOUT, _RECEIPT, token, _RECEIPTS))
        gone = f"DELETE {{\n{graphs(old)}}}\n" if old else ""
        if_so = f"FILTER NOT EXISTS {{ GRAPH {ABOUT} {{ ?s ?p ?o }} }}" if only_if_empty else ""
        text = f"{gone}INSERT {{\n{graphs(new)}}}\nWHERE {{\n{graphs(seen)}{if_so}}}"
        told = values_told(quad for quad in old if quad.graph_name != ABOUT)
        if told:
            # Some services find such a value only by what it says, never by itself.
            found = f"DELETE {{ GRAPH ?g {{ ?s ?p ?o }} }}\nWHERE {{\n{graphs(seen)}{told}}}"
            text = f"{found} ;\n{text}"
        receipt = f"GRAPH {_RECEIPTS} {{ {ABOUT} {_RECEIPT} {token} }}"
        try:
            self._line.update(text)
        except Unknown as broken:
            if not self._done(receipt, broken):
                raise self._line.fault(
                    f"{broken.what}; nothing was accepted, as it says itself now"
                ) from None
        else:
            if not self._line.yes(receipt):
                raise Outrun("another edit was accepted first; nothing of this one was")
        self._forget()

    def settled(self) -> bool:
        """See `Shelf`."""
        return self.page_now() == self._page

    def close(self) -> None:
        """See `Shelf`."""
        self._line.close()

    def count_in(self, graph: ox.NamedNode) -> int:
        """How many statements a graph has."""
        return self._count(f"GRAPH {term(graph)} {{ ?s ?p ?o }}")

    # ------------------------------------------------------------------ how

    def _done(self, receipt: str, broken: Unknown) -> bool:
        try:
            return self._line.yes(receipt)
        except EndpointError as error:
            raise self._line.fault(
                f"{broken.what}. Whether the edit was accepted cannot be asked either "
                f"({error.what}); look with: knockon store history"
            ) from None

    def _known(
        self,
        subject: ox.NamedNode | None,
        predicate: ox.NamedNode | None,
        object: ox.NamedNode | ox.Literal | None,  # noqa: A002
        graph: ox.NamedNode,
    ) -> Iterable[ox.Quad] | None:
        """What was fetched already, or is now in one go; None if the pattern is to be asked."""
        if graph == ABOUT:
            return self._page
        if graph != HISTORY or predicate in _LONG or predicate is None or object is not None:
            return None
        if subject is None:
            if not self._all_nodes:
                self._fetch("?s ?p ?o")
                self._all_nodes = True
            return [quad for quads in self._nodes.values() for quad in quads]
        if subject not in self._nodes and not self._all_nodes:
            self._nodes[subject] = []
            self._fetch(f"{term(subject)} ?p ?o BIND({term(subject)} AS ?s)")
        return self._nodes.get(subject, [])

    def _fetch(self, pattern: str) -> None:
        short = " && ".join(f"?p != {name}" for name in _LONG)
        where = f"GRAPH {HISTORY} {{ {pattern} }} FILTER({short})"
        found: dict[ox.NamedNode, list[ox.Quad]] = {}
        for s, p, o in self._counted(("s", "p", "o"), where):
            quad = self._quad(s, p, o, HISTORY)
            assert isinstance(quad.subject, ox.NamedNode)
            found.setdefault(quad.subject, []).append(quad)
        self._nodes |= found

    def _matching(
        self,
        subject: ox.NamedNode | None,
        predicate: ox.NamedNode | None,
        object: ox.NamedNode | ox.Literal | None,  # noqa: A002
        graph: ox.NamedNode,
    ) -> Iterator[ox.Quad]:
        given = {"s": subject, "p": predicate, "o": object}
        names = tuple(name for name, node in given.items() if node is None)
        pattern = " ".join(f"?{n}" if node is None else term(node) for n, node in given.items())
        where = f"GRAPH {term(graph)} {{ {pattern} }}"
        if not names:
            if self._line.yes(where):
                yield self._quad(subject, predicate, object, graph)
            return
        for row in self._counted(names, where):
            found = {**given, **dict(zip(names, row, strict=True))}
            yield self._quad(found["s"], found["p"], found["o"], graph)

    def _quad(self, s: object, p: object, o: object, g: object) -> ox.Quad:
        if (
            not isinstance(s, ox.NamedNode)
            or not isinstance(p, ox.NamedNode)
            or not isinstance(o, (ox.NamedNode, ox.Literal))
            or not isinstance(g, ox.NamedNode)
        ):
            raise self._line.fault(
                "holds blank nodes in the graphs of the catalogue, which knockon never writes; "
                "something else has written there"
            )
        return ox.Quad(s, p, o, g)

    def _counted(self, names: tuple[str, ...], where: str) -> Iterator[tuple[object, ...]]:
        """All rows of a pattern, whose rows differ; never fewer than there are."""
        expected = self._count(where)
        if expected == 0:
            return
        select = f"SELECT {' '.join(f'?{n}' for n in names)} WHERE {{ {where} }}"
        seen = 0
        kept: set[int] = set()
        for row in self._line.rows(select, names):
            seen += 1
            # Pages may overlap, so what came so far is remembered, if there may be pages.
            kept.add(hash(row))
            if seen <= expected:
                yield row
        page = seen
        while seen < expected:
            before = seen
            for row in self._line.rows(f"{select} OFFSET {seen} LIMIT {page}", names):
                seen += 1
                kept.add(hash(row))
                yield row
            if seen == before:
                break
        if seen != expected or len(kept) < expected:
            raise self._line.fault(
                f"counts {expected} rows and gives {min(seen, len(kept))}: it cuts answers short, "
                "or others write to it; nothing was read"
            )

    def _count(self, where: str) -> int:
        found = list(self._line.rows(f"SELECT (COUNT(*) AS ?n) WHERE {{ {where} }}", _COUNT))
        if len(found) == 1 and isinstance(found[0][0], ox.Literal) and found[0][0].value.isdigit():
            return int(found[0][0].value)
        raise self._line.fault("cannot count its statements; it is no SPARQL 1.1 service")


@contextmanager
def endpoint_shelf(place: Path) -> Iterator[EndpointShelf]:
    """A session with the store on an endpoint.

    Raises:
        StoreError: see `endpoint_of` and `Line`.
    """
    line = Line(endpoint_of(place))
    try:
        yield EndpointShelf(line)
    finally:
        line.close()
