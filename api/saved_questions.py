"""Questions that a shop keeps, to be told when their answers change."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from .files import one_writer, write_whole
from .problems import ApiError

SAVED_FILE: Final = "saved-questions.json"
_MOST_EACH: Final = 200


class SavedQuestion(BaseModel):
    """A kept question: to whom it is told, signed with which secret, and what was seen last."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    owner: str
    question: str
    deliver_to: str
    secret: str
    catalogue: str = Field(description="the version whose answer was seen last")
    seen: str = Field(description="digest of the answer that was seen last")
    summary: str = Field(description="that answer in one sentence")


class _Kept(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    questions: tuple[SavedQuestion, ...] = ()


class SavedQuestions:
    """The file of kept questions; only its owner may read it, for the secrets in it."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._lock = threading.Lock()

    def all(self) -> tuple[SavedQuestion, ...]:
        """Every kept question, in the order they were saved.

        Raises:
            ApiError: 503, the file cannot be used.
        """
        if self._folder is None:
            return ()
        try:
            return _Kept.model_validate_json((self._folder / SAVED_FILE).read_bytes()).questions
        except FileNotFoundError:
            return ()
        except (ValidationError, OSError):
            # Nothing of the content may end up in a message.
            detail = f"The file {SAVED_FILE} in the shop's folder cannot be used."
            raise ApiError(503, "saved-unusable", "Cannot be read", detail) from None

    def add(self, made: SavedQuestion) -> None:
        """Keep another question.

        Raises:
            ApiError: 409, the owner has too many.
        """

        def added(all_: tuple[SavedQuestion, ...]) -> tuple[SavedQuestion, ...]:
            if sum(each.owner == made.owner for each in all_) >= _MOST_EACH:
                detail = f"At most {_MOST_EACH} questions can be saved: delete one first."
                raise ApiError(409, "too-many", "Too many saved questions", detail)
            return (*all_, made)

        self._change(added)

    def drop(self, question: str) -> None:
        """Forget a question."""
        self._change(lambda all_: tuple(each for each in all_ if each.id != question))

    def note(self, question: str, catalogue: str, seen: str, summary: str) -> None:
        """Note which answer was seen last, if the question is still kept."""
        news = {"catalogue": catalogue, "seen": seen, "summary": summary}
        self._change(
            lambda all_: tuple(
                each.model_copy(update=news) if each.id == question else each for each in all_
            )
        )

    def _change(
        self, change: Callable[[tuple[SavedQuestion, ...]], tuple[SavedQuestion, ...]]
    ) -> None:
        if self._folder is None:
            detail = "The service was started without a shop's folder: nothing can be saved."
            raise ApiError(503, "no-shop", "Nothing can be saved", detail)
        with self._lock, one_writer(self._folder):
            text = _Kept(questions=change(self.all())).model_dump_json(indent=2)
            write_whole(self._folder / SAVED_FILE, f"{text}\n".encode())


def new_id() -> str:
    """A name for a saved question."""
    return secrets.token_hex(8)
