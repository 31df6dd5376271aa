"""The maintainer's side over HTTP: a draft, what it would change, accepted, and taken back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pyoxigraph as ox
import pytest
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.api.keys import KEYS_FILE
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import demo_folder
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.changes import draft
from knockon.reasoner.upkeep.quads import quads_of, read_lines
from knockon.reasoner.upkeep.store import create, writing

from .conftest import HERE, Keys, Shopfront
from .test_jobs import followed

TEETH = "<https://knockon.example/ns#teeth>"
BENCH = "<https://knockon.example/source/bench>"
SPLINE = "<https://knockon.example/end/shaft-30>"
INTEGER = "<http://www.w3.org/2001/XMLSchema#integer>"
DRAWINGS = "<https://knockon.example/source/drawings>"
DRAFT = {
    "why": "counted again",
    "source": "drawings",
    "added": [f'{SPLINE} {TEETH} "31"^^{INTEGER} {DRAWINGS} .'],
    "removed": [f'{SPLINE} {TEETH} "30"^^{INTEGER} {DRAWINGS} .'],
}
FIT = "does TS-30 mate with TH-30?"


@pytest.fixture
def kept(begun_with: Path, desk_of_store: Desk, tmp_path: Path, keys: Keys) -> Iterator[Shopfront]:
    """A service over a store of those facts."""
    texts = [TextFile(p.name, p.read_text("utf-8"), False) for p in sorted(begun_with.iterdir())]
    store, shop = tmp_path / "store", tmp_path / "shop"
    create(store, quads_of(read_facts(texts)), "Ann", "2024-01-08T09:00:00Z", "the first book")
    shop.mkdir()
    (shop / KEYS_FILE).write_bytes(keys[0].read_bytes())
    (shop / KEYS_FILE).chmod(0o600)
    app = create_app(desk_of_store, Settings(shop=shop, data=store))
    with TestClient(app, "http://localhost", client=HERE):
        yield Shopfront(app, shop, keys[1])


def drafted(client: TestClient, **change: Any) -> dict[str, Any]:
    response = client.post("/v1/edits", json={**DRAFT, **change})
    assert response.status_code == 201, response.text
    found: dict[str, Any] = response.json()
    assert response.headers["location"] == found["href"]
    return found


def done(client: TestClient, path: str, body: Any = None) -> dict[str, Any]:
    """Begin a job, follow it to its end, and give back what it is then."""
    begun = client.post(path, json=body)
    assert begun.status_code == 202, begun.text
    followed(client, begun.json())
    job: dict[str, Any] = client.get(begun.json()["href"]).json()
    return job


def test_an_edit_goes_from_draft_to_preview_to_accepted_and_back(kept: Shopfront) -> None:
    mine = kept.client("desk-1")
    assert mine.post("/v1/ask", json={"question": FIT}).json()["holds"]
    before = mine.get("/v1/health").json()["catalogue"]

    draft = drafted(mine)
    assert (draft["who"], draft["added"], draft["removed"]) == ("desk-1", 1, 1)
    assert draft["adds"] == DRAFT["added"]
    job = done(mine, f"{draft['href']}/preview", {"questions": [FIT]})
    assert job["state"] == "done", job
    changed = job["result"]["questions"]
    assert [each["question"] for each in changed] == [FIT]
    assert mine.post("/v1/ask", json={"question": FIT}).json()["holds"], "nothing is changed yet"

    job = done(mine, f"{draft['href']}/accept")
    assert job["state"] == "done", job
    assert job["result"]["catalogue"] != before
    assert mine.post("/v1/ask", json={"question": FIT}).json()["holds"] is False
    assert mine.get("/v1/edits").json()["total"] == 0

    history = mine.get("/v1/history").json()["items"]
    assert [(each["number"], each["who"], each["why"]) for each in history] == [
        (1, "desk-1", "counted again")
    ]
    assert mine.get("/v1/history/1").json()["takes_away"] == DRAFT["removed"]
    job = done(mine, "/v1/history/1/undo", {"why": "counted wrongly"})
    assert job["state"] == "done", job
    assert mine.post("/v1/ask", json={"question": FIT}).json()["holds"]
    first, second = mine.get("/v1/history").json()["items"]
    assert (first["state"], second["undoes"]) == ("undone", first["id"])


def test_an_edit_that_could_not_be_served_is_not_accepted(kept: Shopfront) -> None:
    mine = kept.client("desk-1")
    draft = drafted(mine, added=[f'{SPLINE} {TEETH} "-4"^^{INTEGER} {DRAWINGS} .'])
    job = done(mine, f"{draft['href']}/accept")
    assert (job["state"], job["problem"]["error"]) == ("failed", "refused")
    assert mine.post("/v1/ask", json={"question": FIT}).json()["holds"]
    assert mine.get("/v1/history").json()["total"] == 0
    assert mine.get(draft["href"]).status_code == 200


def test_two_edits_of_one_place_meet(kept: Shopfront) -> None:
    mine, theirs = kept.client("desk-1"), kept.client("desk-2")
    first = drafted(mine)
    second = drafted(theirs, added=[f'{SPLINE} {TEETH} "33"^^{INTEGER} {DRAWINGS} .'])
    assert done(mine, f"{first['href']}/accept")["state"] == "done"
    job = done(theirs, f"{second['href']}/accept")
    assert (job["state"], job["problem"]["error"]) == ("failed", "conflicts")
    assert "31" in job["problem"]["message"]


def test_nobody_sees_anothers_drafts(kept: Shopfront) -> None:
    draft = drafted(kept.client("desk-1"))
    theirs = kept.client("desk-2")
    assert theirs.get("/v1/edits").json()["total"] == 0
    for method, path in (("get", ""), ("delete", ""), ("post", "/accept")):
        assert theirs.request(method, draft["href"] + path).status_code == 404
    assert kept.client("desk-1").delete(draft["href"]).status_code == 204


def test_who_may_only_ask_may_not_draft(kept: Shopfront) -> None:
    asker = kept.client("asker")
    assert asker.post("/v1/edits", json=DRAFT).status_code == 403
    assert asker.get("/v1/history").status_code == 200


@pytest.mark.parametrize(
    "change",
    [
        {"added": ["this is no statement"]},
        {"added": [], "removed": []},
        {"why": " "},
        {"added": [f"{SPLINE} {TEETH} _:b {DRAWINGS} ."]},
    ],
)
def test_what_cannot_be_an_edit_is_said(kept: Shopfront, change: dict[str, Any]) -> None:
    response = kept.client("desk-1").post("/v1/edits", json={**DRAFT, **change})
    assert response.status_code == 422
    assert kept.client("desk-1").get("/v1/edits").json()["total"] == 0


@pytest.mark.parametrize("key", ["x", "..%2fdesk-2%2fabc", "0" * 12])
def test_a_draft_that_is_not_there_is_not_found(kept: Shopfront, key: str) -> None:
    assert kept.client("desk-1").get(f"/v1/edits/{key}").status_code == 404


# ---------------------------------------------------------------------- files


def sent(client: TestClient, name: str, content: bytes, **more: str) -> Any:
    asked = {"file": name, "why": "a new price list", "source": "tiny drawings", **more}
    return client.post("/v1/edits/import", params=asked, content=content)


def test_a_sheet_becomes_a_draft(kept: Shopfront) -> None:
    response = sent(kept.client("desk-1"), "prices.csv", b"part,price each [EUR]\nTH-30,99.00\n")
    assert response.status_code == 201, response.text
    assert response.json()["added"] == 1
    assert "99" in response.json()["adds"][0]


def test_every_fault_of_a_sheet_is_told_by_row_and_column(kept: Shopfront) -> None:
    response = sent(
        kept.client("desk-1"), "prices.csv", b"part,price each [EUR]\nTH-31,99\nTH-30,x\n"
    )
    assert response.status_code == 422
    faults = response.json()["faults"]
    assert [(fault["row"], fault["column"]) for fault in faults] == [
        (2, "part"),
        (3, "price each [EUR]"),
    ]


@pytest.mark.parametrize("name", ["../x.csv", "x.exe", "x", ".csv", "a/b.csv", "x.csv\x00"])
def test_a_file_with_an_odd_name_is_refused(kept: Shopfront, name: str) -> None:
    assert sent(kept.client("desk-1"), name, b"").status_code == 422


def test_all_that_is_stated_goes_out_in_two_forms(kept: Shopfront) -> None:
    mine = kept.client("asker")
    quads = mine.get("/v1/export")
    assert quads.headers["content-type"] == "application/n-quads"
    assert DRAFT["removed"][0] in quads.text.splitlines()
    trig = mine.get("/v1/export", headers={"Accept": "application/trig"})
    assert trig.headers["content-type"] == "application/trig"
    again = {str(quad) for quad in ox.parse(trig.content, format=ox.RdfFormat.TRIG)}
    assert again == {str(quad) for quad in ox.parse(quads.content, format=ox.RdfFormat.N_QUADS)}


def test_a_file_of_statements_becomes_a_draft(kept: Shopfront) -> None:
    content = "<https://knockon.example/part/TH-30> <https://knockon.example/ns#price> 99.5 ."
    response = sent(kept.client("desk-1"), "one.ttl", content.encode())
    assert response.status_code == 201, response.text
    assert response.json()["source"] == "https://knockon.example/source/drawings"


def test_an_empty_sheet_can_be_had(kept: Shopfront) -> None:
    response = kept.client("asker").get("/v1/templates/values")
    assert response.status_code == 200
    assert response.content.startswith(b"PK")
    missing = kept.client("asker").get("/v1/templates/nothing")
    assert missing.status_code == 404
    assert "values" in missing.json()["nearest"]


# ---------------------------------------------------------------------- what may not be edited


def test_the_demo_is_not_edited(desk: Desk, tmp_path: Path, keys: Keys) -> None:
    (tmp_path / KEYS_FILE).write_bytes(keys[0].read_bytes())
    (tmp_path / KEYS_FILE).chmod(0o600)
    app = create_app(desk, Settings(shop=tmp_path, data=demo_folder()))
    with TestClient(app, "http://localhost", client=HERE) as client:
        client.headers["Authorization"] = f"Bearer {keys[1]['desk-1']}"
        draft = client.post("/v1/edits", json={**DRAFT, "base": "0" * 64}).json()
        response = client.post(f"{draft['href']}/accept")
        assert response.status_code == 409
        assert response.json()["type"].endswith("/demo")
        assert client.get("/v1/history").json()["type"].endswith("/kept-as-text")


def test_an_edit_that_cannot_be_served_is_taken_back_all_the_same(kept: Shopfront) -> None:
    minus = read_lines(f'{SPLINE} {TEETH} "-4"^^{INTEGER} {DRAWINGS} .')
    with writing(kept.app.state.service.settings.data) as store:
        when, source = datetime(2024, 2, 1, tzinfo=UTC), DRAWINGS.strip("<>")
        store.accept(draft("Ann", when, "a slip", source, minus, (), store.version))
    job = done(kept.client("desk-1"), "/v1/history/1/undo", {"why": "it was a slip"})
    assert job["state"] == "done", job
