"""What the routes about edits take and give."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from ..query.answer import Value
from .bodies import Body as Asked


class NewEdit(Asked):
    """Statements to add and to take away, as N-Quads; who answers for them is the key's owner."""

    why: str = Field(min_length=1, max_length=2000)
    source: str = Field(
        min_length=1, max_length=500, description="name or IRI of the source that says so"
    )
    added: list[Annotated[str, Field(max_length=10_000)]] = Field(
        default_factory=list, max_length=5000
    )
    removed: list[Annotated[str, Field(max_length=10_000)]] = Field(
        default_factory=list, max_length=5000
    )
    base: str = Field(
        default="", max_length=64, description="version the edit was made on; now if left out"
    )

    @model_validator(mode="after")
    def _says_something(self) -> NewEdit:
        if not self.added and not self.removed:
            raise ValueError("give statements to add or to take away")
        return self


class EditNote(Value):
    """A draft. Its id stands for all that it says, so it never changes."""

    id: str
    href: str
    who: str
    when: str
    why: str
    source: str
    base: str
    added: int
    removed: int


class EditDetail(EditNote):
    """A draft with its statements, as N-Quads."""

    adds: tuple[str, ...]
    takes_away: tuple[str, ...]


class HistoryNote(Value):
    """One accepted change."""

    number: int
    href: str
    id: str
    who: str
    when: str
    why: str
    source: str
    state: str
    undoes: str
    before: str
    after: str
    added: int
    removed: int


class HistoryDetail(HistoryNote):
    """One accepted change with its statements, as N-Quads."""

    adds: tuple[str, ...]
    takes_away: tuple[str, ...]


class AskPreview(Asked):
    """Questions to be asked of both catalogues, beside the shop's own saved ones."""

    questions: Annotated[
        tuple[Annotated[str, Field(min_length=1, max_length=4000)], ...], Field(max_length=200)
    ] = ()


class Undo(Asked):
    """Why a change is taken back."""

    why: str = Field(default="taken back", min_length=1, max_length=2000)
