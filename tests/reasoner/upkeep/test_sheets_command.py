"""`knockon sheet`: a template out, a filled sheet in, an edit or all faults."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from knockon.query.command import main
from knockon.reasoner.upkeep.changes import from_json

from .sheets import SHIPPED, csv_file

PRICE = "part,price each [EUR],source\nOW-42340,185,bench measurements\n"


def _run(*args: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(main, ["sheet", *args])
    return result.exit_code, result.stdout, result.stderr


def test_a_template_is_written_as_a_workbook_or_as_csv_files(tmp_path: Path) -> None:
    code, out, _ = _run("template", "prices", "-o", str(tmp_path / "p.xlsx"))
    assert (code, "sources, prices" in out) == (0, True)
    assert (tmp_path / "p.xlsx").read_bytes().startswith(b"PK")
    assert _run("template", "hours", "-o", str(tmp_path / "hours"))[0] == 0
    assert sorted(p.name for p in (tmp_path / "hours").iterdir()) == [
        "operations.csv",
        "sources.csv",
    ]


def test_a_filled_sheet_becomes_a_change_set_that_others_can_read(tmp_path: Path) -> None:
    sheet, edit = csv_file(tmp_path / "prices.csv", PRICE), tmp_path / "edit.json"
    code, out, _ = _run("read", str(sheet), "--who", "me", "--why", "list", "-o", str(edit))
    assert (code, "1 rows: +1 −1" in out) == (0, True)
    change = from_json(edit.read_text("utf-8"))
    assert (change.who, change.why, change.state) == ("me", "list", "draft")
    assert change.source == "https://knockon.example/source/bench"


def test_faults_go_to_standard_error_and_no_edit_is_written(tmp_path: Path) -> None:
    sheet, edit = csv_file(tmp_path / "prices.csv", PRICE * 2), tmp_path / "edit.json"
    code, out, err = _run("read", str(sheet), "--why", "list", "-o", str(edit))
    assert (code, out) == (2, "")
    assert "nothing was taken in" in err
    assert "row 3" in err
    assert not edit.exists()


def test_an_edit_says_why_and_what_becomes_of_it(tmp_path: Path) -> None:
    sheet = csv_file(tmp_path / "prices.csv", PRICE)
    code, _, err = _run("read", str(sheet), "-o", str(tmp_path / "x.json"))
    assert (code, "why" in err) == (2, True)
    assert _run("read", str(sheet), "--why", "list")[0] == 2


def test_a_stock_list_becomes_the_shops_stock(tmp_path: Path) -> None:
    sheet = csv_file(tmp_path / "stock.csv", "part;count;price each [EUR]\now-42340;3;95\n")
    code, _, _ = _run("read", str(sheet), "--accept", "--shop", str(tmp_path / "shop"))
    assert code == 0
    text = (tmp_path / "shop" / "stock.csv").read_text("utf-8")
    assert text == "part,count,condition,price\nOW-42340,3,used,95\n"


@pytest.mark.slow
def test_a_sheet_accepted_into_a_store_is_stated_there(tmp_path: Path) -> None:
    store = str(tmp_path / "store")
    sheet = csv_file(tmp_path / "prices.csv", PRICE)
    made = CliRunner().invoke(main, ["store", "init", store, "--demo"])
    assert made.exit_code == 0
    code, out, err = _run("read", str(sheet), "--why", "list", "--accept", "--data", store)
    assert (code, err) == (0, "")
    assert "+1 −1" in out
    again = _run("read", str(sheet), "--why", "list", "--accept", "--data", store)
    assert (again[0], "change nothing" in again[2]) == (2, True)


def test_the_shipped_session_reads_by_the_command(tmp_path: Path) -> None:
    edit = tmp_path / "w5.json"
    session = SHIPPED / "w5-measuring-session.xlsx"
    assert _run("read", str(session), "--why", "the W5", "-o", str(edit))[0] == 0
    assert len(json.loads(edit.read_text("utf-8"))["added"]) > 200
