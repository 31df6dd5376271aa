"""`knockon edit`: what an edit of the data would change, and drafts of the usual edits.

Whoever adds a command about edits registers it on `edit`.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from .edit_drafts import copy_generation, dispute, promote, retract
from .shared import BAD_CATALOGUE, BAD_QUESTION, data_option, open_desk, painted, shop_option


@click.group()
def edit() -> None:
    """Edit the data safely: draft an edit, see what it changes, then accept it."""


for _each in (promote, retract, dispute, copy_generation):
    edit.add_command(_each)


@edit.command("preview")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@data_option
@shop_option
@click.option("--source", default="", help="Who states what stands in no graph (TriG, Turtle).")
@click.option("--whole", is_flag=True, help="Look at everything, even what is out of reach.")
@click.option("--full", is_flag=True, help="List every changed fact.")
@click.option("--json", "as_json", is_flag=True, help="Print the preview as JSON.")
def preview_command(
    file: Path,
    data: Path | None,
    shop: Path,
    source: str,
    whole: bool,
    full: bool,
    as_json: bool,
) -> None:
    """Show which builds and saved questions the edit in FILE changes, and by which facts.

    FILE is a change set (JSON, from `knockon edit …`), or TriG, Turtle, N-Quads or JSON-LD whose
    statements are added. The questions are those in questions.txt in the shop's folder. Nothing is
    changed.

    Ends with 1 if a build would clash or the check would object, 3 if the data would be refused.
    """
    # Editing needs the RDF machinery, which no question does.
    from ...reasoner.errors import KnockonError
    from ...reasoner.load import stated
    from ...reasoner.reading import read_facts
    from ...reasoner.upkeep.at_hand import AtHand
    from ..preview import preview_edit
    from ..preview_lines import preview_lines
    from ..shop import QUESTIONS_FILE, read_questions
    from .edit_files import changes_in

    desk = open_desk(data, shop)
    try:
        facts = read_facts(stated(data)[1]()[1])
        hand = AtHand(facts, desk.catalogue)
        changes = changes_in(file, source, facts)
        questions = read_questions(shop / QUESTIONS_FILE)
        found = preview_edit(hand, desk, changes, questions, whole=whole, progress=_progress)
    except (CatalogueRefused, CatalogueFileError) as error:
        click.echo("With this edit the data would be refused:", err=True)
        click.echo(str(error), err=True)
        sys.exit(BAD_CATALOGUE)
    except KnockonError as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_QUESTION)
    _progress(0, 0, "")
    if changes[0].base != hand.version:
        found = found.model_copy(update={"made_on_another": True})
    if as_json:
        click.echo(found.model_dump_json(indent=2))
    else:
        for line, paint in preview_lines(found, full=full):
            click.echo(painted(paint, line) if paint else line)
    sys.exit(1 if found.breaks else 0)


def _progress(done: int, of: int, what: str) -> None:
    """One line on a terminal that is written over and over; nothing anywhere else."""
    if sys.stderr.isatty():
        text = f"{done + 1} of {of}: {what}"[:70] if of else ""
        click.echo(f"\r\x1b[K{text}", nl=False, err=True)
