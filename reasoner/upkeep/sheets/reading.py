"""Read files into a change set: all of it, or nothing and every fault.

Workbooks and CSV files are sheets; a sheet is known by its name, a CSV file by the end of its own
name (`values.csv`, `w5-values.csv`). Rows are streamed twice: first the names that they bring, then
all they state.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rdflib import URIRef
from rdflib.term import Node

from ...reading import Facts
from ...supply import StockItem
from ...terms import KO
from ..changes import ChangeRefused, ChangeSet, draft
from ..quads import NotAStatement, quads_of, version_of
from .columns import SheetPlan
from .csv_in import CsvSheet
from .defining import SPACE, Defined, slug
from .desk import Desk
from .faults import FaultList, FileRefused
from .from_ends import EndsOfKind
from .from_parts import families_sit_somewhere, family_row, part_row
from .from_registers import (
    car_row,
    describe_source,
    generation_row,
    line_row,
    maker_row,
    source_row,
    station_row,
)
from .from_values import value_row
from .from_workshop import observation_row, operation_row, price_row, rule_row, stock_row
from .guard import check_size
from .names import key_of, names_of, nearest
from .plans import all_plans
from .rdf_in import RDF_SUFFIXES, read_rdf
from .rows import Record, records
from .statements import Statements
from .tables import Sheet
from .vocabulary import vocabulary_of
from .xlsx_in import open_workbook

HELP_SHEETS = ("notes", "lists")
"""Sheets of a template that say nothing of their own."""

Progress = Callable[[str, int], None]
"""Told now and then the sheet and how many of its rows are read."""

_EVERY = 1_000

_ROWS: dict[str, Callable[[Record, Desk], None]] = {
    "sources": source_row,
    "makers": maker_row,
    "lines": line_row,
    "families": family_row,
    "parts": part_row,
    "generations": generation_row,
    "cars": car_row,
    "stations": station_row,
    "values": value_row,
    "observations": observation_row,
    "rules": rule_row,
    "prices": price_row,
    "operations": operation_row,
    "stock": stock_row,
}


@dataclass(frozen=True, slots=True)
class NewSource:
    """Who says so, when it is no source of the catalogue yet: its standing and who it is by."""

    standing: str
    by: str
    day: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """What some files say, held against the catalogue they were read for.

    `added` and `removed` are statements as loose quads; `stock` is the shop's own and no part of
    a change set. `unchanged` counts statements that their source makes already.
    """

    source: str
    added: tuple[tuple[Node, Node, Node, Node], ...]
    removed: tuple[tuple[Node, Node, Node, Node], ...]
    stock: tuple[StockItem, ...]
    rows: int
    unchanged: int

    def change(self, facts: Facts, who: str, why: str, when: datetime) -> ChangeSet:
        """A change set on the catalogue of `facts`, still a draft.

        Raises:
            ChangeRefused: `who` or `why` is empty, or nothing is changed.
        """
        if not self.added and not self.removed:
            raise ChangeRefused("the files change nothing: all they say is stated already")
        try:
            base = version_of(quads_of(facts))
            return draft(who, when, why, self.source, self.added, self.removed, base)
        except NotAStatement as error:
            raise ChangeRefused(str(error)) from None


def read_files(
    paths: Sequence[Path],
    facts: Facts,
    source: str = "",
    new_source: NewSource | None = None,
    progress: Progress | None = None,
) -> Reading:
    """Read workbooks, CSV files, Turtle, TriG and JSON-LD against a catalogue.

    `source` names who says what names no source of its own: a source of the catalogue or of a
    sheet, or with `new_source` one that is described now.

    Raises:
        SheetRefused: something is wrong; names every fault, and nothing is taken in.
        FileRefused: a file cannot be read at all.
    """
    faults = FaultList()
    told = progress or (lambda _sheet, _rows: None)
    with ExitStack() as open_files:
        graphs = [path for path in paths if path.suffix.lower() in RDF_SUFFIXES]
        texts = [path for path in paths if path.suffix.lower() in (".csv", ".tsv", ".txt")]
        sheets: list[Sheet] = []
        for path in paths:
            check_size(path)
            if path not in graphs and path not in texts:
                sheets.extend(open_files.enter_context(open_workbook(path)))
        vocabulary = vocabulary_of(facts)
        plans = all_plans(vocabulary)
        sheets.extend(CsvSheet(path, _sheet_of(path, plans)) for path in texts)
        names = names_of(facts, vocabulary)
        statements = Statements(facts)
        defined = Defined(names, statements, faults)
        desk = Desk(vocabulary, names, statements, faults, defined)
        planned = _planned(sheets, plans, faults)
        for plan, sheet in planned:
            if plan.defines:
                for record in records(plan, sheet.name, sheet.rows(), names, FaultList()):
                    defined.note(record, plan.defines)
        desk.source = _default_source(desk, source, new_source)
        rows = sum(_read_sheet(plan, sheet, desk, told) for plan, sheet in planned)
    for path in graphs:
        rows += read_rdf(path, statements, desk.source, faults)
    if rows == 0 and not faults.kept:
        raise FileRefused(", ".join(p.name for p in paths), "nothing stands in it")
    if desk.stock and (statements.added or statements.removed):
        faults.add("stock", 0, "", "stock is the shop's own; read it by itself")
    faults.refuse_if_any()
    return Reading(
        source=str(desk.source or _main_source(statements)),
        added=tuple(statements.added),
        removed=tuple(statements.removed),
        stock=tuple(desk.stock),
        rows=rows,
        unchanged=statements.unchanged,
    )


def _plan_name(name: str, plans: dict[str, SheetPlan]) -> str:
    """The plan that a sheet or a CSV file stands for by the end of its name; "" if none."""
    key = key_of(name.replace("_", "-"))
    for plan in sorted(plans, key=len, reverse=True):
        tail = plan.replace(" ", "-")
        if key in (tail, plan) or key.endswith((f"-{tail}", f"-{plan}")):
            return plan
    return ""


def _sheet_of(path: Path, plans: dict[str, SheetPlan]) -> str:
    name = _plan_name(path.stem, plans)
    if not name:
        listed = ", ".join(f"{name.replace(' ', '-')}.csv" for name in plans)
        raise FileRefused(path.name, f"which sheet is it? Let its name end in one of {listed}")
    return name


def _planned(
    sheets: Sequence[Sheet], plans: dict[str, SheetPlan], faults: FaultList
) -> list[tuple[SheetPlan, Sheet]]:
    """Sheets with their plans, in the order of the plans: what brings names first."""
    order = {name: at for at, name in enumerate(plans)}
    found: list[tuple[SheetPlan, Sheet]] = []
    for sheet in sheets:
        name = _plan_name(sheet.name, plans)
        if name:
            found.append((plans[name], sheet))
        elif key_of(sheet.name) not in HELP_SHEETS:
            near = nearest(sheet.name, plans)
            allowed = ", ".join(plans)
            faults.add(sheet.name, 0, "", f"no such sheet{near}; there are {allowed}")
    return sorted(found, key=lambda pair: order[pair[0].name])


def _default_source(desk: Desk, source: str, new_source: NewSource | None) -> URIRef | None:
    if not source:
        return None
    try:
        return desk.names.find(source, ("source",))
    except ValueError as error:
        if new_source is None:
            more = "; say its standing and who it is by to describe it now"
            desk.faults.add("", 0, "", f"{error}{more}")
            return None
    standings = {desk.vocabulary.label(s) for s in desk.vocabulary.members(KO.Standing)}
    if key_of(new_source.standing) not in standings:
        desk.faults.add(
            "", 0, "", f"standing “{new_source.standing}” is none of {', '.join(sorted(standings))}"
        )
        return None
    iri = URIRef(f"{SPACE}source/{slug(source)}")
    standing = key_of(new_source.standing)
    describe_source(desk, iri, source, standing, new_source.by, new_source.day)
    desk.names.table("source").add(iri, source, (source,))
    return iri


def _read_sheet(plan: SheetPlan, sheet: Sheet, desk: Desk, told: Progress) -> int:
    ends = EndsOfKind(plan.kind, desk) if plan.kind is not None else None
    families: list[tuple[Record, URIRef]] = []
    count = 0
    for record in _told(plan, sheet, desk, told):
        count += 1
        if ends is not None:
            ends.row(record)
            continue
        _ROWS[plan.name](record, desk)
        if plan.name == "families":
            iri = desk.defined.by_row.get((record.sheet, record.number))
            families += [(record, iri)] if iri is not None else []
    families_sit_somewhere(families, desk)
    if ends is not None:
        ends.state()
    return count


def _told(plan: SheetPlan, sheet: Sheet, desk: Desk, told: Progress) -> Iterator[Record]:
    count = 0
    for record in records(plan, sheet.name, sheet.rows(), desk.names, desk.faults):
        yield record
        count += 1
        if count % _EVERY == 0:
            told(plan.name, count)
    told(plan.name, count)


def _main_source(statements: Statements) -> URIRef:
    """The source that says most of it."""
    counts: dict[Node, int] = {}
    for *_, source in (*statements.added, *statements.removed):
        counts[source] = counts.get(source, 0) + 1
    return URIRef(str(max(sorted(counts, key=str), key=lambda s: counts[s], default="")))
