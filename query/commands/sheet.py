"""`knockon sheet`: templates for spreadsheets, and spreadsheets read into change sets."""

from __future__ import annotations

import os
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ...reasoner.load import demo_folder
from .shared import BAD_QUESTION, data_option, shop_option
from .store import in_words, who_option

if TYPE_CHECKING:
    from ...reasoner.reading import Facts
    from ...reasoner.supply import StockItem

_JOBS = (
    "generation", "family", "values", "stock", "identification", "prices", "hours", "everything",
)  # fmt: skip
"""As `reasoner.upkeep.sheets.plans.JOBS`, which needs the RDF machinery; a test compares them."""


@click.group()
def sheet() -> None:
    """Spreadsheets: templates made from the vocabulary, and filled ones read into an edit."""


@sheet.command("template")
@click.argument("job", type=click.Choice(_JOBS))
@click.option(
    "-o",
    "--output",
    required=True,
    type=click.Path(path_type=Path),
    help="A FILE.xlsx, or a folder for one CSV file a sheet.",
)
@data_option
@in_words
def template(job: str, output: Path, data: Path | None) -> None:
    """Write an empty spreadsheet for JOB, with lists to choose from and a sheet of notes.

    knockon sheet template values -o session.xlsx
    """
    from ...reasoner.upkeep.sheets.names import names_of
    from ...reasoner.upkeep.sheets.plans import plans_for
    from ...reasoner.upkeep.sheets.template import workbook_bytes, write_csv_folder
    from ...reasoner.upkeep.sheets.vocabulary import vocabulary_of

    facts = _facts(data)
    vocabulary = vocabulary_of(facts)
    plans = plans_for(job, vocabulary)
    try:
        if output.suffix.lower() == ".xlsx":
            _put(output, workbook_bytes(plans, names_of(facts, vocabulary)))
        elif output.suffix:
            raise click.UsageError("-o is a FILE.xlsx, or a folder for CSV files")
        else:
            write_csv_folder(output, plans)
    except OSError as error:
        click.echo(f"{output}: {error.strerror or 'cannot be written'}", err=True)
        sys.exit(BAD_QUESTION)
    click.echo(f"{output}: {', '.join(plan.name for plan in plans)}")


@sheet.command("read")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--source", default="", help="Who says what names no source of its own.")
@click.option("--standing", default="", help="Describe --source now: measured, documented …")
@click.option("--by", default="", help="Describe --source now: who it comes from.")
@who_option
@click.option("--why", default="", help="Why the edit is made.")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the edit here.")
@click.option("--accept", "take", is_flag=True, help="Make it part of the catalogue at once.")
@data_option
@shop_option
@in_words
def read(
    files: tuple[Path, ...],
    source: str,
    standing: str,
    by: str,
    who: str,
    why: str,
    output: Path | None,
    take: bool,
    data: Path | None,
    shop: Path,
) -> None:
    """Read FILES (XLSX, CSV, Turtle, TriG, JSON-LD) into one edit, or say all that is wrong.

    Nothing is taken in if anything is wrong. The edit is a change set for `knockon edit preview`
    and `knockon edit accept`; a stock list becomes the shop's stock.csv.

    knockon sheet read session.xlsx --source "bench measurements" --why "W5 measured" -o w5.json
    """
    from ...reasoner.upkeep.changes import as_json
    from ...reasoner.upkeep.sheets.reading import NewSource, read_files

    if bool(standing) != bool(by):
        raise click.UsageError("a source described now needs both --standing and --by")
    if output is None and not take:
        raise click.UsageError("say what to do with it: -o FILE, or --accept")
    facts = _facts(data)
    new = NewSource(standing, by) if standing else None
    with _Told() as told:
        found = read_files(files, facts, source, new, told.rows)
    if found.stock:
        target = output or shop / "stock.csv"
        _put(target, _stock_text(found.stock, facts).encode())
        click.echo(f"{target}: {len(found.stock)} parts in stock")
        return
    change = found.change(facts, who, why, datetime.now(UTC))
    said = f"{found.rows} rows: +{len(change.added)} −{len(change.removed)} statements"
    said += f", {found.unchanged} stated already" if found.unchanged else ""
    if output is not None:
        _put(output, f"{as_json(change)}\n".encode())
        click.echo(f"{output}: {said}")
    if take:
        from ...reasoner.upkeep.accepting import accept

        click.echo(accept(data or demo_folder(), change))


class _Told:
    """Progress on a terminal, in one line that is wiped at the end; silent elsewhere."""

    def __init__(self) -> None:
        self._shown = False

    def __enter__(self) -> _Told:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo("\r\x1b[K", err=True, nl=False)

    def rows(self, name: str, rows: int) -> None:
        """Show how far a sheet is read."""
        if sys.stderr.isatty():
            self._shown = True
            click.echo(f"\r\x1b[K{name}: {rows} rows", err=True, nl=False)


def _facts(data: Path | None) -> Facts:
    from ...reasoner.load import stated
    from ...reasoner.reading import read_facts

    return read_facts(stated(data)[1]()[1])


def _stock_text(stock: tuple[StockItem, ...], facts: Facts) -> str:
    import csv
    import io

    from rdflib import URIRef

    from ...reasoner.terms import SCHEMA

    numbers = {s: str(o) for s, p, o in facts.sources if p == SCHEMA.mpn}
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("part", "count", "condition", "price"))
    for item in stock:
        price = "" if item.price is None else format(item.price, "f")
        writer.writerow((numbers[URIRef(item.part)], item.count, item.condition, price))
    return out.getvalue()


def _put(path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as handle:
            handle.write(content)
        os.chmod(handle.name, 0o644)
        Path(handle.name).replace(path)
    except OSError as error:
        click.echo(f"{path}: {error.strerror or 'cannot be written'}", err=True)
        sys.exit(BAD_QUESTION)
