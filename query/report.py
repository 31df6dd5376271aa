"""A report: the answer to every question that is not about a whole change, as one value.

Like an answer it is self-contained: labels, numbers, units and sources are inside. It is made of
sections, each with sentences, a table, or what came of parts at joints, so that one renderer and
one page can show them all. `schema()` documents the JSON of both.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, TypeAlias

from pydantic import Field, TypeAdapter

from .answer import Answer, MeetingNote, ReasonStep, Shown, Thing, Value

ReportKind: TypeAlias = Literal[
    "why-must", "why-not",
    "does-fit", "does-mate", "what-fits", "where-fits", "least-change",
    "show", "unproven", "compare", "tell-apart", "differences", "identify",
    "calculation", "engine-speed", "road-speed", "speedometer", "bolt-circle",
    "let",
]  # fmt: skip


class Column(Value):
    """One column of a table: its heading, and the unit of its numbers."""

    label: str
    unit: str = ""


class Row(Value):
    """One row: what it is about, a cell for each column, and whether to mark it."""

    about: Thing | None = None
    cells: tuple[Shown, ...]
    marked: bool = Field(default=False, description="stands out: differs, or is to be chosen first")


class Table(Value):
    """Values side by side."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]


class Section(Value):
    """One part of a report."""

    title: str
    lines: tuple[str, ...] = ()
    table: Table | None = None
    steps: tuple[ReasonStep, ...] = ()
    meetings: tuple[MeetingNote, ...] = ()
    in_full: bool = Field(
        default=False, description="every comparison and every claim belongs to the answer"
    )


class Report(Value):
    """The answer to one question. `holds` is null where the question is not a yes or a no."""

    kind: ReportKind
    question: str = Field(description="the question in its canonical form")
    catalogue: str = Field(description="version of the catalogue that answered")
    about: tuple[Thing, ...] = Field(default=(), description="what the question names")
    holds: bool | None = Field(
        default=None, description="true: yes, or workable; false: no; null: neither, or unproven"
    )
    summary: str
    sections: tuple[Section, ...] = ()
    cautions: tuple[str, ...] = ()


Reply: TypeAlias = Annotated[Answer | Report, Field(discriminator="kind")]
"""Whatever the desk answers."""


def says_no(reply: Answer | Report) -> bool:
    """Whether the answer is “no”: nothing workable, does not fit, does not hold."""
    return not reply.workable if isinstance(reply, Answer) else reply.holds is False


_reply: TypeAdapter[Answer | Report] = TypeAdapter(Reply)


def schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of whatever the desk answers; `kind` tells which it is."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_reply.json_schema(mode="serialization"),
    }
