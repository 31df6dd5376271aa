"""Edits of the catalogue that the service answers from: drafts, previews, history, in and out."""

from __future__ import annotations

import re
import tempfile
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import pyoxigraph as ox

from ..query.desk import Desk
from ..query.preview import Sides, preview
from ..query.preview_note import Preview
from ..reasoner.files import is_store
from ..reasoner.load import demo_folder, load_catalogue, stated
from ..reasoner.mating import Mating
from ..reasoner.reading import Facts, read_facts
from ..reasoner.upkeep.accepting import accept
from ..reasoner.upkeep.changes import ChangeSet, draft
from ..reasoner.upkeep.findings import find_faults
from ..reasoner.upkeep.history import Entry
from ..reasoner.upkeep.preview import Edit
from ..reasoner.upkeep.preview_edit import catalogue_of, facts_after, version_of_facts
from ..reasoner.upkeep.quads import in_order, line, read_lines
from ..reasoner.upkeep.sheets.names import names_of
from ..reasoner.upkeep.sheets.plans import JOBS, plans_for
from ..reasoner.upkeep.sheets.reading import NewSource, read_files
from ..reasoner.upkeep.sheets.template import workbook_bytes
from ..reasoner.upkeep.sheets.vocabulary import vocabulary_of
from ..reasoner.upkeep.store import read, stated_in, writing
from .problems import ApiError, not_found
from .service import Service

UPLOADS: Final = (".csv", ".tsv", ".xlsx", ".ttl", ".trig", ".nq", ".jsonld")
_FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,80}")
_SOURCES: Final = "https://knockon.example/source/"
_facts_lock = threading.Lock()
_facts_kept: dict[str, Facts] = {}


class Editing:
    """Edits over the files that a service was started from."""

    def __init__(self, service: Service) -> None:
        self._service = service

    @property
    def folder(self) -> Path:
        """The catalogue's folder: text, or a store.

        Raises:
            ApiError: 409, there is none.
        """
        folder = self._service.settings.data
        if folder is None:
            detail = "This service was not started from a folder of its own."
            raise ApiError(409, "no-data", "There is nothing to edit", detail)
        return folder

    @property
    def own_folder(self) -> Path:
        """The folder, if it may be edited.

        Raises:
            ApiError: 409, it is the demo.
        """
        if self.folder == demo_folder():
            detail = "The demo comes with knockon and is not edited; start with --data."
            raise ApiError(409, "demo", "The demo is not edited", detail)
        return self.folder

    @property
    def store(self) -> Path:
        """The folder, if it is a store with a history.

        Raises:
            ApiError: 409, it is kept as text.
        """
        if not is_store(self.folder):
            detail = "The catalogue is kept as text, and its history in version control."
            raise ApiError(409, "kept-as-text", "There is no history", detail)
        return self.folder

    def facts(self) -> Facts:
        """What is stated now.

        Raises:
            CatalogueFileError: a file or the store cannot be read.
        """
        version, texts = stated(self.folder)
        with _facts_lock:
            if version not in _facts_kept:
                now, files = texts()
                _facts_kept.clear()  # one is large, and the one before is wanted no more
                _facts_kept[now] = read_facts(files)
                version = now
            return _facts_kept[version]

    # ------------------------------------------------------------------ drafts

    def drafted(
        self, who: str, why: str, source: str, added: list[str], removed: list[str], base: str
    ) -> ChangeSet:
        """A draft from statements in N-Quads, on the catalogue of now unless it says its base.

        Raises:
            ChangeRefused, NotAStatement: it cannot be an edit.
        """
        graph = source if ":" in source else _SOURCES + source
        news, olds = read_lines("\n".join(added)), read_lines("\n".join(removed))
        version = base or version_of_facts(self.facts())
        return draft(who, datetime.now(UTC), why, graph, news, olds, version)

    def imported(
        self, who: str, why: str, name: str, content: bytes, source: str, new: NewSource | None
    ) -> ChangeSet:
        """A draft from a file: a workbook, a CSV sheet, or RDF.

        Raises:
            SheetRefused: with every fault by sheet, row and column. ChangeRefused: nothing changes.
            ApiError: 422, the file's name says not what it is; or it is a stock list.
        """
        stem, dot, ending = name.rpartition(".")
        if f"{dot}{ending.lower()}" not in UPLOADS or not _FILE.fullmatch(stem):
            detail = f"The file's name must be plain and end in one of {', '.join(UPLOADS)}."
            raise ApiError(422, "bad-file", "Not such a file", detail)
        facts = self.facts()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"{stem}.{ending.lower()}"
            path.write_bytes(content)
            found = read_files([path], facts, source, new)
        if found.stock:
            detail = "This is a stock list, which is no part of the catalogue: PUT it to /v1/stock."
            raise ApiError(422, "bad-file", "Not such a file", detail)
        return found.change(facts, who, why, datetime.now(UTC))

    def previewed(
        self, change: ChangeSet, desk: Desk, questions: list[str], step: Callable[[str], None]
    ) -> Preview:
        """Which answers a draft would change.

        Raises:
            CatalogueRefused: the catalogue could not be served with it.
        """
        step("the catalogue with the edit")
        facts = self.facts()
        after = facts_after(facts, [change])
        made = Edit.between(desk.catalogue, catalogue_of(after))
        step("what the check says")
        findings = (
            find_faults(facts, desk.catalogue, made.before),
            find_faults(after, made.after.catalogue, Mating(made.after.catalogue)),
        )
        step("builds and saved questions")
        return preview(Sides.of(desk, made), questions, findings)

    def accepted(self, change: ChangeSet, step: Callable[[str], None]) -> str:
        """Make a draft part of the catalogue, and answer from that; what became of it, in words.

        Raises:
            CatalogueRefused, ChangeConflicts, ChangeRefused: nothing was changed.
        """
        step("the catalogue with the edit")
        said = accept(self.own_folder, change)
        step("answering from it")
        self._service.reload(lambda: load_catalogue(self.own_folder))
        return said

    # ------------------------------------------------------------------ history

    def history(self) -> tuple[Entry, ...]:
        """What was accepted, oldest first."""
        return read(self.store, lambda kept: kept.history())

    def entry(self, number: int) -> tuple[Entry, ChangeSet]:
        """One accepted change, with all it added and took away.

        Raises:
            ApiError: 404, there is none of that number.
        """
        entry = next((each for each in self.history() if each.number == number), None)
        if entry is None:
            raise not_found("change", str(number))
        return entry, read(self.store, lambda kept: kept.change(entry))

    def undone(self, number: int, who: str, why: str, step: Callable[[str], None]) -> str:
        """Take back one accepted change, as a change of its own; what became of it, in words.

        Raises:
            ChangeConflicts: later changes touched the same places; nothing was changed.
        """
        step("taking it back")
        with writing(self.store) as kept:
            made = kept.undo(str(number), who, datetime.now(UTC), why)
        step("answering from it")
        self._service.reload(lambda: load_catalogue(self.store))
        return f"change {made.number}, {made.id}: +{made.added} −{made.removed}"

    # ------------------------------------------------------------------ out

    def exported(self, form: ox.RdfFormat) -> bytes:
        """Everything that is stated, each statement in the graph of its source, in order."""
        text = "".join(f"{line(quad)}\n" for quad in in_order(stated_in(self.folder)[1]))
        if form is ox.RdfFormat.N_QUADS:
            return text.encode()
        quads = ox.parse(text, format=ox.RdfFormat.N_QUADS)
        return ox.serialize(quads, format=form) or b""

    def template(self, job: str) -> bytes:
        """An empty workbook for one of the jobs of a maintainer.

        Raises:
            ApiError: 404, no such job.
        """
        if job not in JOBS:
            raise not_found("template", job, tuple(JOBS))
        facts = self.facts()
        vocabulary = vocabulary_of(facts)
        return workbook_bytes(plans_for(job, vocabulary), names_of(facts, vocabulary))
