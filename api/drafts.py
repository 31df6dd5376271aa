"""Drafts of edits that are not yet accepted, in the shop's folder, each under its maker's name."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from ..reasoner.upkeep.changes import ChangeSet, as_json, from_json
from .files import one_writer, write_whole
from .problems import ApiError

_NAME: Final = re.compile(r"[0-9a-f]{12}")
_MOST_EACH: Final = 200


class Drafts:
    """The drafts of a shop. A draft never changes: its name stands for all that it says."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    def of(self, owner: str) -> tuple[ChangeSet, ...]:
        """An owner's drafts, oldest first."""
        found = (self._read(path) for path in self._place(owner).glob("*.json"))
        return tuple(sorted(found, key=lambda draft: (draft.when, draft.id)))

    def find(self, owner: str, name: str) -> ChangeSet | None:
        """An owner's draft by its name."""
        if not _NAME.fullmatch(name):
            return None
        try:
            return self._read(self._path(owner, name))
        except FileNotFoundError:
            return None

    def keep(self, owner: str, draft: ChangeSet) -> None:
        """Keep a draft.

        Raises:
            ApiError: 409, the owner has too many.
        """
        place = self._place(owner)
        with one_writer(place):
            if len(list(place.glob("*.json"))) >= _MOST_EACH:
                detail = f"At most {_MOST_EACH} drafts can be kept: drop one first."
                raise ApiError(409, "too-many", "Too many drafts", detail)
            write_whole(self._path(owner, draft.id), f"{as_json(draft)}\n".encode())

    def drop(self, owner: str, name: str) -> None:
        """Forget a draft, if it is still there."""
        self._path(owner, name).unlink(missing_ok=True)

    def _read(self, path: Path) -> ChangeSet:
        return from_json(path.read_text("utf-8"))

    def _path(self, owner: str, name: str) -> Path:
        return self._place(owner) / f"{name}.json"

    def _place(self, owner: str) -> Path:
        if self._folder is None:
            detail = "The service was started without a shop's folder: nothing can be kept."
            raise ApiError(503, "no-shop", "Nothing can be kept", detail)
        # An owner's name is held to letters, digits and hyphens where keys are made and read.
        return self._folder / "drafts" / owner
