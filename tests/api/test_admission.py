"""Who may do what: this machine alone until there are keys, then whoever has the right one."""

from __future__ import annotations

import logging
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from knockon.api.keys import KEYS_FILE, KeyRing, Scope
from knockon.api.server import NotSafe, checked
from knockon.api.settings import Allowance, Settings

from .conftest import QUESTION, Opening, Shopfront

ASK = {"question": QUESTION}
BUILD = {"name": "red", "car": "Tiny T1 light", "fits": {}}


def test_without_keys_this_machine_may_read(front: Shopfront) -> None:
    assert front.client().post("/v1/ask", json=ASK).status_code == 200


@pytest.mark.parametrize("address", ["192.0.2.7", "::ffff:192.0.2.7", "testclient", ""])
def test_without_keys_another_machine_may_do_nothing(front: Shopfront, address: str) -> None:
    response = front.client(address=(address, 1)).post("/v1/ask", json=ASK)
    assert response.status_code == 401
    assert response.headers["www-authenticate"] == 'Bearer realm="knockon"'


@pytest.mark.parametrize("address", ["127.0.0.1", "127.8.8.8", "::1", "::ffff:127.0.0.1"])
def test_this_machine_has_several_addresses(front: Shopfront, address: str) -> None:
    assert front.client(address=(address, 1)).get("/v1/cars").status_code == 200


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "Via"])
def test_what_comes_through_a_proxy_is_not_this_machine(front: Shopfront, header: str) -> None:
    assert front.client().get("/v1/cars", headers={header: "127.0.0.1"}).status_code == 401


def test_a_page_elsewhere_cannot_come_in_under_a_name_of_its_own(front: Shopfront) -> None:
    assert front.client(name="http://evil.example:8765").get("/v1/cars").status_code == 401


@pytest.mark.parametrize("name", ["http://localhost:8765", "http://127.0.0.1", "http://[::1]:80"])
def test_this_machine_may_be_called_by_its_own_names(front: Shopfront, name: str) -> None:
    assert front.client(name=name).get("/v1/cars").status_code == 200


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("post", "/v1/builds"),
        ("put", "/v1/builds/red"),
        ("delete", "/v1/builds/red"),
        ("put", "/v1/stock"),
        ("post", "/v1/saved-questions"),
        ("post", "/v1/reload"),
    ],
)
def test_without_a_key_nothing_can_be_changed(front: Shopfront, method: str, path: str) -> None:
    response = front.client().request(method, path, json=BUILD if method != "delete" else None)
    assert response.status_code == 403
    assert response.json()["type"].endswith("/read-only")


def test_once_there_is_a_key_everybody_needs_one(keyed: Shopfront) -> None:
    assert keyed.client().get("/v1/cars").status_code == 401
    assert keyed.client("asker").get("/v1/cars").status_code == 200


def test_this_machine_may_be_let_read_on(opened: Opening) -> None:
    front = opened(keyed=True, keyless=True)
    assert front.client().get("/v1/cars").status_code == 200
    assert front.client(address=("192.0.2.7", 1)).get("/v1/cars").status_code == 401


def test_with_a_key_any_machine_may_ask(keyed: Shopfront) -> None:
    far = keyed.client("asker", address=("192.0.2.7", 1), name="https://parts.example")
    assert far.post("/v1/ask", json=ASK).status_code == 200


@pytest.mark.parametrize("path", ["/v1/health", "/v1/ready", "/v1/openapi.json"])
def test_whether_it_is_up_needs_no_key(keyed: Shopfront, path: str) -> None:
    assert keyed.client(address=("192.0.2.7", 1)).get(path).status_code == 200


@pytest.mark.parametrize(
    "given",
    ["Bearer", "Bearer x", "Basic eDp5", "Bearer knockon_000000000000_" + "A" * 43, "Bearer \xff"],
)
def test_a_wrong_key_is_refused_even_on_this_machine(front: Shopfront, given: str) -> None:
    raw = given.encode("latin-1")
    response = front.client().get("/v1/cars", headers=[(b"authorization", raw)])
    assert response.status_code == 401


@pytest.mark.parametrize(
    ("owner", "method", "path", "status"),
    [
        ("asker", "post", "/v1/builds", 403),
        ("asker", "put", "/v1/stock", 403),
        ("asker", "get", "/v1/saved-questions", 403),
        ("desk-1", "post", "/v1/builds", 201),
        ("desk-1", "post", "/v1/reload", 403),
        ("chief", "post", "/v1/builds", 201),
        ("chief", "post", "/v1/reload", 409),
    ],
)
def test_a_key_may_do_what_its_scope_says(
    keyed: Shopfront, owner: str, method: str, path: str, status: int
) -> None:
    response = keyed.client(owner).request(method, path, json=None if method == "get" else BUILD)
    assert response.status_code == status


def test_a_revoked_key_opens_nothing_from_then_on(keyed: Shopfront) -> None:
    ring = KeyRing(keyed.folder / KEYS_FILE)
    made, token = ring.new("desk-3", Scope.ASK)
    client = keyed.client(key=token)
    assert client.get("/v1/cars").status_code == 200
    ring.revoke(made.id)
    assert client.get("/v1/cars").status_code == 401


def test_who_asks_too_often_is_told_when_to_come_back(opened: Opening) -> None:
    front = opened(keyed=True, allowance=Allowance(rate=0.01, burst=3))
    asker, other = front.client("asker"), front.client("desk-1")
    found = [asker.get("/v1/cars") for _ in range(4)]
    assert [each.status_code for each in found] == [200, 200, 200, 429]
    assert 1 <= int(found[-1].headers["retry-after"]) <= 100
    assert other.get("/v1/cars").status_code == 200


def test_a_key_may_have_bounds_of_its_own(keyed: Shopfront) -> None:
    _, token = KeyRing(keyed.folder / KEYS_FILE).new("slow", Scope.ASK, longest_body=1024)
    client = keyed.client(key=token)
    long = {"question": "show " + "x" * 2000}
    assert client.post("/v1/ask", json=long).status_code == 413
    assert keyed.client("asker").post("/v1/ask", json=long).status_code == 422


def test_who_guesses_keys_is_slowed_down(opened: Opening) -> None:
    keyed = opened(keyed=True)
    guesser = keyed.client(key="knockon_000000000000_" + "A" * 43, address=("192.0.2.9", 1))
    found = [guesser.get("/v1/cars").status_code for _ in range(12)]
    assert found[:10] == [401] * 10
    assert found[-1] == 429
    assert keyed.client("asker").get("/v1/cars").status_code == 200


def test_a_key_is_never_logged(keyed: Shopfront, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    keyed.client("desk-1").post("/v1/ask", json={"question": "nonsense"})
    keyed.client(key="knockon_000000000000_" + "Q" * 43).get("/v1/cars")
    said = "\n".join(record.getMessage() for record in caplog.records)
    assert keyed.keys["desk-1"].split("_", 2)[2] not in said
    assert "Q" * 43 not in said


def test_other_machines_are_not_listened_to_without_keys(tmp_path: Path) -> None:
    settings = Settings(shop=tmp_path)
    checked(settings, "127.0.0.1")
    checked(settings, "::1")
    with pytest.raises(NotSafe, match="key new"):
        checked(settings, "0.0.0.0")
    KeyRing(tmp_path / KEYS_FILE).new("desk-1", Scope.ASK)
    checked(settings, "0.0.0.0")


def test_a_file_of_keys_that_cannot_be_used_lets_nobody_in(keyed: Shopfront) -> None:
    (keyed.folder / KEYS_FILE).chmod(0o644)
    for client in (keyed.client("desk-1"), keyed.client()):
        response = client.get("/v1/cars")
        assert response.status_code == 503
        assert response.json()["type"].endswith("/keys-unusable")


def test_a_browser_is_told_to_take_nothing_from_elsewhere(reader: TestClient) -> None:
    for response in (reader.get("/v1/cars"), reader.get("/nowhere")):
        assert response.headers["x-content-type-options"] == "nosniff"
        assert response.headers["x-frame-options"] == "DENY"
        assert response.headers["referrer-policy"] == "no-referrer"
        policy = response.headers["content-security-policy"]
        assert policy.startswith("default-src 'self'")
        assert "unsafe" not in policy


def test_scripts_of_other_sites_may_not_call_unless_set(front: Shopfront) -> None:
    response = front.client().get("/v1/cars", headers={"Origin": "https://shop.example"})
    assert "access-control-allow-origin" not in response.headers


def test_scripts_of_a_set_site_may_call(opened: Opening) -> None:
    client = opened(origins=("https://shop.example",)).client()
    asked = {
        "Origin": "https://shop.example",
        "Access-Control-Request-Method": "PUT",
        "Access-Control-Request-Headers": "if-match",
    }
    assert client.options("/v1/stock", headers=asked).status_code == 200
    plain = client.get("/v1/cars", headers={"Origin": "https://shop.example"})
    assert plain.headers["access-control-allow-origin"] == "https://shop.example"
    other = client.get("/v1/cars", headers={"Origin": "https://other.example"})
    assert "access-control-allow-origin" not in other.headers


@pytest.mark.parametrize("path", ["/v1/cars", "/v1/health", "/v1/ask?question=show%20hub"])
def test_head_says_what_get_would_without_the_body(reader: TestClient, path: str) -> None:
    got, headed = reader.get(path), reader.head(path)
    assert headed.status_code == got.status_code == 200
    assert headed.content == b""
    assert headed.headers.get("etag") == got.headers.get("etag")
    assert headed.headers["content-length"] == got.headers["content-length"]
