"""Terms and statements as SPARQL text: whatever they hold, they stay what they are.

Oxigraph's own writer refuses names that are none and escapes values. One thing is left: SPARQL lets
a service turn `\\uXXXX` into a character before it looks at quotes, so a value with a backslash and
a `u` in it could end its own quotes. Here the `u` after a backslash is written as an escape itself,
with eight digits, for some read up to eight where four are meant.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

import pyoxigraph as ox

_STRING = ox.NamedNode("http://www.w3.org/2001/XMLSchema#string")
_HIDDEN = {"u": "\\U00000075", "U": "\\U00000055"}


def term(node: object) -> str:
    r"""One term.

    >>> print(term(ox.Literal('say "\\u0022"')))
    "say \"\\\U000000750022\""
    """
    text = str(node)
    if "\\" not in text:
        return text
    head, *rest = text.split("\\\\")
    return head + "".join(
        f"\\\\{_HIDDEN[piece[0]]}{piece[1:]}" if piece[:1] in _HIDDEN else f"\\\\{piece}"
        for piece in rest
    )


def graphs(quads: Iterable[ox.Quad]) -> str:
    """Statements as SPARQL's quads, those of one graph together, a statement a line."""
    by_graph = sorted(quads, key=lambda quad: str(quad.graph_name))
    return "".join(
        f"GRAPH {term(graph)} {{\n{''.join(map(_line, held))}}}\n"
        for graph, held in groupby(by_graph, key=lambda quad: quad.graph_name)
    )


def _line(quad: ox.Quad) -> str:
    return f"{term(quad.subject)} {term(quad.predicate)} {term(quad.object)} .\n"


def values_told(quads: Iterable[ox.Quad]) -> str:
    """A pattern that finds, as `?g ?s ?p ?o`, statements of values that have a language or a kind
    of their own, by what they say; "" if there are none."""
    rows = []
    for quad in quads:
        value = quad.object
        if isinstance(value, ox.Literal) and (value.language or value.datatype != _STRING):
            kind = ox.Literal((value.language or value.datatype.value).lower())
            told = (quad.graph_name, quad.subject, quad.predicate, ox.Literal(value.value), kind)
            rows.append(f"( {' '.join(map(term, told))} )\n")
    if not rows:
        return ""
    same = "LCASE(LANG(?o)) = ?kind || LCASE(STR(DATATYPE(?o))) = ?kind"
    return (
        f"VALUES (?g ?s ?p ?text ?kind) {{\n{''.join(rows)}}}\n"
        f"GRAPH ?g {{ ?s ?p ?o }}\n"
        f"FILTER(ISLITERAL(?o) && STR(?o) = ?text && ({same}))\n"
    )
