"""`knockon store`, and `knockon edit accept`: a catalogue in a store, its history, its edits."""

from __future__ import annotations

import getpass
import json
import sys
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec

import click

from ...reasoner.addresses import is_endpoint, shown
from ...reasoner.errors import CatalogueFileError, CatalogueRefused, KnockonError
from ...reasoner.files import is_store
from ...reasoner.load import demo_folder
from .edit import edit
from .shared import BAD_CATALOGUE, BAD_QUESTION, CataloguePlace, data_option, text_of

if TYPE_CHECKING:  # the machinery of RDF is loaded by the commands that need it
    from ...reasoner.upkeep.changes import ChangeSet
    from ...reasoner.upkeep.history import Entry
    from ...reasoner.upkeep.quads import Quad
    from ...reasoner.upkeep.store import CatalogueStore

_NO = 1
P = ParamSpec("P")

who_option = click.option(
    "--who",
    envvar="KNOCKON_WHO",
    default=getpass.getuser,
    show_default="you",
    help="Who answers for it.",
)


def in_words(command: Callable[P, None]) -> Callable[P, None]:
    """Turn what knockon says no to into words on standard error and an exit code."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        from ...reasoner.upkeep.changes import ChangeConflicts
        from ...reasoner.upkeep.opening import NoSuch

        try:
            command(*args, **kwargs)
        except KnockonError as error:
            click.echo(str(error), err=True)
            if isinstance(error, ChangeConflicts):
                sys.exit(_NO)
            unread = isinstance(error, (CatalogueFileError, CatalogueRefused))
            unread = unread and not isinstance(error, NoSuch)
            sys.exit(BAD_CATALOGUE if unread else BAD_QUESTION)

    return run


@click.group()
def store() -> None:
    """Keep a catalogue in a store: edits that last whole, with history, undo and backups.

    A catalogue is kept EITHER as text files, with version control for its history, OR in a store:
    a folder, or a SPARQL 1.1 endpoint. What is in a store is the truth, and text is exported from
    it. --data names the store: its folder, the endpoint's address, or a file NAME.endpoint.
    """


@store.command("init")
@click.argument("folder", type=CataloguePlace(exists=False))
@click.option(
    "--from",
    "start",
    type=CataloguePlace(),
    help="Text folder or store to begin with; nothing if left out.",
)
@click.option("--demo", is_flag=True, help="Begin with the invented demo catalogue.")
@who_option
@in_words
def init(folder: Path, start: Path | None, demo: bool, who: str) -> None:
    """Make a store in FOLDER, which is new or empty, or on a SPARQL endpoint.

    knockon store init shop-catalogue --from catalogue-in-git

    knockon store init http://127.0.0.1:7878/query --from shop-catalogue
    """
    from ...reasoner.upkeep.store import create, stated_in

    if demo and start is not None:
        raise click.UsageError("give --from or --demo, not both")
    source = demo_folder() if demo else start
    quads = stated_in(source)[1] if source else frozenset()
    name = "the demo" if demo else _name_of(start) if start else "nothing"
    when = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    version = create(folder, quads, who, when, f"began with {name}")
    click.echo(f"{shown(folder)}: {len(quads)} statements, version {version[:12]}")


@store.command("export")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@data_option
@in_words
def export(folder: Path, data: Path | None) -> None:
    """Write what is stated as text into FOLDER: a file for each source and kind of thing.

    The same facts give the same bytes. Exporting again replaces the earlier export.
    """
    from ...reasoner.upkeep.store import stated_in
    from ...reasoner.upkeep.text import write_folder

    version, quads = stated_in(data or demo_folder())
    files = write_folder(quads, folder)
    click.echo(f"{folder}: {len(quads)} statements in {files} files, version {version[:12]}")


@store.command("history")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON lines.")
@in_words
def history(data: Path | None, as_json: bool) -> None:
    """What was accepted, oldest first: number, when, who, how much, why."""
    from ...reasoner.upkeep.store import read

    begun, entries = read(_store_at(data), lambda kept: (kept.beginning, kept.history()))
    if as_json:
        for entry in entries:
            click.echo(json.dumps(asdict(entry), ensure_ascii=False))
        return
    click.echo(f"   0  {begun.when}  {begun.who}: {begun.why}  [{begun.version[:12]}]")
    numbers = {entry.id: entry.number for entry in entries}
    for entry in entries:
        notes = f" (takes back {numbers[entry.undoes]})" if entry.undoes in numbers else ""
        notes += " (taken back)" if entry.state == "undone" else ""
        click.echo(
            f"{entry.number:4}  {entry.when}  {entry.who}: +{entry.added} −{entry.removed}  "
            f"{' '.join(entry.why.split())}{notes}  [{entry.after[:12]}]"
        )


@store.command("show")
@click.argument("change")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print it as a change set.")
@in_words
def show(change: str, data: Path | None, as_json: bool) -> None:
    """One accepted change, by its number or id, with all that it added and took away."""
    from ...reasoner.upkeep.changes import as_json as change_json
    from ...reasoner.upkeep.store import read

    def ask(kept: CatalogueStore) -> tuple[Entry, ChangeSet]:
        entry = kept.entry(change)
        return entry, kept.change(entry)

    entry, found = read(_store_at(data), ask)
    if as_json:
        click.echo(change_json(found))
        return
    click.echo(f"change {entry.number}, {entry.id}, {entry.state}")
    click.echo(f"who    {entry.who}\nwhen   {entry.when}\nwhy    {entry.why}")
    click.echo(f"source {entry.source}\nfrom   {entry.before}\nto     {entry.after}")
    _print_difference(found.added, found.removed)


@store.command("diff")
@click.argument("first")
@click.argument("second", default="now")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print added and removed as N-Quads in JSON.")
@in_words
def diff(first: str, second: str, data: Path | None, as_json: bool) -> None:
    """What differs between two versions: numbers of changes (0 is the beginning), versions, now.

    knockon store diff 3 now --data shop-catalogue
    """
    from ...reasoner.upkeep.quads import in_order, line
    from ...reasoner.upkeep.store import read

    added, removed = read(
        _store_at(data), lambda kept: kept.between(kept.point(first), kept.point(second))
    )
    if as_json:
        said = {"added": added, "removed": removed}
        click.echo(json.dumps({k: [line(q) for q in in_order(v)] for k, v in said.items()}))
        return
    _print_difference(added, removed)


@store.command("undo")
@click.argument("change")
@who_option
@click.option("--why", default="taken back", show_default=True, help="Why it is taken back.")
@data_option
@in_words
def undo(change: str, who: str, why: str, data: Path | None) -> None:
    """Take back one accepted change, as a change of its own; undo that one to have it again.

    Ends with 1, and shows both versions, if later changes touched the same places.
    """
    from ...reasoner.upkeep.store import write

    made = write(_store_at(data), lambda kept: kept.undo(change, who, datetime.now(UTC), why))
    click.echo(f"change {made.number}: +{made.added} −{made.removed}, version {made.after[:12]}")


@store.command("backup")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@data_option
@in_words
def backup(file: Path, data: Path | None) -> None:
    """Write the whole store, history and all, into one FILE, and verify it."""
    from ...reasoner.upkeep.backup import back_up
    from ...reasoner.upkeep.store import read

    def ask(kept: CatalogueStore) -> tuple[str, int]:
        return back_up(kept, file), kept.edits

    version, edits = read(_store_at(data), ask)
    click.echo(f"{file}: {edits} edits, version {version[:12]}, verified")


@store.command("restore")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.argument("folder", type=CataloguePlace(exists=False))
@in_words
def restore(file: Path, folder: Path) -> None:
    """Make a store in FOLDER, which is new or empty, or an endpoint, from the backup FILE."""
    from ...reasoner.upkeep.backup import restore as restored

    click.echo(f"{shown(folder)}: version {restored(file, folder)[:12]}")


@store.command("upgrade")
@data_option
@in_words
def upgrade(data: Path | None) -> None:
    """Bring a store that an older knockon made to the layout of this one."""
    from ...reasoner.upkeep.upgrade import upgrade as upgraded

    folder = _store_at(data)
    old, new = upgraded(folder)
    done = f"upgraded from format {old} to {new}" if old != new else f"is format {new} already"
    click.echo(f"{shown(folder)}: {done}")


@edit.command("accept")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--taking-away",
    type=click.Path(dir_okay=False, path_type=Path),
    help="A second file of statements that are no longer to be stated.",
)
@who_option
@click.option("--why", default="", help="Why; a change set in JSON says it itself.")
@click.option("--source", default="", help="Name or IRI of the source that says so.")
@click.option("--base", default="now", show_default=True, help="Version the edit was made on.")
@click.option("--unchecked", is_flag=True, help="Do not look whether it could still be served.")
@data_option
@in_words
def accept(
    file: Path,
    taking_away: Path | None,
    who: str,
    why: str,
    source: str,
    base: str,
    unchecked: bool,
    data: Path | None,
) -> None:
    """Make the edit in FILE part of the catalogue: whole, or not at all.

    FILE is a change set (.json), or statements to add (.trig, .ttl, .nq, .jsonld). The catalogue
    with the edit is closed and checked first; what could not be served is not accepted.
    A text folder takes edits that only add, each as a new file under edits/.

    knockon edit accept w5.trig --why "measured today" --source bench --data shop-catalogue
    """
    from ...reasoner.upkeep.accepting import accept as accepted
    from ...reasoner.upkeep.accepting import draft_from_files, draft_from_json

    folder = data or demo_folder()
    if data is None:
        click.echo(
            "The demo comes with knockon and is not edited; name yours with --data.", err=True
        )
        sys.exit(BAD_QUESTION)
    if file.suffix in (".json", ".jsonl"):
        if taking_away or why or source:
            raise click.UsageError("a change set in JSON says itself why, and what it takes away")
        change = draft_from_json(text_of(str(file)))
    else:
        if not (why and source):
            raise click.UsageError("statements need --why and --source; they are kept with them")
        now = datetime.now(UTC)
        change = draft_from_files(folder, file, taking_away, who, now, why, source, base)
    click.echo(accepted(folder, change, check=not unchecked))


def _print_difference(added: Iterable[Quad], removed: Iterable[Quad]) -> None:
    from ...reasoner.upkeep.trig import fact_lines

    for mark, quads in (("-", removed), ("+", added)):
        for text in fact_lines(quads):
            click.echo(f"{mark} {text}")


def _name_of(start: Path) -> str:
    return shown(start) if is_endpoint(start) else start.resolve().name


def _store_at(data: Path | None) -> Path:
    if data is not None and is_store(data):
        return data
    said = "the demo" if data is None else str(data)
    click.echo(
        f"{said} is kept as text, and its history in version control. Name a store with --data, "
        "or make one with: knockon store init FOLDER --from TEXT",
        err=True,
    )
    sys.exit(BAD_QUESTION)
