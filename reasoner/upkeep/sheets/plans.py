"""The sheets of each job, made from the vocabulary.

A column is a property of the vocabulary; its header, its note, its unit, what it may hold and its
limits come from there. What is stated here is only which properties make up a sheet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from rdflib import RDF, RDFS, URIRef
from rdflib.namespace import PROV, SKOS

from ...terms import KO, SCHEMA
from .columns import Column, SheetPlan, Takes
from .vocabulary import ANYTHING, KindWords, Limits, Vocabulary, Word

EVERYTHING = "everything"
_JOBS: Mapping[str, tuple[str, ...]] = {
    "generation": ("sources", "lines", "generations", "cars", "stations"),
    "family": ("sources", "makers", "families", "parts", "*kinds", "values"),
    "values": ("sources", "values"),
    "stock": ("stock",),
    "identification": ("sources", "observations", "rules"),
    "prices": ("sources", "prices"),
    "hours": ("sources", "operations"),
}
JOBS = (*_JOBS, EVERYTHING)
"""What a template can be for."""


def plans_for(job: str, vocabulary: Vocabulary) -> tuple[SheetPlan, ...]:
    """The sheets of one job, in the order in which they are filled in."""
    plans = all_plans(vocabulary)
    if job == EVERYTHING:
        return tuple(p for p in plans.values() if p.name != "stock")
    names: list[str] = []
    for name in _JOBS[job]:
        names += [p.name for p in plans.values() if p.kind] if name == "*kinds" else [name]
    return tuple(plans[name] for name in names)


def all_plans(vocabulary: Vocabulary) -> dict[str, SheetPlan]:
    """Every sheet by its name, in the order in which they are read: what defines names first."""
    make = _Maker(vocabulary)
    plans = (
        make.sources(),
        make.makers(),
        make.lines(),
        make.families(),
        make.parts(),
        *(make.ends(kind) for kind in vocabulary.kinds.values()),
        make.generations(),
        make.cars(),
        make.stations(),
        make.values(),
        make.observations(),
        make.rules(),
        make.prices(),
        make.operations(),
        make.stock(),
    )
    return {plan.name: plan for plan in plans}


_SOURCE = Column(
    "source",
    "source",
    Takes.NAME,
    "Who says so: a source of the catalogue or of the sheet “sources”. "
    "Left blank, the source named for the whole file.",
    of=("source",),
)
_SHORT = Column(
    "short",
    "short name",
    Takes.TEXT,
    "Letters, figures and hyphens; used in addresses. Made from the name if left blank.",
)


def _with_note(column: Column, note: str) -> Column:
    return replace(column, note=note)


class _Maker:
    """Makes plans from a vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary

    # ------------------------------------------------------------ columns
    def _of(
        self,
        prop: URIRef,
        takes: Takes,
        note: str = "",
        *,
        of: tuple[str, ...] = (),
        label: str = "",
        required: bool = False,
        many: bool = False,
    ) -> Column:
        """A column of one property: label, unit and note are the vocabulary's."""
        word = self._vocabulary.word(prop)
        said = " ".join(filter(None, (word.note, note)))
        return Column(
            word.name,
            label or word.label,
            takes,
            said,
            of=of,
            unit=word.unit if takes is Takes.NUMBER else "",
            limits=self._limits(prop),
            required=required,
            many=many,
            prop=prop,
        )

    def _limits(self, prop: URIRef) -> Limits:
        """What the shape of whatever carries the property asks of it."""
        carrier = {KO.price: KO.Part, KO.weight: KO.Part, KO.readTo: KO.Observation}.get(prop)
        return self._vocabulary.limits(carrier, prop) if carrier is not None else ANYTHING

    def _new(self, cls: URIRef, key: str, note: str = "") -> Column:
        label = self._vocabulary.label(cls)
        about = self._vocabulary.graph.value(cls, RDFS.comment)
        said = " ".join(filter(None, (str(about or ""), note)))
        return Column(key, label, Takes.NEW, said, required=True, prop=SKOS.prefLabel)

    def _value(self, word: Word) -> Column:
        takes = Takes.TEXT
        if word.number:
            takes = Takes.WHOLE if word.number == "whole" else Takes.NUMBER
        elif word.limits.one_of:
            takes = Takes.CHOICE
        return Column(
            word.name,
            word.label,
            takes,
            word.note,
            unit=word.unit,
            limits=word.limits,
            choices=word.limits.one_of,
            prop=word.iri,
            synonyms=word.synonyms,
        )

    def _choices(self, cls: URIRef) -> tuple[str, ...]:
        return tuple(map(self._vocabulary.label, self._vocabulary.members(cls)))

    def _observation_kinds(self) -> tuple[str, ...]:
        graph = self._vocabulary.graph
        found = self._vocabulary.below(KO.Observation)
        leaves = [
            k for k in found if k != KO.Observation and not any(graph.subjects(RDFS.subClassOf, k))
        ]
        return tuple(sorted(map(self._vocabulary.label, leaves)))

    # ------------------------------------------------------------ sheets
    def sources(self) -> SheetPlan:
        standings = self._choices(KO.Standing)
        return SheetPlan(
            "sources",
            "One row for each new source: who says what the other sheets state.",
            (
                self._new(KO.Source, "source"),
                _SHORT,
                Column("standing", "standing", Takes.CHOICE, "How far its claims may be trusted.",
                       choices=standings, required=True, prop=KO.standing),
                Column("by", "by", Takes.TEXT, "The person, workshop or maker that it comes from.",
                       required=True, prop=PROV.wasAttributedTo),
                Column("date", "date", Takes.DAY, "The day it was measured, issued or heard.",
                       prop=PROV.generatedAtTime),
                Column("about", "about", Takes.TEXT, "What it is, in a sentence.",
                       prop=SKOS.definition),
            ),
            defines="source",
        )  # fmt: skip

    def makers(self) -> SheetPlan:
        column = Column("maker", "maker", Takes.NEW, "A maker that the catalogue does not know.",
                        required=True, prop=SKOS.prefLabel)  # fmt: skip
        return SheetPlan(
            "makers", "One row for each new maker.", (column, _SHORT, _SOURCE), defines="maker"
        )

    def lines(self) -> SheetPlan:
        return SheetPlan(
            "lines",
            "One row for each new line.",
            (self._new(KO.Line, "line"), _SHORT, _SOURCE),
            defines="line",
        )

    def generations(self) -> SheetPlan:
        return SheetPlan(
            "generations",
            "One row for each new generation.",
            (
                self._new(KO.Generation, "generation"),
                _SHORT,
                self._of(KO.ofLine, Takes.NAME, of=("line",), label="line", required=True),
                self._of(KO.fromYear, Takes.WHOLE),
                self._of(KO.toYear, Takes.WHOLE, "Blank while it is still built."),
                _SOURCE,
            ),
            defines="generation",
        )

    def cars(self) -> SheetPlan:
        return SheetPlan(
            "cars",
            "One row for each new stock build: only what differs from the car it is based on.",
            (
                self._new(KO.Car, "car"),
                _SHORT,
                self._of(KO.ofGeneration, Takes.NAME, of=("generation",), label="generation",
                         required=True),
                self._of(KO.basedOn, Takes.NAME, of=("car",)),
                self._of(KO.body, Takes.NAME, of=("body",)),
                self._of(KO.fromYear, Takes.WHOLE),
                self._of(KO.toYear, Takes.WHOLE, "Blank while it is still built."),
                self._of(KO.fromSerial, Takes.WHOLE),
                self._of(KO.toSerial, Takes.WHOLE),
                self._of(KO.market, Takes.TEXT),
                _SOURCE,
            ),
            defines="car",
        )  # fmt: skip

    def stations(self) -> SheetPlan:
        car = Column("car", "car", Takes.NAME, "A car of the sheet “cars” or of the catalogue.",
                     of=("car",), required=True)  # fmt: skip
        return SheetPlan(
            "stations",
            "One row for each station of a car that differs from the car it is based on.",
            (
                car,
                self._of(KO.atStation, Takes.NAME, of=("station",), label="station", required=True),
                self._of(KO.part, Takes.NAME, "Its number; or “empty” for a station that the car "
                         "leaves empty although the car it is based on fills it.",
                         of=("part",), required=True),
                _SOURCE,
            ),
        )  # fmt: skip

    def families(self) -> SheetPlan:
        return SheetPlan(
            "families",
            "One row for each new family. What all its parts have, the sheets of the ends say.",
            (
                self._new(KO.Family, "family"),
                _SHORT,
                self._of(KO.sitsAt, Takes.NAME, "Not needed where a wider family says it.",
                         of=("station",), many=True),
                Column("kindOf", "kind of", Takes.NAME, "Wider families whose ends it has too.",
                       of=("family",), many=True),
                self._of(KO.requires, Takes.NAME, of=("family",), many=True),
                self._of(KO.excludes, Takes.NAME, of=("family",), many=True),
                _SOURCE,
            ),
            defines="family",
        )  # fmt: skip

    def parts(self) -> SheetPlan:
        number = Column("number", "part number", Takes.NEW, "As the maker writes it.",
                        required=True, prop=SCHEMA.mpn)  # fmt: skip
        return SheetPlan(
            "parts",
            "One row for each new part.",
            (
                number,
                Column("label", "label", Takes.TEXT, "What people call it.", required=True,
                       prop=SKOS.prefLabel),
                self._of(KO.ofFamily, Takes.NAME, of=("family",), label="family", required=True),
                Column("maker", "maker", Takes.NAME, "Who makes it.", of=("maker",), required=True,
                       prop=SCHEMA.manufacturer),
                self._of(KO.price, Takes.NUMBER),
                self._of(KO.weight, Takes.NUMBER),
                self._of(KO.supersededBy, Takes.NAME, "The newer part.", of=("part",)),
                self._of(KO.interchangesWith, Takes.NAME, of=("part",), many=True),
                self._of(KO.inSet, Takes.NAME, of=("set",)),
                self._of(KO.lacksRole, Takes.NAME, of=("role",), many=True),
                self._of(KO.oneUse, Takes.FLAG, "Used once, then renewed."),
                _SOURCE,
            ),
            defines="part",
        )  # fmt: skip

    def ends(self, kind: KindWords) -> SheetPlan:
        owner = Column("owner", "family or part", Takes.NAME, "Who has the end: every part of a "
                       "family, or one part that differs from its family.",
                       of=("family", "part"), required=True)  # fmt: skip
        name = Column("end", "end", Takes.TEXT, "A short name, needed only where a family has two "
                      "ends of one role, or to give an end of the catalogue to another family "
                      "(then leave the values blank). One end in several rows has several records "
                      "or several owners.")  # fmt: skip
        roles = tuple(
            self._vocabulary.graph.value(role, SKOS.prefLabel)
            for role in self._vocabulary.graph.subjects(KO.kind, kind.iri)
            if (role, RDF.type, KO.Role) in self._vocabulary.graph
        )
        role = self._of(KO.role, Takes.NAME, of=("role",), required=True)
        columns = [owner, name, role]
        if kind.sides:
            sides = tuple(map(self._vocabulary.label, kind.sides))
            columns.append(Column("side", "side", Takes.CHOICE, self._side_notes(kind),
                                  choices=sides, prop=KO.side))  # fmt: skip
        columns.append(self._of(KO.form, Takes.NAME, of=("form",)))
        columns += map(self._value, kind.values)
        for record, fields in kind.records:
            for inner in fields:
                column = self._value(inner)
                notes = f"{column.note} One row for each {record.label}."
                columns.append(_with_note(column, notes))
        note = f"Ends of the kind {kind.label}. {kind.note}"
        note += f" Roles: {', '.join(sorted(str(r) for r in roles if r is not None))}."
        return SheetPlan(kind.label, note, (*columns, _SOURCE), kind=kind)

    def _side_notes(self, kind: KindWords) -> str:
        graph = self._vocabulary.graph
        return " ".join(
            f"{self._vocabulary.label(side)}: {graph.value(side, RDFS.comment)}"
            for side in kind.sides
        )

    def values(self) -> SheetPlan:
        return SheetPlan(
            "values",
            "One row for each value that somebody measured or states: of an end (its name, or part "
            "or family with role), or of a part or family itself (without end and role).",
            (
                Column("end", "end", Takes.NAME, "The end's short name.", of=("end",)),
                Column("owner", "family or part", Takes.NAME, "With a role: whose end it is.",
                       of=("part", "family")),
                self._of(KO.role, Takes.NAME, of=("role",)),
                Column("quantity", "quantity", Takes.TEXT, "What was measured; see the notes.",
                       required=True),
                Column("value", "value", Takes.ANY, "A number, a fraction such as 1 3/8 or a word; "
                       "the unit may stand behind it.", required=True),
                Column("unit", "unit", Takes.TEXT, "Such as mm, in, ft-lb; not needed if it stands "
                       "behind the value, or for a count."),
                _with_note(_SOURCE, "Who measured or says so: a source of the catalogue or of the "
                           "sheet “sources”. Two sources may differ; both are kept."),
            ),
        )  # fmt: skip

    def observations(self) -> SheetPlan:
        return SheetPlan(
            "observations",
            "One row for each new thing to look at, read off, count or measure.",
            (
                self._new(KO.Observation, "observation"),
                _SHORT,
                Column("sort", "sort", Takes.CHOICE, "What it is to make the observation.",
                       choices=self._observation_kinds(), required=True),
                Column("reach", "reach", Takes.CHOICE, self._vocabulary.word(KO.reach).note,
                       choices=self._choices(KO.Reach), required=True, prop=KO.reach),
                Column("measureBy", "how", Takes.TEXT, "How to make it, in a sentence.",
                       required=True, prop=KO.measureBy),
                self._of(KO.mayRead, Takes.TEXT, many=True),
                self._of(KO.numberPrefix, Takes.TEXT),
                self._of(KO.withRole, Takes.NAME, of=("role",)),
                self._of(KO.ofQuantity, Takes.TEXT, label="quantity"),
                _with_note(self._of(KO.readTo, Takes.NUMBER), "How far a reading may be off, "
                           "either way, in the unit of the quantity."),
                _SOURCE,
            ),
            defines="observation",
        )  # fmt: skip

    def rules(self) -> SheetPlan:
        return SheetPlan(
            "rules",
            "One row for each thing that an observation tells of a part, a family or a car.",
            (
                self._of(KO.tells, Takes.NAME, of=("part", "family", "car"), required=True),
                self._of(KO.byObservation, Takes.NAME, of=("observation",), label="observation",
                         required=True),
                self._of(KO.fromNumber, Takes.WHOLE),
                self._of(KO.toNumber, Takes.WHOLE),
                self._of(KO.fromDate, Takes.MONTH),
                self._of(KO.toDate, Takes.MONTH),
                self._of(KO.reads, Takes.ANY, many=True),
                _with_note(self._of(KO.least, Takes.NUMBER), "The least value, in the unit of the "
                           "quantity observed."),
                _with_note(self._of(KO.most, Takes.NUMBER), "The most, in the same unit."),
                _SOURCE,
            ),
        )  # fmt: skip

    def prices(self) -> SheetPlan:
        return SheetPlan(
            "prices",
            "One row for each part whose price is stated anew; the price before is taken back.",
            (
                Column("part", "part", Takes.NAME, "Its number.", of=("part",), required=True),
                self._of(KO.price, Takes.NUMBER, required=True),
                _SOURCE,
            ),
        )

    def operations(self) -> SheetPlan:
        return SheetPlan(
            "operations",
            "One row for each operation: new, or one whose hours or stations are stated anew.",
            (
                self._new(KO.Operation, "operation", "A new name, or one of the catalogue."),
                _SHORT,
                Column("hours", "hours", Takes.NUMBER, "Working time, without what must be done "
                       "before.", unit="h", required=True, prop=KO.hours,
                       limits=self._vocabulary.limits(KO.Operation, KO.hours)),
                self._of(KO.opens, Takes.NAME, "All of them; blank leaves a known operation's as "
                         "they are.", of=("station",), many=True),
                self._of(KO.after, Takes.NAME, of=("operation",), many=True),
                _SOURCE,
            ),
            defines="operation",
        )  # fmt: skip

    def stock(self) -> SheetPlan:
        return SheetPlan(
            "stock",
            "One row for each part on the shelf. Stock is kept apart from the catalogue; "
            "this list replaces the one before.",
            (
                Column("part", "part", Takes.NAME, "Its number.", of=("part",), required=True),
                Column("count", "count", Takes.WHOLE, "How many there are.", required=True,
                       limits=Limits(least=Decimal(0))),
                Column("condition", "condition", Takes.TEXT, "Such as new or used; used if blank."),
                _with_note(self._of(KO.price, Takes.NUMBER), "The shop's own price; the "
                           "catalogue's if blank."),
            ),
        )  # fmt: skip
