"""The `knockon` command.

Exit codes: 0 answered; 1 the answer is no (nothing is workable, it does not fit); 2 the question or
an option is wrong; 3 the catalogue cannot be read or was refused.
"""

from __future__ import annotations

import json
import shutil
import sys
from importlib.metadata import version
from pathlib import Path

import click

from .commands.builds import build
from .commands.shared import (
    BAD_CATALOGUE,
    BAD_QUESTION,
    data_option,
    open_desk,
    painted,
    shop_option,
)
from .commands.sparql import sparql
from .conversation import Conversation
from .errors import QueryError, render_error
from .page import unpainted
from .render_report import render_reply
from .report import says_no


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(version("knockon"), message="knockon %(version)s")
def main() -> None:
    """What else must change if I fit X?"""


main.add_command(build)
main.add_command(sparql)


@main.command()
@click.argument("question", nargs=-1, required=True)
@data_option
@shop_option
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON (see `schema`).")
@click.option("--after", default="", help="The question before, for “and if …” and “why …”.")
@click.option("--full", is_flag=True, help="Every comparison and every claim behind a number.")
@click.option("--plans", default=3, show_default=True, help="How many plans to work out.")
@click.option("--width", type=int, help="Columns to fill; the terminal's own if left out.")
def ask(
    question: tuple[str, ...],
    data: Path | None,
    shop: Path,
    as_json: bool,
    after: str,
    full: bool,
    plans: int,
    width: int | None,
) -> None:
    """Answer one QUESTION, for example:

    knockon ask "what else must change if I fit HD rear hub to Wether W2 late?"
    """
    text = " ".join(question)
    desk = open_desk(data, shop)
    try:
        answer = desk.ask(text, plans=plans, talk=Conversation.after(after))
    except QueryError as error:
        if as_json:
            click.echo(json.dumps(error.as_data(), ensure_ascii=False, indent=2), err=True)
        else:
            click.echo(render_error(text, error), err=True)
        sys.exit(BAD_QUESTION)
    if as_json:
        click.echo(answer.model_dump_json(indent=2))
    else:
        on_terminal = sys.stdout.isatty()
        columns = width or min(shutil.get_terminal_size((88, 24)).columns, 110)
        paint = painted if on_terminal else unpainted
        click.echo(render_reply(answer, width=columns, paint=paint, full=full), nl=False)
    sys.exit(1 if says_no(answer) else 0)


@main.command()
@data_option
def check(data: Path | None) -> None:
    """Read, close and check a catalogue, and look whether every stock build is sound."""
    desk = open_desk(data)
    from .check import check_lines

    faulty = False
    for line, bad in check_lines(desk):
        faulty = faulty or bad
        click.echo(line)
    sys.exit(BAD_CATALOGUE if faulty else 0)


@main.command()
def schema() -> None:
    """Print the JSON Schema of an answer."""
    from .report import schema as reply_schema

    click.echo(json.dumps(reply_schema(), ensure_ascii=False, indent=2))


@main.command()
@data_option
@shop_option
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8765, show_default=True, help="Port to listen on.")
def serve(data: Path | None, shop: Path, host: str, port: int) -> None:
    """Answer over HTTP at /v1 (see /v1/openapi.json)."""
    from importlib import import_module

    # The command may not import the layer above it; it starts it by name, as a shell would.
    import_module("knockon.api.server").run(open_desk(data, shop), host, port)
