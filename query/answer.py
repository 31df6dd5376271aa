"""An answer as one self-contained value: what the command prints, the API returns and JSON holds.

Everything a reader needs is inside (labels, numbers, units, sources), so that it can be rendered,
stored or sent without the catalogue. `report.schema()` documents the JSON form.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field

Number: TypeAlias = int | float
Shown: TypeAlias = bool | int | float | str | None
Word: TypeAlias = Literal["must", "choice", "keeps"]
OutcomeWord: TypeAlias = Literal["mates", "clashes", "unproven"]


class Value(BaseModel):
    """Base of everything in an answer: frozen, and nothing unknown gets in."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Thing(Value):
    """A station, car, joint or maker: what it is called and its IRI."""

    iri: str
    label: str


class PartRef(Value):
    """A part, with what a quote needs. `number` is None for an empty station."""

    iri: str | None = None
    label: str
    number: str | None = None
    maker: str | None = None
    price_eur: Number | None = Field(default=None, description="price each, EUR")


class Citation(Value):
    """Who says so, and how far it may be trusted."""

    source: str
    standing: str
    by: str = ""
    date: str = ""


class Claimed(Value):
    """One stated value of one end, with everybody who states it."""

    end: str
    part: str
    quantity: str
    value: Shown
    unit: str = ""
    cited: tuple[Citation, ...]


class Comparison(Value):
    """What a rule found on one quantity, in values and as a sentence."""

    quantity: str
    outcome: OutcomeWord
    relation: str
    first: Shown = None
    second: Shown = None
    unit: str = ""
    tolerance: Number | None = None
    margin: Number | None = None
    text: str


class MeetingNote(Value):
    """Parts that meet at a joint, what came of it, by which rule, on whose word."""

    joint: Thing
    kind: str
    rule: str
    parts: tuple[PartRef, ...]
    outcome: OutcomeWord
    settled_by: str = ""
    standing: str
    comparisons: tuple[Comparison, ...]
    claims: tuple[Claimed, ...]


class ReasonStep(Value):
    """One link of a chain of reasons."""

    kind: str
    text: str
    origin: tuple[Thing, ...]
    station: Thing
    meetings: tuple[MeetingNote, ...] = ()
    leaves: tuple[PartRef, ...] = ()


class Line(Value):
    """The verdict on one station and why."""

    station: Thing
    quantity: int
    verdict: Word
    strictly: Word | None = Field(
        None,
        description="the verdict if unproven joints clash; null where no plan is then workable",
    )
    now: PartRef
    options: tuple[PartRef, ...] = ()
    forced_by: tuple[Thing, ...] = ()
    because: tuple[ReasonStep, ...] = ()
    chains: tuple[tuple[int, ...], ...] = Field(
        default=(),
        description="separate chains of reasons, each as positions in `because`, first link first",
    )
    while_keeping: tuple[Thing, ...] = ()


class Offer(Value):
    """A station and the parts it may take."""

    station: Thing
    parts: tuple[PartRef, ...]


class Fitted(Value):
    """What the question fits: the station, what is there now, and the part to be fitted."""

    station: Thing
    now: PartRef
    part: PartRef


class BranchNote(Value):
    """If one of `parts` is taken at `station`, the others are left with these."""

    station: Thing
    parts: tuple[PartRef, ...]
    leaves: tuple[Offer, ...]


class WayNote(Value):
    """One irredundant way of changing the car: each station with what it may take."""

    changes: tuple[Offer, ...]
    branches: tuple[BranchNote, ...] = ()


class TurnNote(Value):
    """A verdict that changes if a check comes out badly."""

    station: Thing
    now: Word
    then: Word


class ToMeasure(Value):
    """One value to read off a part in hand; told back, it is answered with (`in_hand`)."""

    end: Thing
    part: PartRef
    property: Thing
    unit: str = ""
    how: str = ""


class ToOfferUp(Value):
    """Two ends to hold against one another, where nobody has tried them together."""

    ends: tuple[Thing, ...]
    parts: tuple[PartRef, ...]


class CheckNote(Value):
    """Something to measure or try before ordering."""

    joint: Thing
    meetings: tuple[MeetingNote, ...]
    others: int = Field(0, description="so many more meetings of other ends, of which none is told")
    measure: tuple[str, ...]
    values: tuple[ToMeasure, ...] = ()
    offer_up: tuple[ToOfferUp, ...] = ()
    turns: tuple[TurnNote, ...] = Field(description="verdicts that change if it does not fit")
    ends_it: bool = Field(description="whether nothing is workable if it does not fit")


class PlanPartNote(Value):
    """One station that a plan changes, and where the part comes from."""

    station: Thing
    quantity: int
    was: PartRef
    part: PartRef
    origin: str
    price_eur: Number | None = Field(description="for the whole quantity; null where not priced")
    made_to: tuple[str, ...] = ()


class WorkNote(Value):
    """One workshop operation, in the order of work."""

    operation: Thing
    hours: Number
    cannot_be_undone: bool = False


class ConsumableNote(Value):
    """Something renewed because a station is opened."""

    label: str
    count: str
    because: Thing
    price_eur: Number | None = None


class DonorNote(Value):
    """What a plan takes off one donor car, which must still be on it."""

    donor: str
    parts: tuple[PartRef, ...]


class PlanNote(Value):
    """One complete workable set of parts."""

    parts: tuple[PlanPartNote, ...]
    cost_eur: Number
    unpriced: tuple[PartRef, ...] = ()
    hours: Number
    work: tuple[WorkNote, ...]
    irreversible: tuple[str, ...] = ()
    unproven: tuple[Thing, ...] = ()
    blanks: tuple[Thing, ...] = ()
    lost: tuple[Thing, ...] = ()
    consumables: tuple[ConsumableNote, ...] = ()
    advice: tuple[str, ...] = ()
    donors: tuple[DonorNote, ...] = ()
    standing: str
    optimal: bool
    compared_with_best: tuple[str, ...] = ()
    effects: tuple[str, ...] = Field(
        default=(), description="what it changes in how the car drives, where both sides are known"
    )


class ReleaseNote(Value):
    """Wishes to drop, and which stations would then change."""

    drop: tuple[str, ...]
    then_change: tuple[Thing, ...]


class ConflictNote(Value):
    """Why nothing works, and the least to give up."""

    reasons: tuple[str, ...]
    smallest: bool
    releases: tuple[ReleaseNote, ...]


class Answer(Value):
    """The answer to "what else must change if I fit …?"."""

    kind: Literal["knock-ons"] = "knock-ons"
    question: str = Field(description="the question in its canonical form")
    catalogue: str = Field(description="version of the catalogue that answered")
    car: Thing
    fitted: tuple[Fitted, ...]
    kept: tuple[Thing, ...] = ()
    workable: bool
    strictly_workable: bool
    summary: str
    lines: tuple[Line, ...] = ()
    ways: tuple[WayNote, ...] = ()
    all_ways_listed: bool = True
    plans: tuple[PlanNote, ...] = ()
    checks: tuple[CheckNote, ...] = ()
    already_clashing: tuple[MeetingNote, ...] = ()
    conflict: ConflictNote | None = None
    reasons_among: int = Field(
        default=0,
        description="how many parts that come in question some reasons are told among, in a large "
        "catalogue with a limit on money, hours or proof; 0: all reasons hold against every part",
    )
    cautions: tuple[str, ...] = ()
