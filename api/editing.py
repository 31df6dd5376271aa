"""Edits of the catalogue that the service answers from: drafts, previews, history, in and out."""

from __future__ import annotations

import re
import tempfile
import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import pyoxigraph as ox

from ..query.desk import Desk
from ..query.preview import preview_edit
from ..query.preview_note import Preview
from ..reasoner.errors import KnockonError
from ..reasoner.files import is_store
from ..reasoner.load import demo_folder, load_catalogue, stated
from ..reasoner.reading import Facts, read_facts
from ..reasoner.upkeep.accepting import accept, follow
from ..reasoner.upkeep.at_hand import AtHand
from ..reasoner.upkeep.changes import ChangeSet, draft
from ..reasoner.upkeep.history import Entry
from ..reasoner.upkeep.preview_edit import version_of_facts
from ..reasoner.upkeep.quads import in_order, line, read_lines
from ..reasoner.upkeep.sheets.names import names_of
from ..reasoner.upkeep.sheets.plans import JOBS, plans_for
from ..reasoner.upkeep.sheets.reading import NewSource, read_files
from ..reasoner.upkeep.sheets.template import workbook_bytes
from ..reasoner.upkeep.sheets.vocabulary import vocabulary_of
from ..reasoner.upkeep.store import read, stated_in, stored_version, writing
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
        version = base or self._version()
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
        hand = self._service.at_hand.of(self.folder, desk.catalogue)
        if hand.catalogue.version != desk.catalogue.version:
            desk = Desk(hand.catalogue, desk.stock, desk.builds, desk.questions)
        return preview_edit(hand, desk, [change], questions, step=step)

    def accepted(self, change: ChangeSet, step: Callable[[str], None]) -> str:
        """Make a draft part of the catalogue, and answer from that; what became of it, in words.

        Raises:
            CatalogueRefused, ChangeConflicts, ChangeRefused: nothing was changed.
        """
        step("the catalogue with the edit")
        said = accept(self.own_folder, change, hand=self._hand())
        step("answering from it")
        self._service.reload(lambda: load_catalogue(self.own_folder))
        return said

    def _version(self) -> str:
        """The version of what is stated, as edits name it."""
        folder = self.folder
        return stored_version(folder) if is_store(folder) else version_of_facts(self.facts())

    def _hand(self) -> AtHand | None:
        """The catalogue of a store at hand, to be changed with it; None if there is none.

        What is stated now may be past serving, and the edit what puts it right.
        """
        if is_store(self.folder):
            with suppress(KnockonError):
                return self._service.at_hand.of(self.folder, self._service.catalogue)
        return None

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
        hand = self._hand()
        with writing(self.store) as kept:
            made = kept.undo(str(number), who, datetime.now(UTC), why)
            change = kept.change(made)
        step("answering from it")
        if hand is not None:
            follow(self.store, made, change, hand)
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
