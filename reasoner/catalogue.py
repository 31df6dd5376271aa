"""The catalogue as values: parts, ends, joints, cars and the claims behind them.

Frozen, complete and ordered; made once from the closed graph (see `assemble`) and shared freely.
IRIs are plain strings here, and mappings iterate in sorted order, so that the same data gives the
same answer byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import IntEnum
from typing import Protocol

from .interfaces.kind import Value
from .lookups import Lookups
from .observations import IdentificationRule, Observation


class Standing(IntEnum):
    """How far a claim may be trusted; smaller is stronger."""

    MEASURED = 0
    TRIAL_FITTED = 1
    DOCUMENTED = 2
    REPORTED = 3
    PRESUMED = 4
    DISPUTED = 5

    @property
    def word(self) -> str:
        """The word of the glossary, e.g. "trial-fitted"."""
        return self.name.lower().replace("_", "-")


@dataclass(frozen=True, slots=True)
class Source:
    """Where claims come from."""

    iri: str
    label: str
    standing: Standing
    by: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class Claim:
    """One value with the sources that state it (never empty, strongest standing first)."""

    value: Value
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Named:
    """What people call a thing: one preferred label, and everything else they say."""

    iri: str
    label: str
    synonyms: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenValue:
    """A quantity that the maker chooses to suit the car: a range, or one of a list."""

    quantity: str
    least: Decimal | None = None
    most: Decimal | None = None
    one_of: tuple[Value, ...] = ()


@dataclass(frozen=True, slots=True)
class End:
    """One side of an interface on a part.

    `claims` maps a quantity to every different value stated for it; two claims under one quantity
    are a dispute.
    """

    iri: str
    label: str
    kind: str
    role: str
    side: str
    claims: Mapping[str, tuple[Claim, ...]] = field(default_factory=dict)
    open: tuple[OpenValue, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """A thing with a part number. `ends` maps a role to the ends it has there (alternatives).

    `via` says for each end's role who says so: the family it is inherited from, or the part.
    """

    iri: str
    label: str
    number: str
    synonyms: tuple[str, ...]
    maker: str
    family: str
    families: frozenset[str]
    stations: tuple[str, ...]
    ends: Mapping[str, tuple[str, ...]]
    via: Mapping[str, str]
    sources: tuple[str, ...]
    price: Decimal | None = None
    weight: Decimal | None = None
    superseded_by: tuple[str, ...] = ()
    interchanges: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    requires: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    tolerances: Mapping[str, Decimal] = field(default_factory=dict)
    one_use: bool = False
    rework_of: str = ""
    rework_act: str = ""
    rework_hours: Decimal = Decimal(0)
    irreversible: bool = False
    attributes: Mapping[str, Value] = field(default_factory=dict)
    asks: Mapping[str, str] = field(default_factory=dict)
    """What it requires at first hand: family asked for → family or part that says so."""


@dataclass(frozen=True, slots=True)
class Family:
    """Parts of one design; `stations` and `requires` hold for every part of it."""

    iri: str
    label: str
    synonyms: tuple[str, ...]
    stations: tuple[str, ...]
    parts: tuple[str, ...]
    requires: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Station:
    """One place on a car."""

    iri: str
    label: str
    synonyms: tuple[str, ...]
    quantity: int
    area: str
    may_stand_empty: bool
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Member:
    """One place at which a joint takes an end."""

    station: str
    role: str
    sign: int
    alone: str
    """ "MustMeet", "MayStandAlone" or "WantsBlank"."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Places whose ends meet. `via` is a station that may stand between the first two members.

    `stations` are the members' stations in order, the go-between last.
    """

    iri: str
    label: str
    kind: str
    members: tuple[Member, ...]
    via: str = ""
    via_roles: tuple[str, str] = ("", "")
    only_on: frozenset[str] = frozenset()
    stations: tuple[str, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Kept, as it is asked for all the time."""
        own = tuple(member.station for member in self.members)
        object.__setattr__(self, "stations", (*own, self.via) if self.via else own)

    @property
    def is_chain(self) -> bool:
        """Whether its places are weighed together: more than two, or two at one station."""
        return len(self.members) != 2 or self.members[0].station == self.members[1].station


@dataclass(frozen=True, slots=True)
class Fit:
    """A part (or None for an empty station) on a car, and who says so."""

    part: str | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Car:
    """One stock build."""

    iri: str
    label: str
    synonyms: tuple[str, ...]
    line: str
    generation: str
    body: str
    fits: Mapping[str, Fit]
    years: tuple[int | None, int | None] = (None, None)
    serials: tuple[int | None, int | None] = (None, None)
    market: str = ""


@dataclass(frozen=True, slots=True)
class Operation:
    """Workshop work that opens stations; counted once however many it opens."""

    iri: str
    label: str
    hours: Decimal
    opens: tuple[str, ...]
    after: tuple[str, ...]
    irreversible: bool = False


@dataclass(frozen=True, slots=True)
class Consumable:
    """Something renewed whenever one of the stations in `follows` is opened."""

    iri: str
    label: str
    count: str
    follows: tuple[str, ...]
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """What the customer must hear when all families of `when` and none of `unless` are there."""

    iri: str
    says: str
    when: frozenset[str]
    unless: frozenset[str]
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value property of the ontology: what it is called, its unit, how to measure it."""

    name: str
    label: str
    unit: str
    measure_by: str


@dataclass(frozen=True, slots=True)
class KindText:
    """What the ontology says of an interface kind, in words."""

    name: str
    label: str
    rule: str


class _Labelled(Protocol):
    @property
    def label(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything the reasoner may rely on. `version` changes when any file changes.

    The tables of a big catalogue stay on disk and are read row by row (see `shelf`): what answers
    a question looks up, in a table or in `lookups`, and never walks through all parts or cars.
    """

    version: str
    sources: Mapping[str, Source]
    stations: Mapping[str, Station]
    families: Mapping[str, Family]
    parts: Mapping[str, Part]
    ends: Mapping[str, End]
    joints: Mapping[str, Joint]
    cars: Mapping[str, Car]
    generations: Mapping[str, Named]
    lines: Mapping[str, Named]
    roles: Mapping[str, Named]
    sets: Mapping[str, Named]
    makers: Mapping[str, Named]
    operations: Mapping[str, Operation]
    quantities: Mapping[str, Quantity]
    kinds: Mapping[str, KindText]
    tolerances: Mapping[str, Mapping[str, Decimal]]
    tried: Mapping[tuple[str, str], tuple[str, ...]]
    """Pairs of ends (sorted) that somebody put together, with the sources that say so."""
    derived: int = 0
    asserted: int = 0
    consumables: Mapping[str, Consumable] = field(default_factory=dict)
    advice: Mapping[str, Advice] = field(default_factory=dict)
    regional: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Labels said in one country only: IRI → label → "en-GB" or "en-US"."""
    observations: Mapping[str, Observation] = field(default_factory=dict)
    identification: tuple[IdentificationRule, ...] = ()
    lookups: Lookups = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """What follows from these tables is looked up in them and no others."""
        object.__setattr__(self, "lookups", Lookups(self))

    def standing(self, sources: tuple[str, ...]) -> Standing:
        """The strongest standing among sources (a claim stands as well as its best source)."""
        known = [self.sources[s].standing for s in sources if s in self.sources]
        return min(known, default=Standing.PRESUMED)

    def cars_of(self, iri: str) -> tuple[Car, ...]:
        """The one car, or the cars of a generation or line."""
        if iri in self.cars:
            return (self.cars[iri],)
        return tuple(self.cars[car] for car in self.lookups.cars_of.get(iri, ()))

    def parts_at(self, station: str) -> tuple[str, ...]:
        """Every part that can sit at a station."""
        found = self.lookups.places.get(station, ())
        return found if isinstance(found, tuple) else ()

    def cars_with(self, part: str) -> tuple[Car, ...]:
        """Every car that left the works with a part."""
        return tuple(self.cars[car] for car in self.lookups.cars_with.get(part, ()))

    def parts_with(self, end: str) -> tuple[Part, ...]:
        """Every part that has an end."""
        return tuple(self.parts[iri] for iri in self.lookups.parts_with.get(end, ()))

    def name(self, iri: str) -> str:
        """What to call a thing in a sentence; its IRI's last segment if it has no label."""
        tables: tuple[Mapping[str, _Labelled], ...] = (
            self.stations, self.joints, self.generations, self.lines, self.sets, self.sources,
            self.roles, self.makers, self.operations, self.parts, self.families, self.cars,
        )  # fmt: skip
        for table in tables:
            found = table.get(iri)
            if found is not None:
                return found.label
        return iri.rsplit("/", 1)[-1].rsplit("#", 1)[-1]
