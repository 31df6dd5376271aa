"""`knockon check`: everything that is wrong with a catalogue, in one go."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from .shared import BAD_CATALOGUE, data_option, painted


@click.command()
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def check(data: Path | None, as_json: bool) -> None:
    """Read, close and check a catalogue, and look whether every stock build is sound.

    What shapes and logic refuse is told together with what the trade itself objects to, each with
    its place and a remedy. Ends with 3 if something must be mended before the data can be served.
    """
    from ..check import check as find
    from ..check import check_lines

    report = find(data)
    if as_json:
        click.echo(report.model_dump_json(indent=2))
    else:
        for line, paint in check_lines(report):
            click.echo(painted(paint, line) if paint else line)
    sys.exit(BAD_CATALOGUE if report.stops else 0)
