"""`knockon prompt`, which `knockon` alone opens too."""

from __future__ import annotations

import os
import sys
from importlib.metadata import version
from pathlib import Path

import click
import platformdirs

from ..page import unpainted
from ..style import Language
from .shared import BAD_CATALOGUE, data_option, painted, shop_option
from .styles import UnitChoice, american, style_of, style_options


@click.command()
@data_option
@shop_option
@click.option("--plain", is_flag=True, help="No colour, no completion, no escape codes at all.")
@click.option(
    "--no-history",
    is_flag=True,
    envvar="KNOCKON_NO_HISTORY",
    help="Forget what was asked when you leave.",
)
@click.option(
    "--plans",
    type=click.IntRange(0, 20),
    default=3,
    show_default=True,
    help="How many plans to work out.",
)
@style_options
def prompt(
    data: Path | None,
    shop: Path,
    plain: bool,
    no_history: bool,
    plans: int,
    units: UnitChoice,
    language: Language,
) -> None:
    """Ask one question after another; `help` there says what else it can do.

    What you ask is kept in your own state folder, for the arrow keys, unless you say otherwise.
    """
    # The prompt's own libraries are not loaded for a single question.
    from ..prompt import Session
    from ..screens import PlainScreen, RichScreen
    from ..worker import CatalogueUnusable, Worker

    worker = Worker(data, shop)
    person = sys.stdin.isatty() and sys.stdout.isatty()
    plain = plain or not person or os.environ.get("TERM") == "dumb"
    colour = not plain and not os.environ.get("NO_COLOR")
    kept = None if no_history else history_file()
    session = Session(
        worker,
        PlainScreen() if plain else RichScreen(worker.names, kept, colour=colour),
        paint=painted if colour else unpainted,
        plans=plans,
        style=style_of(units, language, data),
        american=lambda: american(data),
    )
    if person:
        click.echo(f"knockon {version('knockon')}: ask what else must change. help · leave")
    try:
        session.run()
    except CatalogueUnusable as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_CATALOGUE)
    finally:
        worker.stop()


def history_file() -> Path:
    """Where what was asked is kept."""
    return Path(platformdirs.user_state_dir("knockon", appauthor=False)) / "asked"
