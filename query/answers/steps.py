"""“Which one is this?”, step by step: what remains after what was seen, and what to look at next.

The same reasoning as `identify …`, as values that a page can make questions of.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field

from ...reasoner.identify import Candidate, Identification, Remains, identify
from ...reasoner.looks import Look
from ...reasoner.observations import Observation, ObservationKind
from ...reasoner.readings import Reading, UnreadableError, read
from ..answer import PartRef, Thing, Value
from ..phrases import CarName, SortName
from ..words import unit_word
from .ground import Ground, counted, no_answer
from .identification import (
    REACHES,
    candidates_of,
    evidence_lines,
    stated_text,
    warning_text,
)

_MOST_LOOKS: Final = 8
KindWord: TypeAlias = Literal["word", "count", "measure", "number", "date"]
_KINDS: Final[dict[ObservationKind, KindWord]] = {
    ObservationKind.FEATURE: "word",
    ObservationKind.COUNT: "count",
    ObservationKind.MEASURE: "measure",
    ObservationKind.OWN_NUMBER: "number",
    ObservationKind.CAR_NUMBER: "number",
    ObservationKind.DATE: "date",
}


class Seen(BaseModel):
    """One thing that was seen, counted or measured, under an observation of a step before."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    observation: str = Field(max_length=500)
    said: str = Field(min_length=1, max_length=100)


class ReadNote(Value):
    """A reading that was made, as it was put."""

    observation: Thing
    said: str


class ShownNote(Value):
    """What one candidate shows."""

    part: PartRef
    text: str


class LookNote(Value):
    """Something to look at: how, what it may read, and how many candidates it leaves on average."""

    observation: Thing
    kind: KindWord
    how: str
    when: str
    answers: tuple[str, ...] = Field(description="the words it may read; empty: another sort")
    unit: str
    leaves: float
    shows: tuple[ShownNote, ...]


class CandidateNote(Value):
    """A part it may be, or what rules it out."""

    part: PartRef
    remains: Literal["possible", "doubted", "ruled out"]
    confirmed: bool
    because: tuple[str, ...]


class Step(Value):
    """Where an identification stands."""

    sort: Thing
    summary: str
    settled: PartRef | None
    warnings: tuple[str, ...]
    readings: tuple[ReadNote, ...]
    looks: tuple[LookNote, ...]
    candidates: tuple[CandidateNote, ...]


def identification_step(
    ground: Ground, sort: SortName, car: CarName | None, seen: Sequence[Seen]
) -> Step:
    """What remains of a station's or family's parts after everything that was seen.

    Raises:
        QueryError: a name is not known, nothing is there, or a reading cannot be read.
    """
    entry = ground.entry(sort)
    candidates = candidates_of(ground, car, entry)
    if not candidates:
        raise no_answer(sort, f"no {entry.label} is known there")
    readings = [_reading(ground, each, sort) for each in seen]
    found = identify(ground.witness, candidates, readings)
    part = ground.composer.part
    return Step(
        sort=ground.composer.thing(entry.iri),
        summary=_summary(ground, found, entry.label),
        settled=None if found.settled is None else part(found.settled),
        warnings=tuple(warning_text(ground, warning) for warning in found.warnings),
        readings=tuple(
            ReadNote(observation=_thing(ground.witness.observation(r.observation)), said=r.said)
            for r in readings
        ),
        looks=tuple(_look(ground, look) for look in found.looks[:_MOST_LOOKS]),
        candidates=tuple(
            _candidate(ground, each)
            for each in sorted(found.candidates, key=lambda c: _ORDER[c.remains])
        ),
    )


_ORDER: Final = {Remains.POSSIBLE: 0, Remains.DOUBTED: 1, Remains.RULED_OUT: 2}


def _thing(seen: Observation) -> Thing:
    return Thing(iri=seen.iri, label=seen.label)


def _reading(ground: Ground, seen: Seen, sort: SortName) -> Reading:
    try:
        return read(ground.witness.observation(seen.observation), seen.said)
    except UnreadableError as error:
        raise no_answer(sort, str(error)) from None
    except KeyError:
        raise no_answer(sort, "the catalogue knows no such observation") from None


def _look(ground: Ground, look: Look) -> LookNote:
    seen = look.observation
    shown = [s.allowed for each in look.shown for s in each.statements]
    words = dict.fromkeys(a for some in shown for a in some if isinstance(a, str))
    kind = _KINDS[seen.kind]
    return LookNote(
        observation=_thing(seen),
        kind=kind,
        how=seen.how,
        when=REACHES[seen.reach],
        answers=seen.answers or tuple(words) if kind == "word" else (),
        unit=unit_word(seen.unit),
        leaves=round(float(look.expected), 1),
        shows=tuple(
            ShownNote(
                part=ground.composer.part(each.subject), text=stated_text(seen, each.statements)
            )
            for each in look.shown
        ),
    )


def _candidate(ground: Ground, found: Candidate) -> CandidateNote:
    return CandidateNote(
        part=ground.composer.part(found.subject),
        remains=found.remains.value,
        confirmed=found.confirmed,
        because=tuple(evidence_lines(ground, found.evidence)),
    )


def _summary(ground: Ground, found: Identification, label: str) -> str:
    if found.settled is not None:
        return f"It is {ground.said(ground.catalogue.parts[found.settled])}."
    left = [c for c in found.candidates if c.remains is not Remains.RULED_OUT]
    if not left:
        return f"No {label} that is known shows all of this."
    if len(left) == 1:
        said = ground.said(ground.catalogue.parts[left[0].subject])
        return f"Only {said} is left, but nothing that was seen confirms it."
    text = f"It can still be {counted(len(left), 'part')} of {len(found.candidates)}."
    return text if found.looks else f"{text} Nothing that is known tells them further apart."
