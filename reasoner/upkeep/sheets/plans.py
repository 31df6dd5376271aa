"""The sheets of each job, made from the vocabulary.

A column is a property of the vocabulary; its header, its note, its unit, what it may hold and its
limits come from there. What is stated here is only which properties make up a sheet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from rdflib import RDF, RDFS
from rdflib.namespace import PROV, SKOS

from ...terms import KO, SCHEMA
from .column_maker import SHORT, SOURCE, ColumnMaker, with_note
from .columns import Column, SheetPlan, Takes
from .vocabulary import KindWords, Limits, Vocabulary, Word

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


class _Maker(ColumnMaker):
    """Makes sheets from a vocabulary."""

    def sources(self) -> SheetPlan:
        standings = self.choices(KO.Standing)
        return SheetPlan(
            "sources",
            "One row for each new source: who says what the other sheets state.",
            (
                self.new(KO.Source, "source"),
                SHORT,
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
            "makers", "One row for each new maker.", (column, SHORT, SOURCE), defines="maker"
        )

    def lines(self) -> SheetPlan:
        return SheetPlan(
            "lines",
            "One row for each new line.",
            (self.new(KO.Line, "line"), SHORT, SOURCE),
            defines="line",
        )

    def generations(self) -> SheetPlan:
        return SheetPlan(
            "generations",
            "One row for each new generation.",
            (
                self.new(KO.Generation, "generation"),
                SHORT,
                self.of(KO.ofLine, Takes.NAME, of=("line",), label="line", required=True),
                self.of(KO.fromYear, Takes.WHOLE),
                self.of(KO.toYear, Takes.WHOLE, "Blank while it is still built."),
                SOURCE,
            ),
            defines="generation",
        )

    def cars(self) -> SheetPlan:
        return SheetPlan(
            "cars",
            "One row for each new stock build: only what differs from the car it is based on.",
            (
                self.new(KO.Car, "car"),
                SHORT,
                self.of(KO.ofGeneration, Takes.NAME, of=("generation",), label="generation",
                         required=True),
                self.of(KO.basedOn, Takes.NAME, of=("car",)),
                self.of(KO.body, Takes.NAME, of=("body",)),
                self.of(KO.fromYear, Takes.WHOLE),
                self.of(KO.toYear, Takes.WHOLE, "Blank while it is still built."),
                self.of(KO.fromSerial, Takes.WHOLE),
                self.of(KO.toSerial, Takes.WHOLE),
                self.of(KO.market, Takes.TEXT),
                SOURCE,
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
                self.of(KO.atStation, Takes.NAME, of=("station",), label="station", required=True),
                self.of(KO.part, Takes.NAME, "Its number; or “empty” for a station that the car "
                         "leaves empty although the car it is based on fills it.",
                         of=("part",), required=True),
                SOURCE,
            ),
        )  # fmt: skip

    def families(self) -> SheetPlan:
        return SheetPlan(
            "families",
            "One row for each new family. What all its parts have, the sheets of the ends say.",
            (
                self.new(KO.Family, "family"),
                SHORT,
                self.of(KO.sitsAt, Takes.NAME, "Not needed where a wider family says it.",
                         of=("station",), many=True),
                Column("kindOf", "kind of", Takes.NAME, "Wider families whose ends it has too.",
                       of=("family",), many=True),
                self.of(KO.requires, Takes.NAME, of=("family",), many=True),
                self.of(KO.excludes, Takes.NAME, of=("family",), many=True),
                SOURCE,
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
                self.of(KO.ofFamily, Takes.NAME, of=("family",), label="family", required=True),
                Column("maker", "maker", Takes.NAME, "Who makes it.", of=("maker",), required=True,
                       prop=SCHEMA.manufacturer),
                self.of(KO.price, Takes.NUMBER),
                self.of(KO.weight, Takes.NUMBER),
                self.of(KO.supersededBy, Takes.NAME, "The newer part.", of=("part",)),
                self.of(KO.interchangesWith, Takes.NAME, of=("part",), many=True),
                self.of(KO.inSet, Takes.NAME, of=("set",)),
                self.of(KO.lacksRole, Takes.NAME, of=("role",), many=True),
                self.of(KO.oneUse, Takes.FLAG, "Used once, then renewed."),
                SOURCE,
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
            self.vocabulary.graph.value(role, SKOS.prefLabel)
            for role in self.vocabulary.graph.subjects(KO.kind, kind.iri)
            if (role, RDF.type, KO.Role) in self.vocabulary.graph
        )
        said = tuple(sorted(str(r) for r in roles if r is not None))
        role = replace(self.of(KO.role, Takes.NAME, of=("role",), required=True), choices=said)
        columns = [owner, name, role]
        if kind.sides:
            sides = tuple(map(self.vocabulary.label, kind.sides))
            columns.append(Column("side", "side", Takes.CHOICE, self._side_notes(kind),
                                  choices=sides, prop=KO.side))  # fmt: skip
        columns.append(self.of(KO.form, Takes.NAME, of=("form",)))
        columns += map(self.value, kind.values)
        for record, fields in kind.records:
            for inner in fields:
                column = self.value(inner)
                notes = f"{column.note} One row for each {record.label}."
                columns.append(with_note(column, notes))
        note = f"Ends of the kind {kind.label}. {kind.note}"
        return SheetPlan(kind.label, note, (*columns, SOURCE), kind=kind)

    def _side_notes(self, kind: KindWords) -> str:
        graph = self.vocabulary.graph
        return " ".join(
            f"{self.vocabulary.label(side)}: {graph.value(side, RDFS.comment)}"
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
                self.of(KO.role, Takes.NAME, of=("role",)),
                Column("quantity", "quantity", Takes.TEXT, "What was measured; see below.",
                       required=True, choices=tuple(w.label for w in self._quantities())),
                Column("value", "value", Takes.ANY, "A number, a fraction such as 1 3/8 or a word; "
                       "the unit may stand behind it.", required=True),
                Column("unit", "unit", Takes.TEXT, "Such as mm, in, ft-lb; not needed if it stands "
                       "behind the value, or for a count."),
                with_note(SOURCE, "Who measured or says so: a source of the catalogue or of the "
                           "sheet “sources”. Two sources may differ; both are kept."),
            ),
            quantities=self._quantities(),
        )  # fmt: skip

    def _quantities(self) -> tuple[Word, ...]:
        """Every quantity of ends, parts and families, by label."""
        words = {**self.vocabulary.quantities, **self.vocabulary.attributes}
        return tuple(sorted(words.values(), key=lambda w: (w.label, w.name)))

    def observations(self) -> SheetPlan:
        return SheetPlan(
            "observations",
            "One row for each new thing to look at, read off, count or measure.",
            (
                self.new(KO.Observation, "observation"),
                SHORT,
                Column("sort", "sort", Takes.CHOICE, "What it is to make the observation.",
                       choices=self.observation_kinds(), required=True),
                Column("reach", "reach", Takes.CHOICE, self.vocabulary.word(KO.reach).note,
                       choices=self.choices(KO.Reach), required=True, prop=KO.reach),
                Column("measureBy", "how", Takes.TEXT, "How to make it, in a sentence.",
                       required=True, prop=KO.measureBy),
                self.of(KO.mayRead, Takes.TEXT, many=True),
                self.of(KO.numberPrefix, Takes.TEXT),
                self.of(KO.withRole, Takes.NAME, of=("role",)),
                self.of(KO.ofQuantity, Takes.TEXT, label="quantity"),
                with_note(self.of(KO.readTo, Takes.NUMBER), "How far a reading may be off, "
                           "either way, in the unit of the quantity."),
                SOURCE,
            ),
            defines="observation",
        )  # fmt: skip

    def rules(self) -> SheetPlan:
        return SheetPlan(
            "rules",
            "One row for each thing that an observation tells of a part, a family or a car.",
            (
                self.of(KO.tells, Takes.NAME, of=("part", "family", "car"), required=True),
                self.of(KO.byObservation, Takes.NAME, of=("observation",), label="observation",
                         required=True),
                self.of(KO.fromNumber, Takes.WHOLE),
                self.of(KO.toNumber, Takes.WHOLE),
                self.of(KO.fromDate, Takes.MONTH),
                self.of(KO.toDate, Takes.MONTH),
                self.of(KO.reads, Takes.ANY, many=True),
                with_note(self.of(KO.least, Takes.NUMBER), "The least value, in the unit of the "
                           "quantity observed."),
                with_note(self.of(KO.most, Takes.NUMBER), "The most, in the same unit."),
                SOURCE,
            ),
        )  # fmt: skip

    def prices(self) -> SheetPlan:
        return SheetPlan(
            "prices",
            "One row for each part whose price is stated anew; the price before is taken back.",
            (
                Column("part", "part", Takes.NAME, "Its number.", of=("part",), required=True),
                self.of(KO.price, Takes.NUMBER, required=True),
                SOURCE,
            ),
        )

    def operations(self) -> SheetPlan:
        return SheetPlan(
            "operations",
            "One row for each operation: new, or one whose hours or stations are stated anew.",
            (
                self.new(KO.Operation, "operation", "A new name, or one of the catalogue."),
                SHORT,
                Column("hours", "hours", Takes.NUMBER, "Working time, without what must be done "
                       "before.", unit="h", required=True, prop=KO.hours,
                       limits=self.vocabulary.limits(KO.Operation, KO.hours)),
                self.of(KO.opens, Takes.NAME, "All of them; blank leaves a known operation's as "
                         "they are.", of=("station",), many=True),
                self.of(KO.after, Takes.NAME, of=("operation",), many=True),
                SOURCE,
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
                with_note(self.of(KO.price, Takes.NUMBER), "The shop's own price; the "
                           "catalogue's if blank."),
            ),
        )  # fmt: skip
