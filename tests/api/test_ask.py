"""Other shop software gets the same answers over HTTP, and errors it can act on."""

from __future__ import annotations

import json
from collections.abc import Iterator

import jsonschema
import pytest
from fastapi.testclient import TestClient
from knockon.api.app import LONGEST_BODY, create_app
from knockon.query.desk import Desk
from knockon.query.report import schema
from knockon.reasoner.catalogue import Catalogue

QUESTION = "what else must change if I fit HD hub to Tiny T1 light?"


@pytest.fixture(scope="module")
def client(tiny: Catalogue) -> Iterator[TestClient]:
    with TestClient(create_app(Desk(tiny)), raise_server_exceptions=False) as client:
        yield client


def test_a_question_over_http_gets_what_the_desk_answers(
    client: TestClient, tiny: Catalogue
) -> None:
    response = client.post("/v1/ask", json={"question": QUESTION})
    assert response.status_code == 200
    assert response.json() == json.loads(Desk(tiny).ask(QUESTION).model_dump_json())


def test_an_answer_is_of_the_published_schema(client: TestClient) -> None:
    answer = client.post("/v1/ask", json={"question": QUESTION}).json()
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(answer, schema(), jsonschema.Draft202012Validator)


def test_the_same_question_gets_the_same_bytes(client: TestClient) -> None:
    first, again = (client.post("/v1/ask", json={"question": QUESTION}).content for _ in range(2))
    assert first == again


def test_an_unknown_part_is_a_problem_with_the_nearest_names(client: TestClient) -> None:
    response = client.post("/v1/ask", json={"question": QUESTION.replace("HD hub", "HD hubb")})
    assert response.status_code == 422
    assert response.headers["content-type"] == "application/problem+json"
    found = response.json()
    assert found["type"].endswith("/unknown-name")
    assert found["nearest"][0] == "HD hub"
    assert found["column"] == 32


@pytest.mark.parametrize(
    ("body", "slug"),
    [
        (b"", "bad-request"),
        (b"{", "bad-request"),
        (b'{"question": ""}', "bad-request"),
        (b'{"question": 5}', "bad-request"),
        (b'{"question": "x", "surprise": 1}', "bad-request"),
        (b'{"question": "frobnicate the hub"}', "unexpected-word"),
    ],
)
def test_what_is_wrong_with_a_request_is_said(client: TestClient, body: bytes, slug: str) -> None:
    response = client.post("/v1/ask", content=body, headers={"content-type": "application/json"})
    assert response.status_code == 422
    assert response.json()["type"].endswith(slug)


def test_a_body_that_is_too_large_is_refused_unread(client: TestClient) -> None:
    response = client.post("/v1/ask", content=b"x" * (LONGEST_BODY + 1))
    assert response.status_code == 413
    assert response.json()["type"].endswith("too-large")


def test_a_streamed_body_that_is_too_large_is_refused(client: TestClient) -> None:
    def stream() -> Iterator[bytes]:
        for _ in range(LONGEST_BODY // 1024 + 2):
            yield b"x" * 1024

    response = client.post("/v1/ask", content=stream())
    assert response.status_code == 413


def test_health_tells_the_catalogue_that_answers(client: TestClient, tiny: Catalogue) -> None:
    found = client.get("/v1/health").json()
    assert found == {
        "status": "ok",
        "catalogue": tiny.version,
        "cars": len(tiny.cars),
        "parts": len(tiny.parts),
    }


@pytest.mark.parametrize(
    ("method", "path", "status"), [("get", "/v1/ask", 405), ("get", "/x", 404)]
)
def test_wrong_paths_and_methods_are_problems_too(
    client: TestClient, method: str, path: str, status: int
) -> None:
    response = client.request(method, path)
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
