"""The shop's stock over HTTP: read, and replaced whole by who has seen it."""

from __future__ import annotations

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient
from knockon.query.shop import STOCK_FILE, read_stock
from knockon.reasoner.catalogue import Catalogue

from .conftest import Shopfront

ROW = {"part": "TH-30", "count": 2, "condition": "used", "price": "75.50"}
CSV = "part,count,condition,price\nTH-30,2,used,75.50\nTS-30,1,new,\n"


@pytest.fixture
def mine(keyed: Shopfront) -> TestClient:
    return keyed.client("desk-1")


def put(client: TestClient, body: str, form: str, **headers: str) -> Any:
    return client.put("/v1/stock", content=body, headers={"Content-Type": form, **headers})


def tag(client: TestClient, accept: str = "application/json") -> str:
    return str(client.get("/v1/stock", headers={"Accept": accept}).headers["etag"])


def test_stock_sent_as_json_is_what_the_command_reads(
    mine: TestClient, keyed: Shopfront, tiny: Catalogue
) -> None:
    body = json.dumps({"items": [ROW]})
    response = put(mine, body, "application/json", **{"If-Match": tag(mine)})
    assert response.status_code == 200
    item = response.json()["items"][0]
    assert (item["part"]["number"], item["count"], item["price_eur"]) == ("TH-30", 2, 75.5)
    kept = read_stock(keyed.folder / STOCK_FILE, tiny)
    assert [(each.part.rpartition("/")[2], each.count) for each in kept] == [("TH-30", 2)]


def test_stock_goes_out_as_csv_as_it_came_in(mine: TestClient) -> None:
    response = put(mine, CSV, "text/csv; charset=utf-8", **{"If-Match": tag(mine)})
    assert response.status_code == 200
    found = mine.get("/v1/stock", headers={"Accept": "text/csv"})
    assert found.headers["content-type"] == "text/csv; charset=utf-8"
    assert found.text == CSV


def test_the_shops_stock_is_the_same_for_every_key(keyed: Shopfront, mine: TestClient) -> None:
    put(mine, CSV, "text/csv", **{"If-Match": tag(mine)})
    assert len(keyed.client("desk-2").get("/v1/stock").json()["items"]) == 2


def test_stock_is_not_replaced_by_somebody_who_has_not_seen_it(mine: TestClient) -> None:
    first, as_csv = tag(mine), tag(mine, "text/csv")
    assert first != as_csv
    assert put(mine, CSV, "text/csv").status_code == 428
    assert put(mine, CSV, "text/csv", **{"If-Match": '"other"'}).status_code == 412
    assert put(mine, CSV, "text/csv", **{"If-Match": as_csv}).status_code == 200
    assert put(mine, CSV, "text/csv", **{"If-Match": first}).status_code == 412
    assert put(mine, CSV, "text/csv", **{"If-Match": "*"}).status_code == 200


@pytest.mark.parametrize(
    ("body", "form", "fault"),
    [
        (CSV.replace("TH-30", "TH-31"), "text/csv", "TH-31"),
        (CSV.replace(",2,", ",-2,"), "text/csv", "row 2, count"),
        (CSV.replace("75.50", "1e9"), "text/csv", "row 2, price"),
        (CSV.replace("used", "=1+1"), "text/csv", "row 2, condition"),
        (CSV.replace("used", "used,1,2,3"), "text/csv", "more cells"),
        (CSV.replace("condition", "colour"), "text/csv", "row 1"),
        ("", "text/csv", "row 1"),
        ('part,count\n"TH-30', "text/csv", "not CSV"),
        ("part,count\nTH-30,1\x00", "text/csv", "row 2"),
        ("\ufeff" + CSV.replace("TH-30", "TH-31"), "text/csv", "TH-31"),
        ("{", "application/json", "the body"),
        ('{"items": [{"part": "TH-30"}]}', "application/json", "items/0/count"),
        (json.dumps({"items": [{**ROW, "price": "0.001"}]}), "application/json", "price"),
        (json.dumps({"items": [{**ROW, "price": "NaN"}]}), "application/json", "price"),
        (json.dumps({"items": [{**ROW, "count": 1.5}]}), "application/json", "count"),
        (json.dumps({"items": [{**ROW, "x": 1}]}), "application/json", "items/0/x"),
    ],
)
def test_a_list_with_a_fault_is_not_used_at_all(
    mine: TestClient, body: str, form: str, fault: str
) -> None:
    put(mine, CSV, "text/csv", **{"If-Match": tag(mine)})
    response = put(mine, body, form, **{"If-Match": tag(mine)})
    assert response.status_code == 422
    assert fault in response.json()["detail"]
    assert mine.get("/v1/stock", headers={"Accept": "text/csv"}).text == CSV


def test_a_list_in_another_form_is_refused(mine: TestClient) -> None:
    response = put(mine, CSV, "application/xml", **{"If-Match": tag(mine)})
    assert response.status_code == 415
    assert response.headers["accept"] == "application/json, text/csv"


def test_bytes_that_are_no_text_are_refused(mine: TestClient) -> None:
    response = mine.put(
        "/v1/stock",
        content=b"part,count\n\xff,1\n",
        headers={"Content-Type": "text/csv", "If-Match": "*"},
    )
    assert response.status_code == 422


def test_a_long_list_may_be_longer_than_other_bodies(mine: TestClient) -> None:
    rows = "part,count,condition,price\n" + "TH-30,2,used,75.50\n" * 20_000
    assert len(rows) > 256 * 1024
    assert put(mine, rows, "text/csv", **{"If-Match": "*"}).status_code == 200
    too_long = rows * 15
    assert put(mine, too_long, "text/csv", **{"If-Match": "*"}).status_code == 413


def test_an_answer_uses_the_stock_that_was_just_put_there(mine: TestClient) -> None:
    rows = "part,count\n" + "".join(f"{part},2\n" for part in ("TH-30", "TS-30", "TW-120"))
    asked = {"question": "what else must change if I fit HD hub to Tiny T1 light using stock?"}
    assert not mine.post("/v1/ask", json=asked).json()["workable"]
    put(mine, rows, "text/csv", **{"If-Match": "*"})
    assert mine.post("/v1/ask", json=asked).json()["workable"]
