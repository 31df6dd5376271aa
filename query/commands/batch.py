"""`knockon batch`: many questions, JSON lines out."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..batch import answered
from .shared import BAD_QUESTION, data_option, open_desk, shop_option


@click.command()
@click.argument("file")
@data_option
@shop_option
@click.option(
    "--plans",
    type=click.IntRange(0, 20),
    default=3,
    show_default=True,
    help="How many plans to work out for each.",
)
@click.option("--fail-fast", is_flag=True, help="Stop at the first line that is not understood.")
def batch(file: str, data: Path | None, shop: Path, plans: int, fail_fast: bool) -> None:
    """Answer the questions in FILE (- for standard input), one a line, as JSON lines.

    The lines are one conversation; # begins a comment. Each line out has the line number, the
    question, and an answer or an error.

    Ends with 0 if all were answered, 1 if some answer is no, 2 if a line was not understood.
    """
    worst = 0
    try:
        with click.open_file(file, encoding="utf-8", errors="replace") as handle:
            # Answered line by line, so that it works at the end of a pipe that is still open.
            for outcome in answered(handle, open_desk(data, shop), plans=plans):
                click.echo(outcome.as_json())
                worst = max(worst, outcome.code)
                if fail_fast and outcome.error is not None:
                    break
    except OSError as error:
        if isinstance(error, BrokenPipeError):
            raise
        click.echo(f"{file}: {error.strerror or 'cannot be read'}.", err=True)
        sys.exit(BAD_QUESTION)
    sys.exit(worst)
