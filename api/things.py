"""What the catalogue holds, as lists and details of the service show it."""

from __future__ import annotations

from pydantic import Field

from ..query.answer import Citation, Number, PartRef, Shown, Thing, Value


class Linked(Thing):
    """A thing with the name it has in addresses, and its own address."""

    id: str
    href: str


class StationItem(Linked):
    """One place on a car."""

    area: str
    quantity: int = Field(description="how many of its part a car has")
    may_stand_empty: bool


class JointNote(Thing):
    """A joint at a station."""

    kind: str
    with_stations: tuple[Thing, ...]


class StationDetail(StationItem):
    """A station with its other names, its joints and its parts."""

    synonyms: tuple[str, ...]
    joints: tuple[JointNote, ...]
    parts: int = Field(description="how many parts of the catalogue sit there")
    parts_href: str


class CarItem(Linked):
    """One stock build."""

    generation: Thing | None
    line: Thing | None
    body: str
    market: str
    first_year: int | None
    last_year: int | None
    first_serial: int | None
    last_serial: int | None


class FitNote(Value):
    """What a car left the works with at one station, and who says so."""

    station: Thing
    quantity: int
    part: PartRef
    cited: tuple[Citation, ...]


class CarDetail(CarItem):
    """A car with its other names and the part at every station."""

    synonyms: tuple[str, ...]
    fits: tuple[FitNote, ...]


class PartItem(PartRef):
    """A part with the name it has in addresses, and where it sits."""

    id: str
    href: str
    family: Thing | None
    stations: tuple[Thing, ...]


class StatedValue(Value):
    """One value of an end, with everybody who states it. Several for one quantity: a dispute."""

    quantity: str
    label: str
    value: Shown | tuple[dict[str, Shown], ...]
    unit: str
    cited: tuple[Citation, ...]


class OpenNote(Value):
    """A quantity that is made to suit: within a range, or one of a list."""

    quantity: str
    label: str
    least: Number | None
    most: Number | None
    one_of: tuple[Shown, ...]


class EndNote(Value):
    """One end of a part: what it is there to meet, and its values."""

    label: str
    role: Thing
    kind: str
    side: str
    stated_by: Thing | None = Field(description="the family it comes from, or the part itself")
    values: tuple[StatedValue, ...]
    made_to_suit: tuple[OpenNote, ...]


class PartDetail(PartItem):
    """Everything the catalogue knows of a part."""

    synonyms: tuple[str, ...]
    weight_kg: Number | None
    one_use: bool
    ends: tuple[EndNote, ...]
    requires: tuple[Thing, ...]
    excludes: tuple[Thing, ...]
    sets: tuple[Thing, ...]
    superseded_by: tuple[PartRef, ...]
    interchanges_with: tuple[PartRef, ...]
    rework_of: PartRef | None
    rework_act: str
    cannot_be_undone: bool
    cited: tuple[Citation, ...]


class FamilyItem(Linked):
    """Parts of one design."""

    stations: tuple[Thing, ...]
    parts: int


class FamilyDetail(FamilyItem):
    """A family with its parts and what all of them need."""

    synonyms: tuple[str, ...]
    members: tuple[PartRef, ...]
    requires: tuple[Thing, ...]


class InterfaceItem(Value):
    """One way for parts to meet, and what decides whether they do."""

    id: str
    label: str
    href: str
    rule: str


class QuantityNote(Value):
    """A value that ends of a kind have: its unit, and how to measure it."""

    name: str
    label: str
    unit: str
    measure_by: str
    tolerance: Number | None = Field(description="what the catalogue allows, where it says")


class InterfaceDetail(InterfaceItem):
    """An interface kind with its quantities and its tolerances by name."""

    quantities: tuple[QuantityNote, ...]
    tolerances: dict[str, Number]
    remedies: tuple[str, ...] = Field(description="what else than another part settles a clash")


class SourceItem(Linked):
    """Who says something, and how far it may be trusted."""

    standing: str
    by: str
    date: str


class SourceDetail(SourceItem):
    """A source with how much rests on it."""

    parts: int
    values: int = Field(description="values of ends that it states")
    sole_values: int = Field(description="of those, the ones that nobody else states")
    fits: int = Field(description="parts on stock cars that it states")
