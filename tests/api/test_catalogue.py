"""What the catalogue holds can be listed page by page and looked at one by one."""

from __future__ import annotations

import base64
import json
from urllib.parse import quote

import pytest
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

from .conftest import HERE


@pytest.mark.parametrize(
    "collection", ["cars", "stations", "parts", "families", "interfaces", "sources"]
)
@pytest.mark.parametrize("limit", [1, 2, 200])
def test_the_pages_of_a_list_hold_everything_once_in_order(
    reader: TestClient, tiny: Catalogue, collection: str, limit: int
) -> None:
    table = getattr(tiny, {"interfaces": "kinds"}.get(collection, collection))
    found, path = [], f"/v1/{collection}?limit={limit}"
    while path:
        response = reader.get(path)
        page = response.json()
        assert len(page["items"]) <= limit
        assert page["total"] == len(table)
        found += page["items"]
        path = response.headers["link"].partition(">")[0][1:] if "link" in response.headers else ""
        assert bool(path) == (page["next"] is not None)
    assert len(found) == len(table)
    assert len({each["id"] for each in found}) == len(table)


@pytest.mark.parametrize(
    "collection", ["cars", "stations", "parts", "families", "interfaces", "sources"]
)
def test_everything_on_a_list_can_be_looked_at(reader: TestClient, collection: str) -> None:
    for item in reader.get(f"/v1/{collection}", params={"limit": 200}).json()["items"]:
        response = reader.get(item["href"])
        assert response.status_code == 200
        assert item.items() <= response.json().items()


@pytest.mark.parametrize("collection", ["cars", "stations", "parts", "families", "sources"])
def test_everything_in_the_demo_can_be_looked_at(demo: Catalogue, collection: str) -> None:
    with TestClient(create_app(Desk(demo), Settings()), "http://localhost", client=HERE) as client:
        items = client.get(f"/v1/{collection}", params={"limit": 30}).json()["items"]
        codes = {client.get(item["href"]).status_code for item in items[:15]}
    assert codes == {200}


def test_a_thing_is_found_by_its_whole_iri_too(reader: TestClient) -> None:
    iri = "https://knockon.example/part/TH-30"
    by_iri = reader.get(f"/v1/parts/{quote(iri, safe='')}").json()
    assert by_iri == reader.get("/v1/parts/TH-30").json()
    assert by_iri["iri"] == iri


def test_a_part_tells_its_ends_with_values_units_and_who_says_so(reader: TestClient) -> None:
    part = reader.get("/v1/parts/TH-30").json()
    teeth = next(v for end in part["ends"] for v in end["values"] if v["quantity"] == "teeth")
    assert teeth["value"] == 30
    assert teeth["cited"][0]["source"] == "tiny drawings"
    assert teeth["cited"][0]["standing"] == "documented"
    assert [each["label"] for each in part["requires"]] == ["hd-shaft"]


def test_a_car_tells_what_it_left_the_works_with(reader: TestClient) -> None:
    car = reader.get("/v1/cars/tiny").json()
    assert {f["station"]["label"]: f["part"]["number"] for f in car["fits"]} == {
        "hub": "TH-27",
        "half-shaft": "TS-27",
        "wheel": "TW-100",
    }


def test_an_interface_kind_tells_how_to_measure_and_what_is_allowed(reader: TestClient) -> None:
    kind = reader.get("/v1/interfaces/BoltCircle").json()
    circle = next(q for q in kind["quantities"] if q["name"] == "circleDiameter")
    assert circle["unit"] == "mm"
    assert "studs" in circle["measure_by"]
    assert circle["tolerance"] == 0.2
    assert "seatForm" in {q["name"] for q in kind["quantities"]}


def test_a_source_tells_how_much_rests_on_it(reader: TestClient, tiny: Catalogue) -> None:
    source = reader.get("/v1/sources/drawings").json()
    assert source["standing"] == "documented"
    assert source["parts"] == len(tiny.parts)
    assert source["fits"] == 3
    assert source["values"] > 0


def test_parts_are_found_by_station_and_by_words(reader: TestClient) -> None:
    def numbers(**asked: str) -> list[str]:
        items = reader.get("/v1/parts", params=asked).json()["items"]
        return [item["number"] for item in items]

    assert numbers(station="hub") == ["TH-30", "TH-27"]
    assert numbers(station="hub", q="hd") == ["TH-30"]
    assert numbers(family="hd-shaft") == ["TS-30"]
    assert numbers(q="TH 31") == []
    assert numbers(q="TH-30") == ["TH-30"]


def test_what_is_not_there_comes_with_what_is_nearest(reader: TestClient) -> None:
    response = reader.get("/v1/parts/TH-31")
    assert response.status_code == 404
    assert "TH-30" in response.json()["nearest"]


def _cursor(value: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(value).encode()).decode()


@pytest.mark.parametrize(
    "cursor", ["x", "é", "AAAA", _cursor(1), _cursor(["a"]), _cursor([1, 2]), _cursor("[" * 2000)[:1999]]
)  # fmt: skip
def test_a_cursor_that_was_never_given_out_is_refused(reader: TestClient, cursor: str) -> None:
    response = reader.get("/v1/parts", params={"cursor": cursor})
    assert response.status_code == 422
    assert response.json()["type"].endswith("/bad-cursor")


@pytest.mark.parametrize("limit", ["0", "201", "-1", "x", "1e9", ""])
def test_a_page_has_from_one_to_two_hundred_things(reader: TestClient, limit: str) -> None:
    assert reader.get("/v1/parts", params={"limit": limit}).status_code == 422


def test_who_has_a_list_is_told_that_it_still_holds(reader: TestClient) -> None:
    tag = reader.get("/v1/parts").headers["etag"]
    again = reader.get("/v1/parts", headers={"If-None-Match": f'"x", {tag}'})
    assert again.status_code == 304
    assert again.content == b""
    assert reader.get("/v1/cars", headers={"If-None-Match": tag}).status_code == 200
