"""A write that is sent twice because the first answer got lost is done once."""

from __future__ import annotations

import stat
from typing import Any

import pytest
from fastapi.testclient import TestClient
from knockon.api.problems import ApiError
from knockon.api.receipts import RECEIPTS_FILE, Receipts

from .conftest import HERE, Opening, Shopfront

RED: dict[str, Any] = {"name": "red", "car": "Tiny T1 light", "fits": {"hub": "HD hub"}}
ONCE = {"Idempotency-Key": "order-1"}


@pytest.fixture
def mine(keyed: Shopfront) -> TestClient:
    return keyed.client("desk-1")


def test_the_same_write_sent_again_gets_the_same_answer(mine: TestClient) -> None:
    first, again = (mine.post("/v1/builds", json=RED, headers=ONCE) for _ in range(2))
    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    for name in ("etag", "location", "content-type"):
        assert first.headers[name] == again.headers[name]
    assert mine.get("/v1/builds").json()["total"] == 1


def test_a_deletion_sent_again_is_still_done(mine: TestClient) -> None:
    tag = mine.post("/v1/builds", json=RED).headers["etag"]
    headers = {"If-Match": tag, "Idempotency-Key": "gone-1"}
    found = [mine.delete("/v1/builds/red", headers=headers).status_code for _ in range(2)]
    assert found == [204, 204]


def test_what_was_refused_stays_refused_under_the_same_key(mine: TestClient) -> None:
    bad = {**RED, "car": "no such car"}
    first, again = (mine.post("/v1/builds", json=bad, headers=ONCE) for _ in range(2))
    assert first.status_code == again.status_code == 422
    assert first.json() == again.json()
    assert again.headers["content-type"] == "application/problem+json"


def test_another_write_under_the_same_key_is_refused(mine: TestClient) -> None:
    mine.post("/v1/builds", json=RED, headers=ONCE)
    other = mine.post("/v1/builds", json={**RED, "name": "blue"}, headers=ONCE)
    assert other.status_code == 422
    assert other.json()["type"].endswith("/key-reused")
    assert mine.get("/v1/builds/blue").status_code == 404


def test_two_owners_may_use_the_same_key(keyed: Shopfront) -> None:
    for owner in ("desk-1", "desk-2"):
        assert keyed.client(owner).post("/v1/builds", json=RED, headers=ONCE).status_code == 201
        assert keyed.client(owner).get("/v1/builds").json()["total"] == 1


def test_it_holds_through_a_restart(opened: Opening) -> None:
    first = opened(keyed=True).client("desk-1").post("/v1/builds", json=RED, headers=ONCE)
    again = opened(keyed=True).client("desk-1").post("/v1/builds", json=RED, headers=ONCE)
    assert first.content == again.content
    assert again.status_code == 201


def test_receipts_are_for_their_owner_alone_to_read(mine: TestClient, keyed: Shopfront) -> None:
    mine.post("/v1/builds", json=RED, headers=ONCE)
    mode = stat.S_IMODE((keyed.folder / RECEIPTS_FILE).stat().st_mode)
    assert mode == 0o600


@pytest.mark.parametrize("key", ["", "x" * 201])
def test_a_key_has_a_sensible_length(mine: TestClient, key: str) -> None:
    response = mine.post("/v1/builds", json=RED, headers={"Idempotency-Key": key})
    assert response.status_code == 422


def test_a_job_begun_twice_is_one_job(mine: TestClient) -> None:
    body = {"questions": ["show hub"]}
    first, again = (
        mine.post("/v1/jobs/questions", json=body, headers={"Idempotency-Key": "job-1"}).json()
        for _ in range(2)
    )
    assert first["id"] == again["id"]


def test_while_a_write_is_served_its_twin_waits_outside(keyed: Shopfront) -> None:
    receipts = Receipts(keyed.app, keyed.folder, ("/v1",))
    receipts.begin(("desk-1", "k"))
    with pytest.raises(ApiError) as caught:
        receipts.begin(("desk-1", "k"))
    assert caught.value.status == 409
    receipts.begin(("desk-2", "k"))
    receipts.end(("desk-1", "k"))
    receipts.begin(("desk-1", "k"))


def test_reading_needs_no_receipts(front: Shopfront) -> None:
    client = front.client(address=HERE)
    response = client.post("/v1/ask", json={"question": "show hub"}, headers=ONCE)
    assert response.status_code == 200
    assert not (front.folder / RECEIPTS_FILE).exists()
