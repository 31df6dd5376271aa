"""Files that would harm whoever opens them are refused in plain words before they are opened."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from knockon.reasoner.upkeep.sheets.csv_in import CsvSheet
from knockon.reasoner.upkeep.sheets.faults import FileRefused
from knockon.reasoner.upkeep.sheets.guard import BOUNDS, check_workbook
from knockon.reasoner.upkeep.sheets.xlsx_in import open_workbook
from openpyxl import Workbook

from .sheets import FIXTURES, csv_file, faults, workbook

PRICES = [("part", "price each [EUR]"), ("OW-42340", 185)]
Change = Callable[[dict[str, bytes]], None]


def _changed(path: Path, change: Change, level: int = 6) -> Path:
    """An honest workbook with one thing in it altered."""
    workbook(path, {"prices": PRICES})
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=level) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def _sheet(edit: Callable[[bytes], bytes]) -> Change:
    def change(members: dict[str, bytes]) -> None:
        name = "xl/worksheets/sheet1.xml"
        members[name] = edit(members[name])

    return change


def _add(name: str, content: bytes) -> Change:
    return lambda members: members.update({name: content})


def _cell(xml: bytes) -> Change:
    return _sheet(lambda s: s.replace(b"<sheetData>", b"<sheetData>" + xml, 1))


DTD = b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>'
LAUGHS = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'

HOSTILE: dict[str, tuple[Change, str]] = {
    "an external entity": (_sheet(lambda s: DTD + s), "DTD"),
    "entities that multiply": (_sheet(lambda s: LAUGHS + s), "DTD"),
    "a DTD far inside": (_sheet(lambda s: s + b" " * 70_000 + b"<!doctype x>"), "DTD"),
    "an entity in the shared texts": (
        _add("xl/sharedStrings.xml", b'<?xml version="1.0"?>' + DTD + b"<sst/>"),
        "DTD",
    ),
    "a sheet under another name": (_add("xl/hidden.bin", DTD + b"<x/>"), "DTD"),
    "UTF-16 inside": (_sheet(lambda s: s.decode().encode("utf-16")), "utf-16"),
    "a strange encoding": (
        _sheet(lambda s: b'<?xml version="1.0" encoding="utf-7"?>' + s),
        "utf-7",
    ),
    "macros": (_add("xl/vbaProject.bin", b"\x00"), "macros"),
    "a macro workbook's type": (
        lambda m: m.update(
            {
                "[Content_Types].xml": m["[Content_Types].xml"].replace(
                    b"spreadsheetml.sheet.main", b"sheet.macroEnabled.main"
                )
            }
        ),
        "macros",
    ),
    "a zip bomb": (_sheet(lambda s: s + b"<a/>" * 2_000_000), "zip bomb"),
    "a cell without end": (_sheet(lambda s: s + b"A" * 300_000), "cell of over"),
    "no workbook in it": (lambda m: m.pop("xl/workbook.xml"), "no workbook"),
    "half a sheet": (_sheet(lambda s: s[: len(s) // 2]), "damaged"),
    "a sheet of nonsense": (_sheet(lambda s: b"<<<"), "damaged"),
    "a text that is not there": (
        _cell(b'<row r="1"><c r="A1" t="s"><v>999999</v></c></row>'),
        "damaged",
    ),
    "a column beyond all columns": (
        _cell(b'<row r="1"><c r="ZZZZZZ1"><v>1</v></c></row>'),
        "damaged",
    ),
    "a column far out": (_cell(b'<row r="1"><c r="XFD1"><v>1</v></c></row>'), "columns"),
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_a_workbook_is_refused_for(tmp_path: Path, name: str) -> None:
    change, said = HOSTILE[name]
    path = _changed(tmp_path / "x.xlsx", change)
    (fault,) = faults(path)
    assert said in str(fault)
    assert "x.xlsx" in str(fault)


def test_a_row_far_down_takes_no_time_and_no_room(tmp_path: Path) -> None:
    far = b'<row r="99999999999999"><c r="A99999999999999"><v>1</v></c></row>'
    path = _changed(
        tmp_path / "x.xlsx", _sheet(lambda s: s.replace(b"</sheetData>", far + b"</sheetData>"))
    )
    small = replace(BOUNDS, rows=1000)
    with open_workbook(path, small) as sheets:
        assert len(list(sheets[0].rows())) == 2


def test_a_size_that_a_sheet_only_claims_is_not_believed(tmp_path: Path) -> None:
    path = _changed(
        tmp_path / "x.xlsx", _sheet(lambda s: s.replace(b'ref="A1:B2"', b'ref="A1:XFD1048576"'))
    )
    with open_workbook(path) as sheets:
        assert [len(row) for _, row in sheets[0].rows()] == [2, 2]


def test_two_members_of_one_name_are_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path / "x.xlsx", {"prices": PRICES})
    with zipfile.ZipFile(path, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("xl/workbook.xml", b"<x/>")
    (fault,) = faults(path)
    assert "two files of one name" in fault.what


def test_an_encrypted_member_is_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path / "x.xlsx", {"prices": PRICES})
    content = bytearray(path.read_bytes())
    at = content.find(b"PK\x01\x02")
    content[at + 8] |= 1
    path.write_bytes(content)
    (fault,) = faults(path)
    assert "encrypted" in fault.what


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("x.xlsm", b"PK\x03\x04", "macros"),
        ("x.xls", b"\xd0\xcf\x11\xe0", "old workbook"),
        ("x.ods", b"PK\x03\x04", "OpenDocument"),
        ("x.xlsx", bytes.fromhex("d0cf11e0a1b11ae1"), "encrypted"),
        ("x.xlsx", b"part,price\n", "no workbook"),
        ("x.xlsx", b"PK\x03\x04rubbish", "damaged"),
        ("x.xlsx", b"", "empty"),
    ],
)
def test_what_is_no_plain_workbook_says_what_to_do(
    tmp_path: Path, name: str, content: bytes, said: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    (fault,) = faults(path)
    assert said in fault.what


def test_a_file_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    (fault,) = faults(tmp_path / "nowhere.xlsx")
    assert "No such file" in fault.what


def test_a_large_file_is_refused_by_its_size_alone(tmp_path: Path) -> None:
    path = workbook(tmp_path / "x.xlsx", {"prices": PRICES})
    with pytest.raises(FileRefused, match="at most"):
        check_workbook(path, replace(BOUNDS, packed=1000))
    with pytest.raises(FileRefused, match="zip bomb"):
        check_workbook(path, replace(BOUNDS, unpacked=1000))
    with pytest.raises(FileRefused, match="zip bomb"):
        check_workbook(path, replace(BOUNDS, other_member=100))
    with pytest.raises(FileRefused, match="files"):
        check_workbook(path, replace(BOUNDS, members=3))


def test_formulas_errors_and_what_a_spreadsheet_made_of_a_fraction_are_refused_by_cell(
    tmp_path: Path,
) -> None:
    book = Workbook()
    sheet = book.active
    sheet.title = "prices"
    for row in (("part", "price each [EUR]"), ("OW-42340", "=100+85"), ("OW-44250", "#N/A")):
        sheet.append(row)
    sheet["B3"].data_type = "e"
    sheet.append(("OW-42345", True))
    sheet.append(("OW-42345", "x" * 3000))
    path = tmp_path / "x.xlsx"
    book.save(path)
    told = {f.row: f.what for f in faults(path)}
    assert "cell B2 holds a formula" in told[2]
    assert "#N/A" in told[3]
    assert "true or false" in told[4]
    assert "3000 signs" in told[5]


def test_a_formula_that_libreoffice_wrote_is_refused_whatever_it_last_showed() -> None:
    (fault,) = faults(FIXTURES / "by-libreoffice-formula-values.xlsx")
    assert "cell C2 holds a formula" in fault.what


def test_a_fraction_of_which_libreoffice_made_a_date_is_not_taken_for_a_number() -> None:
    (fault,) = faults(FIXTURES / "by-libreoffice-guessed-values.xlsx")
    assert "is a date, which spreadsheets make of such as 3/8" in fault.what


HEAD = "part,price each [EUR]\n"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (HEAD.encode() + "OW-42340,1 \xe9".encode("latin-1"), "not UTF-8"),
        (HEAD.encode("utf-32"), "UTF-32"),
        ((HEAD + "OW-42340,1").encode("utf-16-le"), "NUL"),
        (HEAD.encode() + b"OW-42340,\x001\n", "NUL"),
        (HEAD.encode() + b'OW-42340,"1\n' + b"x" * 200_000, "CSV"),
        (HEAD.encode() + b'OW-42340,"1"2\n', "CSV"),
        (HEAD.encode() + b"x," * 300 + b"1\n", "columns"),
        (b"x" * 1_200_000, "does not end"),
    ],
)
def test_a_csv_file_is_refused_for_what_is_wrong_with_it(
    tmp_path: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "prices.csv"
    path.write_bytes(content)
    (fault,) = faults(path)
    assert said in str(fault)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_csv_is_read_in_every_common_encoding_and_with_every_common_separator(
    tmp_path: Path, encoding: str, separator: str
) -> None:
    text = '"name, ″é″";b\n 1 ;"two\nlines"\n\n;;\n3;4\n'.replace(";", separator)
    sheet = CsvSheet(csv_file(tmp_path / "x.csv", text, encoding), "x")
    assert list(sheet.rows()) == [
        (1, ("name, ″é″", "b")),
        (2, ("1", "two\nlines")),
        (5, ("3", "4")),
    ]


def test_too_many_rows_are_refused(tmp_path: Path) -> None:
    text = "a\n" * 12
    sheet = CsvSheet(csv_file(tmp_path / "x.csv", text), "x", replace(BOUNDS, rows=10))
    with pytest.raises(FileRefused, match="over 10 rows"):
        list(sheet.rows())


def test_an_honest_workbook_passes() -> None:
    check_workbook(FIXTURES / "by-libreoffice-w5.xlsx")
