"""Every kind of question is answered over HTTP, follow-ups included."""

from __future__ import annotations

import json

import pytest
from fastapi.testclient import TestClient
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

CHANGE = "what else must change if I fit HD hub to Tiny T1 light?"


@pytest.fixture
def client(reader: TestClient) -> TestClient:
    return reader


@pytest.mark.parametrize(
    ("question", "kind"),
    [
        (CHANGE, "knock-ons"),
        ("does HD hub fit Tiny T1 light?", "does-fit"),
        ("show TH-30", "show"),
        ("what is the track width on Tiny T1 light?", "calculation"),
    ],
)
def test_the_kind_tells_which_sort_of_answer_it_is(
    client: TestClient, tiny: Catalogue, question: str, kind: str
) -> None:
    response = client.post("/v1/ask", json={"question": question})
    assert response.status_code == 200
    assert response.json()["kind"] == kind
    assert response.json() == json.loads(Desk(tiny).ask(question).model_dump_json())


def test_a_follow_up_names_the_question_it_goes_on_from(client: TestClient) -> None:
    asked = {"question": "and if I keep the wheel?", "after": CHANGE}
    answer = client.post("/v1/ask", json=asked).json()
    assert answer["question"] == f"{CHANGE[:-1]} keeping the wheel?"
    assert answer["workable"] is False


def test_a_follow_up_of_nothing_is_a_typed_problem(client: TestClient) -> None:
    response = client.post("/v1/ask", json={"question": "and if I keep the wheel?"})
    assert response.status_code == 422
    assert response.json()["type"].endswith("nothing-to-follow")


def test_a_question_of_things_that_have_no_such_answer_is_a_typed_problem(
    client: TestClient,
) -> None:
    response = client.post("/v1/ask", json={"question": "compare TH-27 with Tiny T1 light"})
    assert response.status_code == 422
    assert response.json()["type"].endswith("no-answer")
