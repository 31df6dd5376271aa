"""What a SPARQL query found, as a table for people, or as CSV, JSON or N-Triples for programs.

CSV and JSON keep to the W3C's SPARQL 1.1 Query Results formats.
"""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from .sparql import PREFIXES, Cell, Found, Rows


def as_table(found: Found) -> str:
    """A table with short names; a line below it says how many rows, and whether there are more."""
    if isinstance(found, bool):
        return "yes\n" if found else "no\n"
    cells = [[_short(cell) for cell in row] for row in found.rows]
    heads = [f"?{name}" for name in found.variables]
    widths = [max(map(len, column)) for column in zip(heads, *cells, strict=True)]

    def line(texts: list[str]) -> str:
        return "  ".join(t.ljust(w) for t, w in zip(texts, widths, strict=True)).rstrip()

    rule = "  ".join("─" * w for w in widths)
    lines = [line(heads), rule, *map(line, cells), "", _count(found)]
    return "\n".join(lines) + "\n"


def as_csv(found: Found) -> str:
    """CSV: plain texts, an empty field where there is no value."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    if isinstance(found, bool):
        writer.writerows([["answer"], ["true" if found else "false"]])
        return out.getvalue()
    writer.writerow(found.variables)
    for row in found.rows:
        writer.writerow("" if cell is None else _plain(cell) for cell in row)
    return out.getvalue()


def as_json(found: Found) -> str:
    """SPARQL results JSON; `cut` stands beside `vars` when there were more rows."""
    if isinstance(found, bool):
        return json.dumps({"head": {}, "boolean": found}, indent=2) + "\n"
    head: dict[str, Any] = {"vars": list(found.variables)}
    if found.cut:
        head["cut"] = True
    bindings = [
        {name: _binding(c) for name, c in zip(found.variables, row, strict=True) if c is not None}
        for row in found.rows
    ]
    whole = {"head": head, "results": {"bindings": bindings}}
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


def as_ntriples(found: Found) -> str:
    """The triples of a CONSTRUCT or DESCRIBE as N-Triples.

    Raises:
        ValueError: the query found no triples but rows or a truth value.
    """
    if isinstance(found, bool) or not found.triples:
        raise ValueError("only CONSTRUCT and DESCRIBE find triples")
    return "".join(f"{' '.join(_ntriples(c) for c in row if c)} .\n" for row in found.rows)


def _count(found: Rows) -> str:
    what = "triple" if found.triples else "row"
    many = f"{len(found.rows)} {what}{'' if len(found.rows) == 1 else 's'}"
    return f"the first {many}; there are more" if found.cut else many


def _short(cell: Cell | None) -> str:
    if cell is None:
        return ""
    if cell.sort == "literal":
        # A table keeps one line a row.
        text = " ".join(cell.text.split())
        return f"{text} @{cell.language}" if cell.language else text
    if cell.sort == "iri":
        for prefix, start in PREFIXES.items():
            rest = cell.text.removeprefix(start)
            if rest != cell.text and "/" not in rest and "#" not in rest:
                return f"{prefix}:{rest}"
        return f"<{cell.text}>"
    return _plain(cell)


def _plain(cell: Cell) -> str:
    return f"_:{cell.text}" if cell.sort == "blank" else cell.text


def _binding(cell: Cell) -> dict[str, str]:
    sort = {"iri": "uri", "blank": "bnode", "literal": "literal"}[cell.sort]
    binding = {"type": sort, "value": cell.text}
    if cell.language:
        binding["xml:lang"] = cell.language
    if cell.datatype:
        binding["datatype"] = cell.datatype
    return binding


def _ntriples(cell: Cell) -> str:
    if cell.sort == "iri":
        return f"<{cell.text}>"
    if cell.sort == "blank":
        return _plain(cell)
    # N-Triples writes every literal on one line, which is JSON's way of escaping but for the rest.
    text = json.dumps(cell.text, ensure_ascii=False)
    if cell.language:
        return f"{text}@{cell.language}"
    return f"{text}^^<{cell.datatype}>" if cell.datatype else text
