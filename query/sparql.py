"""SPARQL over the closed graphs, for what the sentences do not say. It reads and never writes.

The query runs in a process of its own that is ended at the time limit, whatever it is doing. It may
SELECT, ASK, CONSTRUCT and DESCRIBE; updates and SERVICE are refused before anything runs, and the
engine reads no files: FROM chooses among the catalogue's own graphs.
"""

from __future__ import annotations

import multiprocessing
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final, Literal, TypeAlias

from ..reasoner.errors import CatalogueFileError, CatalogueRefused, KnockonError
from .child import started

MOST_BYTES: Final = 65_536
MOST_ROWS: Final = 10_000
MOST_SECONDS: Final = 60.0
_MOST_MEMORY: Final = 4 * 1024**3
_STAR = re.compile(r"\bselect\s+(?:distinct\s+|reduced\s+)?\*", re.I)
_VARIABLE = re.compile(r"[?$](\w+)")

PREFIXES: Final = {
    "ko": "https://knockon.example/ns#",
    "st": "https://knockon.example/station/",
    "role": "https://knockon.example/role/",
    "joint": "https://knockon.example/joint/",
    "op": "https://knockon.example/operation/",
    "fam": "https://knockon.example/family/",
    "part": "https://knockon.example/part/",
    "end": "https://knockon.example/end/",
    "gen": "https://knockon.example/generation/",
    "car": "https://knockon.example/car/",
    "src": "https://knockon.example/source/",
    "maker": "https://knockon.example/maker/",
    "owl": "http://www.w3.org/2002/07/owl#",
    "prov": "http://www.w3.org/ns/prov#",
    "qudt": "http://qudt.org/schema/qudt/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "schema": "https://schema.org/",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
}
"""Prefixes that need no PREFIX line."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One term of a result. `datatype` is the IRI of a typed literal, `language` its tag."""

    sort: Literal["iri", "blank", "literal"]
    text: str
    datatype: str = ""
    language: str = ""


@dataclass(frozen=True, slots=True)
class Rows:
    """Solutions of a SELECT, or the triples of a CONSTRUCT or DESCRIBE under s, p and o.

    Sorted unless the query orders them itself; `cut` if there were more than was asked for.
    """

    variables: tuple[str, ...]
    rows: tuple[tuple[Cell | None, ...], ...]
    cut: bool = False
    triples: bool = False


Found: TypeAlias = Rows | bool
"""What a query finds; a truth value for ASK."""


class SparqlRefused(KnockonError):
    """The query is wrong, asks for what is not allowed, or takes too long; says which."""


def run_query(
    text: str, data: Path | None = None, *, rows: int = 1_000, seconds: float = 10.0
) -> Found:
    """What a query finds over the catalogue in `data`, at most `rows` rows of it.

    The time limit counts from when the catalogue is loaded.

    Raises:
        SparqlRefused: see there.
        CatalogueFileError, CatalogueRefused: the catalogue cannot be served.
    """
    if len(text.encode()) > MOST_BYTES:
        raise SparqlRefused("The query is longer than 64 kB.")
    # Spawned, so that nothing of this process is shared with the one that may be ended.
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_child, args=(theirs, data, text, rows), daemon=True)
    started(process)
    theirs.close()
    try:
        return _received(ours, seconds)
    finally:
        process.kill()
        process.join()
        ours.close()


def _received(connection: Connection, seconds: float) -> Found:
    try:
        sort, value = connection.recv()
        if sort == "ready":
            if not connection.poll(seconds):
                raise SparqlRefused(
                    f"The query was stopped after {seconds:g} seconds. Ask for less, or allow more."
                )
            sort, value = connection.recv()
    except EOFError:
        raise SparqlRefused("The query was stopped: it took more memory than it may.") from None
    if sort == "refused":
        raise SparqlRefused(value)
    if sort == "file":
        raise CatalogueFileError(*value)
    if sort == "catalogue":
        raise CatalogueRefused(*value)
    found: Found = value
    return found


# ---------------------------------------------------------------------- in the child


def _child(connection: Connection, data: Path | None, text: str, most: int) -> None:
    from ..reasoner.graphs import load_graphs

    with suppress(BrokenPipeError):
        try:
            store = load_graphs(data)
            connection.send(("ready", None))
            _bound_memory()
            connection.send(("found", _evaluated(store, text, most, allowed(text))))
        except SparqlRefused as error:
            connection.send(("refused", str(error)))
        except CatalogueFileError as error:
            connection.send(("file", (error.file, error.line, error.what)))
        except CatalogueRefused as error:
            connection.send(("catalogue", (error.headline, error.faults)))
        except RecursionError:
            connection.send(("refused", "The query is nested too deeply."))
        except MemoryError:
            connection.send(("refused", "The query was stopped: it took too much memory."))


def _bound_memory() -> None:
    try:
        import resource
    except ImportError:  # not on this system; the time limit still holds
        return
    with suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))


@dataclass(frozen=True, slots=True)
class Allowed:
    """What there is to know of a query that may run."""

    ordered: bool
    """It orders its rows itself."""
    chooses_graphs: bool
    """It says FROM which graphs."""


def allowed(text: str) -> Allowed:
    """What there is to know of a query, if it may run.

    Raises:
        SparqlRefused: it does not parse, updates, or asks another service.

    >>> allowed("SELECT * { ?s ?p ?o } ORDER BY ?s")
    Allowed(ordered=True, chooses_graphs=False)
    """
    from pyparsing.exceptions import ParseBaseException
    from rdflib.plugins.sparql.parser import parseQuery, parseUpdate

    try:
        tree = parseQuery(text)
    except ParseBaseException as error:
        with suppress(ParseBaseException):
            if len(parseUpdate(text).request):
                raise SparqlRefused(
                    "This is an update. Queries read and never write: SELECT, ASK, CONSTRUCT "
                    "or DESCRIBE."
                ) from None
        raise SparqlRefused(_where(text, error.lineno, error.column)) from None
    names = set(_names(tree))
    if "ServiceGraphPattern" in names:
        raise SparqlRefused("SERVICE is not allowed: a query stays within this catalogue.")
    return Allowed("OrderCondition" in names, "DatasetClause" in names)


def _names(tree: Any) -> Iterator[str]:
    name = getattr(tree, "name", None)
    if isinstance(name, str):
        yield name
    inner: Iterable[Any] = ()
    if isinstance(tree, dict):
        inner = tree.values()
    elif not isinstance(tree, str) and isinstance(tree, Iterable):
        inner = tree
    for each in inner:
        yield from _names(each)


def _where(text: str, line: int, column: int) -> str:
    lines = text.split("\n")
    shown = lines[line - 1] if line <= len(lines) else ""
    if not shown.strip():
        return f"The query is wrong at line {line}: it stops too early."
    return (
        f"The query is wrong at line {line}, column {column}.\n  {shown}\n  {' ' * (column - 1)}^"
    )


def _evaluated(store: Any, text: str, most: int, known: Allowed) -> Found:
    from pyoxigraph import QueryBoolean, QueryTriples

    union = not known.chooses_graphs
    try:
        found = store.query(text, prefixes=PREFIXES, use_default_graph_as_union=union)
    except SyntaxError as error:
        raise SparqlRefused(f"The query is wrong: {error.msg}.") from None
    if isinstance(found, QueryBoolean):
        return bool(found)
    triples = isinstance(found, QueryTriples)
    names = ("s", "p", "o") if triples else tuple(v.value for v in found.variables)
    order = range(3) if triples else _order(text, names)
    rows: list[tuple[Cell | None, ...]] = []
    cut = False
    for each in found:
        if len(rows) == most:
            cut = True
            break
        terms = tuple(each)
        rows.append(tuple(None if terms[at] is None else _cell(terms[at]) for at in order))
    if not known.ordered:
        rows.sort(key=lambda row: [("", "", "") if c is None else _key(c) for c in row])
    return Rows(tuple(names[at] for at in order), tuple(rows), cut=cut, triples=triples)


def _order(text: str, names: tuple[str, ...]) -> list[int]:
    """Where each column comes from: `SELECT *` has no order of its own, so first named first."""
    places = range(len(names))
    if not _STAR.search(text):
        return list(places)
    named = list(dict.fromkeys(_VARIABLE.findall(text)))
    return sorted(places, key=lambda at: named.index(names[at]) if names[at] in named else at)


def _key(cell: Cell) -> tuple[str, str, str]:
    return cell.text, cell.datatype, cell.language


def _cell(term: Any) -> Cell:
    from pyoxigraph import BlankNode, NamedNode

    if isinstance(term, NamedNode):
        return Cell("iri", term.value)
    if isinstance(term, BlankNode):
        return Cell("blank", term.value)
    datatype = "" if term.language else term.datatype.value
    plain = datatype == "http://www.w3.org/2001/XMLSchema#string"
    return Cell("literal", term.value, "" if plain else datatype, term.language or "")
