"""Other shop software gets the same answers over HTTP, and errors it can act on."""

from __future__ import annotations

import json
from collections.abc import Iterator

import jsonschema
import pytest
from fastapi.testclient import TestClient
from knockon.api.settings import Settings
from knockon.query.desk import Desk
from knockon.query.report import schema
from knockon.reasoner.catalogue import Catalogue

from .conftest import CHANGE, QUESTION

LONGEST_BODY = Settings().allowance.longest_body


def test_a_question_over_http_gets_what_the_desk_answers(reader: TestClient, desk: Desk) -> None:
    response = reader.post("/v1/ask", json={"question": QUESTION})
    assert response.status_code == 200
    assert response.json() == json.loads(desk.ask(QUESTION).model_dump_json())


def test_the_tree_of_a_sentence_gets_the_same_answer(reader: TestClient, desk: Desk) -> None:
    response = reader.post("/v1/ask", json={"tree": {"kind": "knock-ons", "change": CHANGE}})
    assert response.json() == json.loads(desk.ask(QUESTION).model_dump_json())


def test_an_answer_is_of_the_published_schema(reader: TestClient) -> None:
    answer = reader.post("/v1/ask", json={"question": QUESTION}).json()
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(answer, schema(), jsonschema.Draft202012Validator)


def test_the_same_question_gets_the_same_bytes(reader: TestClient) -> None:
    first, again = (reader.post("/v1/ask", json={"question": QUESTION}).content for _ in range(2))
    assert first == again


def test_a_follow_up_goes_on_from_the_question_before(reader: TestClient, desk: Desk) -> None:
    asked = {"question": "and if I keep the wheel?", "after": QUESTION}
    found = reader.post("/v1/ask", json=asked).json()
    assert found["question"] == QUESTION.replace("?", " keeping the wheel?")
    assert [kept["label"] for kept in found["kept"]] == ["wheel"]


def test_an_unknown_part_is_a_problem_with_the_nearest_names(reader: TestClient) -> None:
    response = reader.post("/v1/ask", json={"question": QUESTION.replace("HD hub", "HD hubb")})
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
        (b"[]", "bad-request"),
        (b"\xff\xfe", "bad-request"),
        (b'{"question": ""}', "bad-request"),
        (b'{"question": 5}', "bad-request"),
        (b'{"question": "x", "surprise": 1}', "bad-request"),
        (b'{"question": "x", "tree": {"kind": "let"}}', "bad-request"),
        (b'{"tree": {"kind": "nothing"}}', "bad-request"),
        (b'{"question": "x", "plans": 1e99}', "bad-request"),
        (b'{"question": "frobnicate the hub"}', "unexpected-word"),
        (b'{"question": "show \\u0000"}', "not-text"),
    ],
)
def test_what_is_wrong_with_a_request_is_said(reader: TestClient, body: bytes, slug: str) -> None:
    response = reader.post("/v1/ask", content=body, headers={"content-type": "application/json"})
    assert response.status_code == 422
    assert response.json()["type"].endswith(slug)
    assert "Traceback" not in response.text


def test_brackets_within_brackets_without_end_are_refused(reader: TestClient) -> None:
    response = reader.post(
        "/v1/ask", content=b"[" * 100_000, headers={"content-type": "application/json"}
    )
    assert response.status_code == 400
    assert response.headers["content-type"] == "application/problem+json"


def test_a_body_that_is_too_large_is_refused_unread(reader: TestClient) -> None:
    response = reader.post("/v1/ask", content=b"x" * (LONGEST_BODY + 1))
    assert response.status_code == 413
    assert response.json()["type"].endswith("too-large")


def test_a_streamed_body_that_is_too_large_is_refused(reader: TestClient) -> None:
    def stream() -> Iterator[bytes]:
        for _ in range(LONGEST_BODY // 1024 + 2):
            yield b"x" * 1024

    response = reader.post("/v1/ask", content=stream())
    assert response.status_code == 413


def test_health_tells_the_catalogue_that_answers(reader: TestClient, tiny: Catalogue) -> None:
    found = reader.get("/v1/health").json()
    assert found == {
        "status": "ok",
        "catalogue": tiny.version,
        "cars": len(tiny.cars),
        "parts": len(tiny.parts),
    }


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [("delete", "/v1/ask", 405), ("get", "/x", 404), ("patch", "/v1/stock", 405)],
)
def test_wrong_paths_and_methods_are_problems_too(
    reader: TestClient, method: str, path: str, status: int
) -> None:
    response = reader.request(method, path)
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
