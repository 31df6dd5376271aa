"""`knockon explain`: how a question is answered, step by step."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path

import click

from ..errors import QueryError, render_error
from ..follow_up import in_full
from ..parse import parse
from ..planner import plan_of, render_query_plan, resolved
from .shared import BAD_QUESTION, data_option, open_desk, shop_option


@click.command()
@click.argument("question", nargs=-1, required=True)
@data_option
@shop_option
@click.option("--after", default="", help="The question before, for “and if …” and “why …”.")
@click.option("--json", "as_json", is_flag=True, help="Print the steps as JSON.")
def explain(
    question: tuple[str, ...], data: Path | None, shop: Path, after: str, as_json: bool
) -> None:
    """Show how QUESTION is answered: which functions, given what, in which order.

    Nothing is worked out. A number in brackets stands for what that step makes.
    """
    text = " ".join(question)
    try:
        sentence = in_full(parse(text), parse(after) if after.strip() else None)
        plan = resolved(plan_of(sentence), sentence, open_desk(data, shop).resolver)
    except QueryError as error:
        click.echo(render_error(text, error), err=True)
        sys.exit(BAD_QUESTION)
    if as_json:
        click.echo(json.dumps(asdict(plan), ensure_ascii=False, indent=2))
    else:
        click.echo(render_query_plan(plan), nl=False)
