"""The change sets in a file, whatever it is written in, and a draft put where it is wanted."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from ...reasoner.reading import Facts
from ...reasoner.upkeep.changes import ChangeRefused, ChangeSet, as_json, draft, from_lines
from ...reasoner.upkeep.preview_edit import version_of_facts
from ...reasoner.upkeep.text import statements_in


def changes_in(file: Path, source: str, facts: Facts) -> tuple[ChangeSet, ...]:
    """The change sets in JSON lines, or one that adds the statements of an RDF file.

    Raises:
        ChangeRefused: the file is neither, or states nothing.
    """
    if file.suffix in (".json", ".jsonl"):
        found = from_lines(_text(file))
        if not found:
            raise ChangeRefused(f"{file} holds no change set")
        return found
    graph = source if not source or "/" in source else f"https://knockon.example/source/{source}"
    statements = statements_in(file, graph)
    if not statements:
        raise ChangeRefused(f"{file} states nothing")
    made = draft(
        "preview", datetime.now(UTC), f"what {file.name} adds", graph, statements, (),
        version_of_facts(facts),
    )  # fmt: skip
    return (made,)


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise ChangeRefused(f"{file}: not UTF-8 text") from None
    except OSError as error:
        raise ChangeRefused(f"{file}: {error.strerror or 'cannot be read'}") from None


def hand_over(change: ChangeSet, out: Path | None) -> None:
    """Print a draft, or write it to a file and say what comes next."""
    if out is None:
        click.echo(as_json(change))
        return
    try:
        out.write_text(as_json(change) + "\n", encoding="utf-8")
    except OSError as error:
        raise ChangeRefused(f"{out}: {error.strerror or 'cannot be written'}") from None
    click.echo(
        f"Draft {change.id} in {out}: {len(change.added)} statements more, "
        f"{len(change.removed)} fewer. Nothing is changed yet; next: knockon edit preview {out}"
    )
