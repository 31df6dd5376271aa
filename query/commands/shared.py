"""What the commands have in common: exit codes, the catalogue option, reading a FILE, colours.

Exit codes: 0 answered; 1 answered, but no plan is workable, or the answer is no; 2 the question or
an option is wrong; 3 the catalogue cannot be read or was refused.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

import click
import platformdirs

from ...reasoner.addresses import fault_of_address, is_endpoint, without_secrets
from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from ...reasoner.load import load_catalogue
from ..desk import Desk
from ..shop import Shop, ShopFileError, open_shop

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


class CataloguePlace(click.Path):
    """A folder, the address of a SPARQL endpoint, or a file NAME.endpoint that names one."""

    def __init__(self, exists: bool = True) -> None:
        super().__init__(exists=exists, file_okay=False, path_type=Path)
        self._named = click.Path(exists=True, dir_okay=False, path_type=Path)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Path:
        """The place as a path; a wrong address ends the command."""
        text = str(value)
        if text.startswith(("http://", "https://")):
            fault = fault_of_address(text)
            if fault:
                self.fail(f"{without_secrets(text)}: {fault}", param, ctx)
            return Path(text)
        if is_endpoint(Path(text)):
            return Path(str(self._named.convert(text, param, ctx)))
        return Path(str(super().convert(text, param, ctx)))


data_option = click.option(
    "--data",
    type=CataloguePlace(),
    envvar="KNOCKON_DATA",
    help="Folder with the catalogue, or the address of a SPARQL endpoint that holds it; the "
    "invented demo catalogue if left out.",
)


shop_option = click.option(
    "--shop",
    type=click.Path(file_okay=False, path_type=Path),
    envvar="KNOCKON_SHOP",
    default=Path(platformdirs.user_data_dir("knockon", appauthor=False)),
    help="Folder with the shop's stock.csv and saved builds; your own by default.",
)


def painted(name: str, text: str) -> str:
    """Text in a class's colours; the words say the same without them."""
    return click.style(text, **_STYLES.get(name, {}))  # type: ignore[arg-type]


def open_desk(data: Path | None, shop: Path | None = None) -> Desk:
    """The desk over a catalogue folder and a shop's folder.

    Ends the command with code 3 if the catalogue cannot be served, 2 if the shop's files are wrong.
    """
    try:
        catalogue = load_catalogue(data)
        ours = Shop() if shop is None else open_shop(shop, catalogue)
    except (CatalogueFileError, CatalogueRefused) as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_CATALOGUE)
    except ShopFileError as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_QUESTION)
    return Desk(catalogue, ours.stock, ours.builds, ours.questions)


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
