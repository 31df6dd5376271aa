"""The tree of a sentence: what was asked, with names still as the phrases that were typed.

Sentences that say the same in other words have equal trees. Where a name stood in the text takes no
part in comparisons.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from .phrases import (
    CarName,
    FeatureName,
    KeptName,
    NewName,
    PartName,
    SortName,
    StationName,
    ThingName,
)
from .quantities import Quantity
from .terms import ANY_TERMS
from .terms import WORK as WORK
from .terms import Terms as Terms
from .terms import Work as Work

Gear: TypeAlias = Annotated[int, Field(ge=1, le=8)]
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
Bolts: TypeAlias = Annotated[int, Field(ge=3, le=10)]


@dataclass(frozen=True, slots=True)
class Fitting:
    """A part to be fitted; `at` says where if it may sit at several stations."""

    part: PartName
    at: StationName | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be done: parts fitted to a car, on terms."""

    fits: Annotated[tuple[Fitting, ...], Field(min_length=1)]
    car: CarName
    terms: Terms = ANY_TERMS


# ---------------------------------------------------------------------- questions about a change


@dataclass(frozen=True, slots=True)
class KnockOns:
    """What else must change if I fit …?"""

    change: Change
    kind: Literal["knock-ons"] = "knock-ons"


@dataclass(frozen=True, slots=True)
class Checks:
    """What must I check if I fit …?"""

    change: Change
    kind: Literal["checks"] = "checks"


@dataclass(frozen=True, slots=True)
class UnprovenIf:
    """What is unproven if I fit …?"""

    change: Change
    kind: Literal["unproven-if"] = "unproven-if"


@dataclass(frozen=True, slots=True)
class WhyMust:
    """Why must … change? Without a change it asks about the last question."""

    station: StationName
    change: Change | None = None
    kind: Literal["why-must"] = "why-must"


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Why not …? Without a change it asks about the last question."""

    part: PartName
    change: Change | None = None
    kind: Literal["why-not"] = "why-not"


# ---------------------------------------------------------------------- questions of fit


@dataclass(frozen=True, slots=True)
class DoesFit:
    """Does A fit CAR?"""

    part: PartName
    car: CarName
    at: StationName | None = None
    terms: Terms = ANY_TERMS
    kind: Literal["does-fit"] = "does-fit"


@dataclass(frozen=True, slots=True)
class DoesMate:
    """Does A mate with B?"""

    first: PartName
    second: PartName
    kind: Literal["does-mate"] = "does-mate"


@dataclass(frozen=True, slots=True)
class WhatFits:
    """What fits STATION on CAR?"""

    station: StationName
    car: CarName
    terms: Terms = ANY_TERMS
    kind: Literal["what-fits"] = "what-fits"


@dataclass(frozen=True, slots=True)
class WhereFits:
    """Where does PART fit?"""

    part: PartName
    car: CarName | None = None
    kind: Literal["where-fits"] = "where-fits"


@dataclass(frozen=True, slots=True)
class LeastChange:
    """Which sort of part needs least change across CAR, CAR …?"""

    sort: SortName
    cars: Annotated[tuple[CarName, ...], Field(min_length=1)]
    terms: Terms = ANY_TERMS
    kind: Literal["least-change"] = "least-change"


# ---------------------------------------------------------------------- questions about things


@dataclass(frozen=True, slots=True)
class Show:
    """Show … [on CAR]."""

    thing: ThingName
    car: CarName | None = None
    kind: Literal["show"] = "show"


@dataclass(frozen=True, slots=True)
class Unproven:
    """What is unproven about … [on CAR]?"""

    thing: ThingName
    car: CarName | None = None
    kind: Literal["unproven"] = "unproven"


@dataclass(frozen=True, slots=True)
class Compare:
    """Compare A with B [and C …]."""

    things: Annotated[tuple[ThingName, ...], Field(min_length=2)]
    kind: Literal["compare"] = "compare"


@dataclass(frozen=True, slots=True)
class TellApart:
    """How do I tell A from B?"""

    first: ThingName
    second: ThingName
    kind: Literal["tell-apart"] = "tell-apart"


@dataclass(frozen=True, slots=True)
class Differences:
    """What differs between CAR and CAR?"""

    first: CarName
    second: CarName
    kind: Literal["differences"] = "differences"


@dataclass(frozen=True, slots=True)
class Serial:
    """The car's serial number."""

    number: Annotated[int, Field(ge=0, le=999_999_999)]
    kind: Literal["serial"] = "serial"


@dataclass(frozen=True, slots=True)
class Built:
    """When the car was built; the month is 1 to 12."""

    year: Annotated[int, Field(ge=0, le=9999)]
    month: Annotated[int, Field(ge=1, le=12)] | None = None
    kind: Literal["built"] = "built"


@dataclass(frozen=True, slots=True)
class Feature:
    """What is seen on the part: a mark (no amount), a measure, or a count (no unit)."""

    what: FeatureName
    amount: Quantity | None = None
    kind: Literal["feature"] = "feature"


Evidence: TypeAlias = Serial | Built | Feature


@dataclass(frozen=True, slots=True)
class Identify:
    """Identify a part in the hand by what is known of it."""

    sort: SortName
    evidence: Annotated[tuple[Evidence, ...], Field(min_length=1)]
    car: CarName | None = None
    kind: Literal["identify"] = "identify"


# ---------------------------------------------------------------------- what it works out to

Measure: TypeAlias = Literal[
    "track width",
    "rolling circumference",
    "propshaft critical speed",
    "propshaft joint angle",
    "clutch torque capacity",
    "brake torque split",
    "centre differential slip",
]
MEASURES: tuple[Measure, ...] = (
    "track width",
    "rolling circumference",
    "propshaft critical speed",
    "propshaft joint angle",
    "clutch torque capacity",
    "brake torque split",
    "centre differential slip",
)


@dataclass(frozen=True, slots=True)
class Calculation:
    """What is the MEASURE on CAR [if I fit …]?"""

    measure: Measure
    car: CarName
    fits: tuple[Fitting, ...] = ()
    kind: Literal["calculation"] = "calculation"


@dataclass(frozen=True, slots=True)
class EngineSpeed:
    """How fast does the engine turn in GEAR at ROAD SPEED on CAR [if I fit …]?"""

    gear: Gear
    speed: Quantity
    car: CarName
    fits: tuple[Fitting, ...] = ()
    kind: Literal["engine-speed"] = "engine-speed"


@dataclass(frozen=True, slots=True)
class RoadSpeed:
    """What road speed is ENGINE SPEED in GEAR on CAR [if I fit …]?"""

    gear: Gear
    engine: Quantity
    car: CarName
    fits: tuple[Fitting, ...] = ()
    kind: Literal["road-speed"] = "road-speed"


@dataclass(frozen=True, slots=True)
class Speedometer:
    """What will the speedometer read at ROAD SPEED on CAR [if I fit …]?"""

    speed: Quantity
    car: CarName
    fits: tuple[Fitting, ...] = ()
    kind: Literal["speedometer"] = "speedometer"


@dataclass(frozen=True, slots=True)
class BoltCircle:
    """What bolt circle gives a chord (between neighbouring bolts) of … with so many bolts?"""

    chord: Quantity
    bolts: Bolts
    kind: Literal["bolt-circle"] = "bolt-circle"


# ---------------------------------------------------------------------- a conversation


@dataclass(frozen=True, slots=True)
class Let:
    """Let NAME be CAR [with PART …]: a build under a name of its own."""

    alias: NewName
    car: CarName
    fits: tuple[Fitting, ...] = ()
    kind: Literal["let"] = "let"


@dataclass(frozen=True, slots=True)
class FollowUp:
    """And if …? An amendment to the last question (see `follow_up.amend`)."""

    fits: tuple[Fitting, ...] = ()
    car: CarName | None = None
    terms: Terms = ANY_TERMS
    freed: tuple[KeptName, ...] = ()
    """What was to be kept and may now change."""
    kind: Literal["follow-up"] = "follow-up"


Sentence: TypeAlias = (
    KnockOns | Checks | UnprovenIf | WhyMust | WhyNot
    | DoesFit | DoesMate | WhatFits | WhereFits | LeastChange
    | Show | Unproven | Compare | TellApart | Differences | Identify
    | Calculation | EngineSpeed | RoadSpeed | Speedometer | BoltCircle
    | Let | FollowUp
)  # fmt: skip
