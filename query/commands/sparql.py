"""`knockon sparql`: a query over the closed graphs."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from ..render_rows import as_csv, as_json, as_ntriples, as_table
from ..sparql import MOST_ROWS, MOST_SECONDS, SparqlRefused, run_query
from .shared import BAD_CATALOGUE, BAD_QUESTION, data_option, text_of

_FORMATS = {"table": as_table, "csv": as_csv, "json": as_json, "ntriples": as_ntriples}


@click.command()
@click.argument("file", required=False)
@data_option
@click.option("-q", "--query", "text", help="The query itself, instead of a FILE.")
@click.option(
    "--format",
    "form",
    type=click.Choice(list(_FORMATS)),
    default="table",
    show_default=True,
    help="How to print what is found; ntriples for CONSTRUCT and DESCRIBE only.",
)
@click.option(
    "--rows",
    type=click.IntRange(1, MOST_ROWS),
    default=1_000,
    show_default=True,
    help="At most so many rows.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(0.1, MOST_SECONDS),
    default=10.0,
    show_default=True,
    help="Stop after so long.",
)
def sparql(
    file: str | None, data: Path | None, text: str | None, form: str, rows: int, seconds: float
) -> None:
    """Query what is stated and what follows from it, in SPARQL; FILE may be - for standard input.

    Each source is a named graph, and <https://knockon.example/ns/derived> holds what nobody states
    but follows. Usual prefixes (ko:, part:, st:, skos: …) need no PREFIX line. It reads only.

    knockon sparql -q 'SELECT ?part ?family { ?part ko:ofFamily ?family }'
    """
    if (file is None) == (text is None):
        click.echo("Give either a FILE (or - for standard input) or a query with -q.", err=True)
        sys.exit(BAD_QUESTION)
    query = text if text is not None else text_of(str(file))
    try:
        found = run_query(query, data, rows=rows, seconds=seconds)
        shown = _FORMATS[form](found)
    except (SparqlRefused, ValueError) as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_QUESTION)
    except (CatalogueFileError, CatalogueRefused) as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_CATALOGUE)
    click.echo(shown, nl=False)
    sys.exit(1 if found is False else 0)
