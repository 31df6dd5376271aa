"""What an edit changes, as one self-contained value: what the command prints and JSON holds."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .answer import OutcomeWord, PartRef, Thing, Value, Word
from .finding_out import FindingOut


class FactNote(Value):
    """One fact that is stated otherwise after the edit, in words and values."""

    thing: Thing
    about: str = Field(description="the quantity, station or property; empty for the whole thing")
    before: str
    after: str
    text: str


class VerdictChange(Value):
    """A station on which an answer says something else; null where it says nothing."""

    station: Thing
    before: Word | None = None
    after: Word | None = None
    strictly_before: Word | None = None
    strictly_after: Word | None = None
    offered: tuple[PartRef, ...] = Field(default=(), description="options only after the edit")
    withdrawn: tuple[PartRef, ...] = Field(default=(), description="options only before it")
    text: str


class QuestionChange(Value):
    """A saved question that is answered otherwise after the edit."""

    question: str
    before: str = Field(description="the answer in a sentence, or why there is none")
    after: str
    verdicts: tuple[VerdictChange, ...] = ()
    lines: tuple[str, ...] = Field(default=(), description="checks, reasons and rows that differ")
    why: tuple[FactNote, ...] = ()


class JointChange(Value):
    """A joint of a build at which something else comes about."""

    joint: Thing
    before: OutcomeWord | None = None
    after: OutcomeWord | None = None
    because: tuple[str, ...] = ()
    why: tuple[FactNote, ...] = ()


class FitChange(Value):
    """A station of a build at which another part sits."""

    station: Thing
    before: PartRef | None = None
    after: PartRef | None = None
    why: tuple[FactNote, ...] = ()


class BuildChange(Value):
    """A stock or saved build that changes."""

    name: str
    saved: bool
    status: Literal["changes", "breaks", "is new", "is gone"]
    note: str = ""
    fits: tuple[FitChange, ...] = ()
    joints: tuple[JointChange, ...] = ()


class Preview(Value):
    """Everything that an edit changes, before it goes live."""

    before: str = Field(description="version of the catalogue that is live")
    after: str = Field(description="version that it would be")
    summary: str
    made_on_another: bool = Field(
        default=False, description="whether the edit was made on another version than the live one"
    )
    facts: tuple[FactNote, ...] = ()
    builds: tuple[BuildChange, ...] = ()
    questions: tuple[QuestionChange, ...] = ()
    other_reasons: tuple[str, ...] = Field(
        default=(), description="questions whose verdicts stand, on reasons that read otherwise"
    )
    unanswered: tuple[str, ...] = Field(
        default=(), description="saved questions that are understood neither before nor after"
    )
    findings: tuple[FindingOut, ...] = Field(default=(), description="what the check says newly")
    cured: tuple[FindingOut, ...] = Field(default=(), description="what it says no longer")
    builds_looked_at: int
    builds_passed_over: int
    questions_asked: int
    questions_passed_over: int

    @property
    def breaks(self) -> bool:
        """Whether the edit should not go live: a build clashes, or a finding stops."""
        stopping = any(finding.severity == "stops" for finding in self.findings)
        return stopping or any(build.status == "breaks" for build in self.builds)
