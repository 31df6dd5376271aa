"""What every answer stands on, and what several of them need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from ...reasoner.build import Build
from ...reasoner.catalogue import Catalogue, Part
from ...reasoner.interfaces.kind import Record
from ...reasoner.interfaces.kind import Value as Quantified
from ...reasoner.mating import Mating
from ...reasoner.witness import Witness
from .. import syntax as s
from ..answer import Shown, Thing
from ..compose import Composer
from ..errors import AmbiguousName, Candidate, Problem, QueryError
from ..format import format_sentence
from ..hanging import Hanging, hanging
from ..names import Entry, resolve_one
from ..phrases import Name, Span, What
from ..report import Column, Report, ReportKind, Row, Section, Table
from ..wishes import Resolver
from ..words import plain, unit_word


class NoAnswer(QueryError):
    """The sentence is understood, but asks of things what things of that sort do not have."""

    code = "no-answer"


@dataclass(frozen=True)
class Ground:
    """The catalogue, what parts do at joints, what names mean, and how things are put."""

    mating: Mating
    resolver: Resolver
    composer: Composer
    questions: tuple[str, ...] = ()
    """Those that the shop has saved."""

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue."""
        return self.mating.catalogue

    @cached_property
    def hanging(self) -> Hanging:
        """Which stock builds and saved questions turn on what nobody has proven."""
        return hanging(self.mating, self.resolver, self.questions)

    @property
    def witness(self) -> Witness:
        """What the catalogue says about telling things apart."""
        return Witness.of(self.mating)

    def report(
        self,
        sentence: s.Sentence,
        summary: str,
        sections: Iterable[Section | None] = (),
        *,
        about: Iterable[str] = (),
        holds: bool | None = None,
        cautions: tuple[str, ...] = (),
    ) -> Report:
        """A report on a sentence; sections that are None or hold nothing are left out."""
        kind: ReportKind = sentence.kind  # type: ignore[assignment]
        return Report(
            kind=kind,
            question=format_sentence(sentence),
            catalogue=self.catalogue.version,
            about=tuple(map(self.composer.thing, dict.fromkeys(about))),
            holds=holds,
            summary=summary,
            sections=tuple(each for each in sections if each is not None and _says(each)),
            cautions=cautions,
        )

    def entry(self, name: Name, wanted: Sequence[What] = ()) -> Entry:
        """The one thing that a name means, of the wanted sorts (by default, of the name's).

        Raises:
            UnknownName, AmbiguousName: with the name's place.
        """
        try:
            return resolve_one(name, self.resolver.index, wanted=wanted)
        except AmbiguousName as error:
            chosen = self._plainest(name, error.problem.candidates)
            if chosen is None:
                raise
            return chosen

    def _plainest(self, name: Name, candidates: Sequence[Candidate]) -> Entry | None:
        """Of several senses the one that is called just so, or the only car of a generation."""
        just_so = [c for c in candidates if c.label.casefold() == name.text.casefold()]
        cars = self.catalogue.cars
        one_car = [
            c
            for c in just_so
            if c.what == "car"
            and {each.iri for each in just_so} == {c.iri, cars[c.iri].generation}
            and sum(car.generation == cars[c.iri].generation for car in cars.values()) == 1
        ]
        chosen = one_car or just_so
        return self.resolver.index.entry(chosen[0].iri) if len(chosen) == 1 else None

    def member(self, name: Name, entry: Entry) -> Part:
        """The part of an entry; of a family the first that is still made.

        Raises:
            NoAnswer: the entry is neither.
        """
        if entry.what == "part":
            return self.catalogue.parts[entry.iri]
        if entry.what == "family":
            members = [self.catalogue.parts[p] for p in self.catalogue.families[entry.iri].parts]
            current = [p for p in members if not p.superseded_by and not p.rework_of] or members
            if current:
                return current[0]
        raise no_answer(name, f"{entry.label} is a {entry.what}; a part is wanted here")

    def scope(self, name: Name) -> str:
        """The car or generation that a name means (a saved build: the car it started from)."""
        saved = self.resolver.builds.get(name.text.casefold())
        return saved.car if saved is not None else self.entry(name).iri

    def quantity_label(self, quantity: str) -> str:
        """What a quantity is called."""
        known = self.catalogue.quantities.get(quantity)
        return known.label if known else quantity

    def with_unit(self, quantity: str, value: Quantified) -> str:
        """A value with its quantity's unit, as people write it."""
        known = self.catalogue.quantities.get(quantity)
        unit = unit_word(known.unit) if known and not isinstance(value, (str, bool)) else ""
        text = "; ".join(map(record_text, value)) if isinstance(value, tuple) else plain(value)
        return f"{text}{'' if unit == '°' else ' '}{unit}".rstrip()

    def measure(self, quantity: str) -> str:
        """How to measure a quantity."""
        known = self.catalogue.quantities.get(quantity)
        return known.measure_by if known and known.measure_by else "measure it on the part in hand"

    def sources(self, sources: Iterable[str]) -> str:
        """Who says so, with standings."""
        cited = (self.composer.citation(source) for source in sources)
        return "; ".join(dict.fromkeys(f"{c.source}, {c.standing}" for c in cited))

    def said(self, part: Part) -> str:
        """A part as a sentence names it."""
        return f"{part.label} ({part.number})"

    def areas(self, stations: Iterable[str]) -> set[str]:
        """The areas of the car that stations lie in."""
        return {self.catalogue.stations[s].area for s in stations}

    def stations_of(self, part: Part, build: Build) -> tuple[str, ...]:
        """Where a part can sit on a build."""
        return tuple(station for station in part.stations if station in build.fits)


def no_answer(name: Name, message: str, hint: str = "") -> NoAnswer:
    """The error that what a name means has no such answer."""
    return NoAnswer(Problem(message, name.span if name else Span(0, 0), hint=hint))


def table(columns: Sequence[str], rows: Iterable[Row]) -> Table | None:
    """A table under plain headings; None without rows."""
    found = tuple(rows)
    return Table(columns=tuple(Column(label=c) for c in columns), rows=found) if found else None


def row(*cells: Shown, about: Thing | None = None, marked: bool = False) -> Row:
    """One row of a table."""
    return Row(about=about, cells=cells, marked=marked)


def record_text(record: Record) -> str:
    """One record of a profile or a plug.

    >>> record_text({"from": 6, "to": 44})
    'from 6, to 44'
    """
    return ", ".join(f"{name} {plain(value)}" for name, value in record.items())


def listed(words: Iterable[str], last: str = "and") -> str:
    """A list in words.

    >>> listed(["hub", "plate", "rotor"])
    'hub, plate and rotor'
    """
    found = list(words)
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {last} {found[-1]}"


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> counted(1, "joint"), counted(3, "joint")
    ('1 joint', '3 joints')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def _says(section: Section) -> bool:
    return bool(section.lines or section.table or section.steps or section.meetings)
