"""What the commands have in common: exit codes, the catalogue option, reading a FILE, colours.

Exit codes: 0 answered; 1 answered, but no plan is workable, or the answer is no; 2 the question or
an option is wrong; 3 the catalogue cannot be read or was refused.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

import click

from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from ...reasoner.load import load_catalogue
from ..desk import Desk

BAD_QUESTION: Final = 2
BAD_CATALOGUE: Final = 3

_STYLES = {
    "must": {"fg": "red", "bold": True},
    "choice": {"fg": "yellow", "bold": True},
    "keeps": {"fg": "green"},
    "check": {"fg": "cyan"},
    "caution": {"fg": "magenta"},
    "quiet": {"dim": True},
    "title": {"bold": True},
}

data_option = click.option(
    "--data",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    envvar="KNOCKON_DATA",
    help="Folder with the catalogue; the invented demo catalogue if left out.",
)


def painted(name: str, text: str) -> str:
    """Text in a class's colours; the words say the same without them."""
    return click.style(text, **_STYLES.get(name, {}))  # type: ignore[arg-type]


def open_desk(data: Path | None) -> Desk:
    """The desk over a catalogue folder; ends the command with code 3 if it cannot be served."""
    try:
        return Desk(load_catalogue(data))
    except (CatalogueFileError, CatalogueRefused) as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_CATALOGUE)


def text_of(file: str) -> str:
    """The text of a file, or of standard input for `-`; ends the command if there is none."""
    try:
        with click.open_file(file, encoding="utf-8") as handle:
            return str(handle.read())
    except UnicodeDecodeError:
        click.echo(f"{file} is not UTF-8 text.", err=True)
    except OSError as error:
        click.echo(f"{file}: {error.strerror or 'cannot be read'}.", err=True)
    sys.exit(BAD_QUESTION)
