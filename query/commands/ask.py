"""`knockon ask`: one question, one answer, in the form that is wanted."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import click

from ...reasoner.errors import KnockonError
from ..conversation import Conversation
from ..desk import AIMS
from ..errors import QueryError, render_error
from ..faces import FORMS, Face, Form, shown
from ..page import unpainted
from ..report import says_no
from ..style import Language, Style
from .shared import BAD_QUESTION, data_option, open_desk, painted, shop_option
from .styles import UnitChoice, style_of, style_options


@click.command()
@click.argument("question", nargs=-1, required=True)
@data_option
@shop_option
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMS),
    default="text",
    show_default=True,
    help="markdown is the job sheet of one plan; dot and svg are the picture of who forces whom.",
)
@click.option("--json", "as_json", is_flag=True, help="The same as --format json (see `schema`).")
@click.option("--after", default="", help="The question before, for “and if …” and “why …”.")
@click.option("--full", is_flag=True, help="Every comparison and every claim behind a number.")
@click.option(
    "--plans",
    type=click.IntRange(0, 20),
    default=3,
    show_default=True,
    help="How many plans to work out.",
)
@click.option(
    "--order",
    default="",
    metavar="AIM,AIM…",
    help="What plans should have little of, most important first: parts, cost, hours, "
    "irreversible, unproven.",
)
@click.option(
    "--plan",
    type=click.IntRange(1, 20),
    default=1,
    show_default=True,
    help="Which plan the job sheet is for.",
)
@click.option("--width", type=int, help="Columns to fill; the terminal's own if left out.")
@style_options
def ask(
    question: tuple[str, ...],
    data: Path | None,
    shop: Path,
    form: Form,
    as_json: bool,
    after: str,
    full: bool,
    plans: int,
    order: str,
    plan: int,
    width: int | None,
    units: UnitChoice,
    language: Language,
) -> None:
    """Answer one QUESTION, for example:

    knockon ask "what else must change if I fit HD rear hub to Wether W2 late?"
    """
    text = " ".join(question)
    form = "json" if as_json else form
    aims = _aims(order)
    desk = open_desk(data, shop)
    try:
        answer = desk.ask(text, plans=max(plans, plan), order=aims, talk=Conversation.after(after))
    except QueryError as error:
        if form in ("json", "jsonld"):
            click.echo(json.dumps(error.as_data(), ensure_ascii=False, indent=2), err=True)
        else:
            click.echo(render_error(text, error), err=True)
        sys.exit(BAD_QUESTION)
    # What is data stays in the units that the vocabulary declares.
    style = Style() if form in ("json", "jsonld") else style_of(units, language, data)
    columns = width or min(shutil.get_terminal_size((88, 24)).columns, 110)
    paint = painted if sys.stdout.isatty() else unpainted
    try:
        shown_answer = shown(answer, Face(form, style, columns, paint, full, plan))
    except KnockonError as error:
        click.echo(str(error), err=True)
        sys.exit(1 if says_no(answer) else BAD_QUESTION)
    click.echo(shown_answer, nl=False)
    sys.exit(1 if says_no(answer) else 0)


def _aims(order: str) -> tuple[str, ...]:
    aims = tuple(word.strip().lower() for word in order.split(",") if word.strip())
    unknown = [aim for aim in aims if aim not in AIMS]
    if unknown or len(set(aims)) < len(aims):
        said = f"“{unknown[0]}” is none of them" if unknown else "one of them is said twice"
        raise click.BadParameter(f"{said}; there are {', '.join(AIMS)}", param_hint="--order")
    return aims
