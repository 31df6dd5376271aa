"""Write templates: workbooks with lists to choose from and notes, or one CSV file a sheet.

The same job and catalogue give the same file, byte for byte.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

from openpyxl import Workbook
from openpyxl.cell.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation

from .columns import Column, SheetPlan, Takes
from .names import Names
from .tables import column_letters

Filled: TypeAlias = Mapping[str, Sequence[Mapping[str, object]]]
"""Rows for the sheets: by the name of the sheet, then by the key of the column."""

MOST_IN_A_LIST = 5_000
"""Longer lists are not offered in a cell: nobody chooses from them, and the file would grow."""

_VALIDATED_ROWS = 2_000
_STEADY = datetime(2000, 1, 1)
_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")


def workbook_bytes(plans: Sequence[SheetPlan], names: Names, filled: Filled | None = None) -> bytes:
    """A workbook: notes first, then a sheet for each plan, then the lists (hidden)."""
    book = Workbook(write_only=True)
    book.properties.creator = "knockon"
    book.properties.created = _STEADY
    _notes(book, plans)
    lists = _lists(plans, names)
    for plan in plans:
        _sheet(book, plan, lists, names, (filled or {}).get(plan.name, ()))
    _write_lists(book, lists)
    out = io.BytesIO()
    book.save(out)
    return _steady(out.getvalue())


def csv_text(plan: SheetPlan, rows: Sequence[Mapping[str, object]] = ()) -> str:
    """One sheet as CSV: the header, and rows if there are any."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([column.header for column in plan.columns])
    for row in rows:
        writer.writerow([_as_text(row.get(column.key)) for column in plan.columns])
    return out.getvalue()


def csv_name(plan: SheetPlan) -> str:
    """The name of a sheet's CSV file, by which it is known again."""
    return f"{plan.name.replace(' ', '-')}.csv"


def write_csv_folder(
    folder: Path, plans: Sequence[SheetPlan], filled: Filled | None = None
) -> None:
    """One CSV file for each sheet."""
    folder.mkdir(parents=True, exist_ok=True)
    for plan in plans:
        text = csv_text(plan, (filled or {}).get(plan.name, ()))
        (folder / csv_name(plan)).write_text(text, "utf-8", newline="")


def _as_text(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _notes(book: Workbook, plans: Sequence[SheetPlan]) -> None:
    sheet = book.create_sheet("notes")
    for letter, width in zip("ABCDE", (18, 34, 26, 26, 100), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"
    bold = Font(bold=True)
    titles = ("sheet", "column", "holds", "unit or choices", "what it means, how to measure it")
    sheet.append([_cell(sheet, title, bold) for title in titles])
    wrapped = Alignment(wrap_text=True, vertical="top")
    for plan in plans:
        sheet.append([_cell(sheet, t, bold if t == plan.name else None, wrapped) for t in
                      (plan.name, "", "", "", plan.note)])  # fmt: skip
        for column in plan.columns:
            texts = ("", column.header, _holds(column), _choices(column), _meaning(column))
            sheet.append([_cell(sheet, text, None, wrapped) for text in texts])
        for word in plan.quantities:
            texts = ("", f"quantity: {word.label}", word.number or "text", word.unit, word.note)
            sheet.append([_cell(sheet, text, None, wrapped) for text in texts])


def _holds(column: Column) -> str:
    several = ", several parted by ;" if column.many else ""
    return f"{column.takes.value}{several}{' (needed)' if column.required else ''}"


def _choices(column: Column) -> str:
    if column.takes is Takes.CHOICE:
        return ", ".join(column.choices)
    return column.unit or " or ".join(column.of)


def _meaning(column: Column) -> str:
    unit = f" Another unit may stand in the header or the cell; kept in {column.unit}."
    return f"{column.note}{unit if column.unit else ''} {column.limits.said}".strip()


def _lists(plans: Sequence[SheetPlan], names: Names) -> dict[tuple[str, ...], str]:
    """What cells may be chosen from, each list once, with a title for it."""
    found: dict[tuple[str, ...], str] = {}
    for plan in plans:
        for column in plan.columns:
            offered = _offered(column, names)
            if offered:
                found.setdefault(offered, column.label if column.choices else _tables(column))
    return found


def _offered(column: Column, names: Names) -> tuple[str, ...]:
    """What a cell of the column may be chosen from; nothing where several stand in one cell."""
    if column.many:
        return ()
    shown = {w for table in column.of for w in names.table(table).shown.values()}
    offered = column.choices or tuple(sorted(shown))
    return offered if len(offered) <= MOST_IN_A_LIST else ()


def _tables(column: Column) -> str:
    return " or ".join(column.of)


def _sheet(
    book: Workbook,
    plan: SheetPlan,
    lists: Mapping[tuple[str, ...], str],
    names: Names,
    rows: Sequence[Mapping[str, object]],
) -> None:
    sheet = book.create_sheet(plan.name)
    sheet.freeze_panes = "A2"
    order = list(lists)
    header = []
    for at, column in enumerate(plan.columns):
        letter = column_letters(at)
        sheet.column_dimensions[letter].width = max(14, min(40, len(column.header) + 4))
        if column.takes not in (Takes.NUMBER, Takes.WHOLE, Takes.FLAG):
            # As text, or a spreadsheet makes a date of 3/8 and a number of 00123.
            sheet.column_dimensions[letter].number_format = "@"
        cell = _cell(sheet, column.header, Font(bold=column.required))
        cell.fill = PatternFill("solid", start_color="FFE8EEF4")
        header.append(cell)
        offered = _offered(column, names)
        if offered:
            _offer(sheet, column, letter, column_letters(order.index(offered)), len(offered))
    sheet.append(header)
    for row in rows:
        sheet.append([_filled(sheet, row.get(c.key)) for c in plan.columns])


def _offer(sheet: object, column: Column, letter: str, where: str, count: int) -> None:
    """A list to choose from; what is not on it only warns, since names may be new in this file."""
    strict = column.takes is Takes.CHOICE
    offered = DataValidation(
        type="list",
        formula1=f"lists!${where}$2:${where}${count + 1}",
        allow_blank=True,
        showErrorMessage=True,
        errorStyle="stop" if strict else "warning",
        errorTitle=column.label[:32],
        error=f"Choose from the list{'' if strict else ', or name what is new here'}.",
        showInputMessage=True,
        promptTitle=column.label[:32],
        prompt=_meaning(column)[:250],
    )
    offered.add(f"{letter}2:{letter}{_VALIDATED_ROWS}")
    sheet.data_validations.append(offered)  # type: ignore[attr-defined]


def _write_lists(book: Workbook, lists: Mapping[tuple[str, ...], str]) -> None:
    sheet = book.create_sheet("lists")
    sheet.sheet_state = "hidden"
    sheet.append([_cell(sheet, title) for title in lists.values()])
    for at in range(max(map(len, lists), default=0)):
        row = [offered[at] if at < len(offered) else "" for offered in lists]
        sheet.append([_cell(sheet, text) for text in row])


def _filled(sheet: object, value: object) -> WriteOnlyCell:
    if isinstance(value, (Decimal, int, float, date)) or value is None:
        return WriteOnlyCell(sheet, value=value)
    return _cell(sheet, str(value))


def _cell(
    sheet: object, text: str, font: Font | None = None, alignment: Alignment | None = None
) -> WriteOnlyCell:
    cell = WriteOnlyCell(sheet, value=text or None)
    if text:
        cell.data_type = "s"  # a name that starts with = is a name and no formula
        cell.number_format = "@"
    if font is not None:
        cell.font = font
    if alignment is not None:
        cell.alignment = alignment
    return cell


def _steady(data: bytes) -> bytes:
    """The same workbook without the time of its making in it."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as new,
    ):
        for member in old.infolist():
            content = old.read(member)
            if member.filename == "docProps/core.xml":
                stamp = f"{_STEADY.isoformat()}Z".encode()
                content = _MODIFIED.sub(rb"\g<1>" + stamp + rb"\g<2>", content)
            info = zipfile.ZipInfo(member.filename, (2000, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o600 << 16
            info.create_system = 3
            new.writestr(info, content)
    return out.getvalue()
