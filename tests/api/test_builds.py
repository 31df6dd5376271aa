"""Saved builds over HTTP: one's own alone, and never overwritten unseen."""

from __future__ import annotations

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from .conftest import Opening, Shopfront

RED: dict[str, Any] = {"name": "red pickup", "car": "Tiny T1 light", "fits": {"hub": "HD hub"}}


@pytest.fixture
def mine(keyed: Shopfront) -> TestClient:
    return keyed.client("desk-1")


def saved(client: TestClient, **other: Any) -> str:
    response = client.post("/v1/builds", json={**RED, **other})
    assert response.status_code == 201, response.text
    return str(response.headers["etag"])


def test_a_saved_build_tells_what_differs_and_what_clashes(mine: TestClient) -> None:
    response = mine.post("/v1/builds", json=RED)
    found = response.json()
    assert response.headers["location"] == found["href"] == "/v1/builds/red%20pickup"
    assert [d["station"]["label"] for d in found["differences"]] == ["hub"]
    assert found["differences"][0]["stock"]["number"] == "TH-27"
    assert found["differences"][0]["part"]["number"] == "TH-30"
    assert {c["joint"]["label"] for c in found["clashes"]} == {
        "half-shaft spline ↔ hub spline",
        "hub face ↔ wheel",
    }
    assert mine.get(found["href"]).json() == found


def test_a_saved_build_can_be_asked_about_by_its_name(mine: TestClient) -> None:
    saved(mine)
    asked = {"question": "what else must change if I fit big wheel to red pickup?"}
    assert mine.post("/v1/ask", json=asked).json()["car"]["label"] == "red pickup"


def test_two_keys_never_see_each_others_builds(keyed: Shopfront) -> None:
    mine, theirs = keyed.client("desk-1"), keyed.client("desk-2")
    tag = saved(mine)
    assert theirs.get("/v1/builds").json()["total"] == 0
    assert theirs.get("/v1/builds/red pickup").status_code == 404
    drop = theirs.delete("/v1/builds/red pickup", headers={"If-Match": tag})
    assert drop.status_code == 404
    asked = theirs.post("/v1/ask", json={"question": "show red pickup"})
    assert asked.status_code == 422
    assert "red pickup" not in json.dumps(asked.json().get("nearest"))
    saved(theirs, fits={"wheel": "big wheel"})
    assert [
        d["station"]["label"] for d in mine.get("/v1/builds/red pickup").json()["differences"]
    ] == ["hub"]


def test_the_same_question_about_ones_own_build_is_answered_for_each(keyed: Shopfront) -> None:
    for owner, part in (("desk-1", "HD hub"), ("desk-2", "light hub")):
        saved(keyed.client(owner), fits={"hub": part})
    asked = {"question": "what else must change if I fit big wheel to red pickup?"}
    one, other = (keyed.client(o).get("/v1/ask", params=asked) for o in ("desk-1", "desk-2"))
    assert one.headers["etag"] != other.headers["etag"]
    assert one.json()["lines"] != other.json()["lines"]


def test_another_key_of_the_same_owner_sees_the_same_builds(keyed: Shopfront) -> None:
    from knockon.api.keys import KEYS_FILE, KeyRing, Scope

    saved(keyed.client("desk-1"))
    _, token = KeyRing(keyed.folder / KEYS_FILE).new("desk-1", Scope.ASK)
    assert keyed.client(key=token).get("/v1/builds").json()["total"] == 1


def test_builds_outlive_the_service(opened: Opening) -> None:
    saved(opened(keyed=True).client("desk-1"))
    again = opened(keyed=True)
    assert again.client("desk-1").get("/v1/builds").json()["items"][0]["name"] == "red pickup"


def test_what_is_got_can_be_sent_back(mine: TestClient) -> None:
    tag = saved(mine)
    got = mine.get("/v1/builds/Red Pickup").json()
    content = {"car": got["car"], "fits": got["fits"]}
    put = mine.put("/v1/builds/red pickup", json=content, headers={"If-Match": tag})
    assert put.status_code == 200
    assert put.json() == got
    assert put.headers["etag"] == tag


def test_a_name_is_taken_only_once(mine: TestClient) -> None:
    saved(mine)
    assert mine.post("/v1/builds", json={**RED, "name": "RED pickup"}).status_code == 409
    put = mine.put(
        "/v1/builds/red pickup", json={"car": "Tiny T1 light"}, headers={"If-None-Match": "*"}
    )
    assert put.status_code == 412


def test_a_build_may_not_take_the_name_of_a_car(mine: TestClient) -> None:
    assert mine.post("/v1/builds", json={**RED, "name": "Tiny T1"}).status_code == 409


def test_a_build_is_not_replaced_by_somebody_who_has_not_seen_it(mine: TestClient) -> None:
    first = saved(mine)
    content = {"car": "Tiny T1 light", "fits": {"wheel": "big wheel"}}

    def put(headers: dict[str, str]) -> int:
        return mine.put("/v1/builds/red pickup", json=content, headers=headers).status_code

    assert put({}) == 428
    assert put({"If-None-Match": "*"}) == 412
    assert put({"If-Match": '"other"'}) == 412
    assert put({"If-Match": first}) == 200
    assert put({"If-Match": first}) == 412


def test_put_makes_a_build_that_is_not_there(mine: TestClient) -> None:
    content = {"car": "Tiny T1 light", "fits": {"wheel adapter": None}}
    response = mine.put("/v1/builds/new one", json=content)
    assert response.status_code == 201
    assert response.headers["location"] == "/v1/builds/new%20one"
    gone = mine.put("/v1/builds/other", json=content, headers={"If-Match": '"x"'})
    assert gone.status_code == 412


def test_a_build_is_forgotten_by_who_has_seen_it(mine: TestClient) -> None:
    tag = saved(mine)
    assert mine.delete("/v1/builds/red pickup").status_code == 428
    assert mine.delete("/v1/builds/red pickup", headers={"If-Match": '"x"'}).status_code == 412
    gone = mine.delete("/v1/builds/red pickup", headers={"If-Match": tag})
    assert (gone.status_code, gone.content) == (204, b"")
    assert mine.get("/v1/builds/red pickup").status_code == 404


@pytest.mark.parametrize(
    ("change", "slug"),
    [
        ({"fits": {"hub": "big wheel"}}, "not-there"),
        ({"fits": {"hubb": "HD hub"}}, "unknown-name"),
        ({"fits": {"hub": "no such part"}}, "unknown-name"),
        ({"car": "no such car"}, "unknown-name"),
        ({"fits": {"hub": 5}}, "bad-request"),
        ({"fits": {"": "HD hub"}}, "bad-request"),
        ({"name": ""}, "bad-request"),
        ({"name": "a/b"}, "bad-request"),
        ({"name": "a\x00"}, "bad-request"),
        ({"name": "x" * 81}, "bad-request"),
        ({"surprise": 1}, "bad-request"),
    ],
)
def test_what_is_wrong_with_a_build_is_said_and_nothing_saved(
    mine: TestClient, change: dict[str, Any], slug: str
) -> None:
    response = mine.post("/v1/builds", json={**RED, **change})
    assert response.status_code == 422
    assert response.json()["type"].endswith(slug)
    assert mine.get("/v1/builds").json()["total"] == 0


def test_who_has_a_build_is_told_that_it_still_holds(mine: TestClient) -> None:
    tag = saved(mine)
    response = mine.get("/v1/builds/red pickup", headers={"If-None-Match": tag})
    assert (response.status_code, response.content) == (304, b"")


def test_builds_of_a_part_that_left_the_catalogue_say_which(keyed: Shopfront) -> None:
    mine = keyed.client("desk-1")
    saved(mine)
    path = keyed.folder / "builds" / "desk-1.json"
    path.write_text(path.read_text("utf-8").replace("TH-30", "TH-99"), "utf-8")
    response = mine.get("/v1/builds")
    assert response.status_code == 503
    assert response.json()["faults"] == [
        "red pickup: the catalogue has no part https://knockon.example/part/TH-99"
    ]
    assert str(keyed.folder) not in response.text
    assert keyed.client("desk-2").get("/v1/builds").status_code == 200
