"""The maintainer at the page: a sheet with a slip, the sheet put right, accepted and taken back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from knockon.api.keys import KEYS_FILE
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.reasoner.files import TextFile
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.quads import quads_of
from knockon.reasoner.upkeep.store import create

from .browser import Page, driving, serving
from .conftest import Keys

HEADER = "part,price each [EUR],source\n"


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    with driving(tmp_path / "profile") as page:
        yield page


@pytest.fixture
def kept(
    page: Page, begun_with: Path, desk_of_store: Desk, tmp_path: Path, keys: Keys
) -> Iterator[str]:
    """A service over a store, with keys."""
    texts = [TextFile(p.name, p.read_text("utf-8"), False) for p in sorted(begun_with.iterdir())]
    store, shop = tmp_path / "store", tmp_path / "shop"
    create(store, quads_of(read_facts(texts)), "Ann", "2024-01-08T09:00:00Z", "the first book")
    shop.mkdir()
    (shop / KEYS_FILE).write_bytes(keys[0].read_bytes())
    (shop / KEYS_FILE).chmod(0o600)
    with serving(desk_of_store, Settings(shop=shop, data=store)) as address:
        yield address


def taken_in(page: Page, sheet: Path, why: str) -> None:
    page.one("#edit-file").send_keys(str(sheet))
    page.focus("#edit-why")
    page.keys(why, "\ue007")


def test_a_sheet_becomes_a_draft_is_previewed_accepted_and_taken_back(
    page: Page, kept: str, keys: Keys, tmp_path: Path
) -> None:
    page.open(f"{kept}/maintain")
    page.one("#sources [role=alert]", "“Key”")
    page.press("#reader button", "Key")
    page.focus("dialog[open] input")
    page.keys(keys[1]["desk-1"])
    page.press("dialog[open] button", "Use it")
    page.one("#drafts", "There are none")

    sheet = tmp_path / "prices.csv"
    sheet.write_text(HEADER + "TW-120,plenty,tiny drawings\n", "utf-8")
    taken_in(page, sheet, "new price list")
    fault = page.one("#edit-said table tbody tr").text
    assert " 2 price each [EUR]" in fault

    page.open(f"{kept}/maintain")
    page.one("#drafts", "There are none")
    sheet.write_text(HEADER + "TW-120,172.00,tiny drawings\n", "utf-8")
    taken_in(page, sheet, "new price list")
    page.one("#preview-title")
    assert "172" in page.one("#edit-said section").text
    page.press("#edit-said button", "Accept the draft")
    page.one("#history li", "new price list")
    page.one("#drafts", "There are none")
    assert page.faults() == []

    page.press("#history button", "Take back")
    page.one("#history li", "takes back: new price list")
    page.focus("#words")
    page.keys("TW-120", "\ue007")
    assert "172" not in page.one("#found table").text
