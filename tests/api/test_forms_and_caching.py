"""One answer, in the form a client likes, and asked for again only when it may have changed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from knockon.query.desk import Desk
from knockon.query.render_jsonld import as_jsonld
from knockon.reasoner.catalogue import Catalogue

from .conftest import CHANGE, QUESTION, Opening, Shopfront

IF = QUESTION.removeprefix("what else must change ")


@pytest.mark.parametrize(
    ("path", "body", "sentence"),
    [
        ("plans", {"change": CHANGE}, QUESTION),
        ("why-must", {"change": CHANGE, "station": "wheel"}, f"why must wheel change {IF}"),
        ("why-not", {"change": CHANGE, "part": "small wheel"}, f"why not small wheel {IF}"),
        ("does-fit", {"part": "HD hub", "car": "Tiny T1 light"}, "does HD hub fit Tiny T1 light?"),
        ("does-mate", {"first": "TS-30", "second": "TH-30"}, "does TS-30 mate with TH-30?"),
        ("what-fits", {"station": "hub", "car": "Tiny T1"}, "what fits hub on Tiny T1?"),
        ("where-fits", {"part": "HD hub"}, "where does HD hub fit?"),
        (
            "kit-choice",
            {"sort": "hub", "cars": ["Tiny T1 light"]},
            "which hub needs the least change across Tiny T1 light?",
        ),
        ("tell-apart", {"first": "TH-27", "second": "TH-30"}, "how do I tell TH-27 from TH-30?"),
        (
            "differences",
            {"first": "Tiny T1", "second": "Tiny T1 light"},
            "what differs between Tiny T1 and Tiny T1 light?",
        ),
    ],
)  # fmt: skip
def test_a_form_of_question_has_the_answer_of_its_sentence(
    reader: TestClient, desk: Desk, path: str, body: dict[str, object], sentence: str
) -> None:
    response = reader.post(f"/v1/{path}", json=body)
    assert response.status_code == 200, response.text
    assert response.json() == json.loads(desk.ask(sentence).model_dump_json())


def test_what_no_sentence_can_say_is_refused(reader: TestClient) -> None:
    bad = {"change": {**CHANGE, "terms": {"cost": {"value": "5", "unit": "kg"}}}}
    response = reader.post("/v1/plans", json=bad)
    assert response.status_code == 422
    assert response.json()["type"].endswith("bad-tree")


@pytest.mark.parametrize("extra", [{"x": 1}, {"change": {**CHANGE, "x": 1}}])
def test_an_unknown_field_is_refused_at_any_depth(
    reader: TestClient, extra: dict[str, object]
) -> None:
    response = reader.post("/v1/plans", json={"change": CHANGE, **extra})
    assert response.status_code == 422
    assert response.json()["type"].endswith("bad-request")


def test_content_location_has_the_same_answer_to_get(reader: TestClient) -> None:
    posted = reader.post("/v1/plans", json={"change": CHANGE, "plans": 2})
    got = reader.get(posted.headers["content-location"])
    assert got.content == posted.content
    assert got.headers["etag"] == posted.headers["etag"]


def test_an_answer_comes_as_json_ld_to_whoever_likes_that(reader: TestClient, desk: Desk) -> None:
    response = reader.get(
        "/v1/ask", params={"question": QUESTION}, headers={"Accept": "application/ld+json"}
    )
    assert response.headers["content-type"] == "application/ld+json"
    assert response.json() == as_jsonld(desk.ask(QUESTION))


def test_a_form_that_is_not_on_offer_is_not_acceptable(reader: TestClient) -> None:
    response = reader.get(
        "/v1/ask", params={"question": QUESTION}, headers={"Accept": "image/png, text/html;q=0.5"}
    )
    assert response.status_code == 406
    assert response.json()["offered"] == ["application/json", "application/ld+json"]


def test_who_has_the_answer_is_told_that_it_still_holds(reader: TestClient) -> None:
    first = reader.get("/v1/ask", params={"question": QUESTION})
    again = reader.get(
        "/v1/ask", params={"question": QUESTION}, headers={"If-None-Match": first.headers["etag"]}
    )
    assert again.status_code == 304
    assert again.content == b""
    assert again.headers["etag"] == first.headers["etag"]


def test_each_form_and_question_has_a_tag_of_its_own(reader: TestClient) -> None:
    def tag(question: str, accept: str, plans: int) -> str:
        asked = {"question": question, "plans": plans}
        found = reader.get("/v1/ask", params=asked, headers={"Accept": accept}).headers["etag"]
        return str(found)

    tags = {
        tag(QUESTION, "application/json", 3),
        tag(QUESTION, "application/ld+json", 3),
        tag(QUESTION, "application/json", 1),
        tag("show hub", "application/json", 3),
    }
    assert len(tags) == 4


def test_other_stock_makes_another_answer_and_another_tag(front: Shopfront) -> None:
    client, asked = front.client(), {"question": QUESTION.replace("?", " using stock?")}
    before = client.get("/v1/ask", params=asked)
    rows = "part,count,condition,price\n" + "".join(
        f"{p},2,used,5\n" for p in ("TH-30", "TS-30", "TW-120")
    )
    Path(front.folder / "stock.csv").write_text(rows, "utf-8")
    after = client.get("/v1/ask", params=asked, headers={"If-None-Match": before.headers["etag"]})
    assert after.status_code == 200
    assert not before.json()["workable"]
    assert after.json()["workable"]


def test_a_new_catalogue_makes_a_new_tag(opened: Opening, renamed: Catalogue) -> None:
    front = opened()
    client = front.client()
    before = client.get("/v1/cars")
    front.app.state.service.replace(renamed)
    after = client.get("/v1/cars", headers={"If-None-Match": before.headers["etag"]})
    assert after.status_code == 200
    assert after.json()["items"][0]["label"] == "Tiny T1 light, renamed"


def test_a_job_sheet_is_markdown_to_print(reader: TestClient) -> None:
    response = reader.post("/v1/job-sheet", json={"change": CHANGE, "units": "in"})
    assert response.headers["content-type"] == "text/markdown; charset=utf-8"
    assert response.text.startswith("# Job sheet: HD hub for Tiny T1 light")


def test_there_is_no_job_sheet_of_a_plan_that_is_not_there(reader: TestClient) -> None:
    response = reader.post("/v1/job-sheet", json={"change": CHANGE, "plan": 9})
    assert response.status_code == 422
    assert "no plan 9" in response.json()["detail"]


def test_completion_offers_names_of_the_catalogue(reader: TestClient) -> None:
    found = reader.get("/v1/complete", params={"text": "what fits h"}).json()["items"]
    assert {"hub", "half-shaft"} <= {each["text"] for each in found}


def test_completion_looks_only_at_what_stands_before_the_cursor(reader: TestClient) -> None:
    asked = {"text": "what fits h and more", "cursor": len("what fits h")}
    found = reader.get("/v1/complete", params=asked).json()["items"]
    assert "hub" in {each["text"] for each in found}
