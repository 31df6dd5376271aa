"""Over HTTP too: what was measured is answered with, sentences are read, lookalikes told apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from fastapi.testclient import TestClient
from knockon.api.app import create_app
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue

from ..conftest import TINY_DATA
from .conftest import HERE, QUESTION, Shopfront

SHAFT = "https://knockon.example/end/shaft-30"
HUB = "https://knockon.example/end/hub-30"


@pytest.fixture(scope="module")
def uncounted(build_tiny: Callable[..., Catalogue]) -> Iterator[TestClient]:
    """A service where nobody has counted the teeth of the HD half-shaft."""
    known = "ko:role role:shaft-spline ; ko:side ko:External ; ko:teeth 30 ;"
    data = TINY_DATA.replace(known, known.removesuffix(" ko:teeth 30 ;"))
    app = create_app(Desk(build_tiny(data)))
    with TestClient(app, base_url="http://localhost", client=HERE) as client:
        yield client


def test_a_check_says_what_to_send_back_and_is_settled_by_it(uncounted: TestClient) -> None:
    first = uncounted.post("/v1/ask", json={"question": QUESTION}).json()
    wanted = first["checks"][0]["values"][0]
    measured = [{"end": wanted["end"]["iri"], "quantity": wanted["property"]["iri"], "value": "30"}]
    again = uncounted.post("/v1/ask", json={"question": QUESTION, "measured": measured})
    assert again.json()["checks"] == []
    assert again.json()["catalogue"] != first["catalogue"]
    assert "content-location" not in again.headers


def test_what_was_measured_for_one_question_is_forgotten_for_the_next(
    uncounted: TestClient,
) -> None:
    tried = [{"first": HUB, "second": SHAFT}]
    settled = uncounted.post("/v1/ask", json={"question": QUESTION, "tried": tried}).json()
    plain = uncounted.post("/v1/ask", json={"question": QUESTION}).json()
    assert (len(settled["checks"]), len(plain["checks"])) == (0, 1)


def test_a_value_that_is_no_number_is_a_problem_in_words(uncounted: TestClient) -> None:
    measured = [{"end": SHAFT, "quantity": "teeth", "value": "thirty"}]
    response = uncounted.post("/v1/ask", json={"question": QUESTION, "measured": measured})
    assert response.status_code == 422
    assert "is a number, not “thirty”" in response.json()["detail"]


def test_an_answer_comes_in_inches_if_asked_for(uncounted: TestClient) -> None:
    asked = {"question": QUESTION, "units": "in", "language": "en-US"}
    response = uncounted.post("/v1/ask", json=asked)
    assert response.headers["content-language"] == "en-US"
    assert "4.7244 in against 3.937 in" in response.text
    assert "mm" in uncounted.post("/v1/ask", json={"question": QUESTION}).text


def test_a_follow_up_is_read_as_the_whole_question(uncounted: TestClient) -> None:
    body = {"question": "and if I keep the wheel?", "after": QUESTION}
    read = uncounted.post("/v1/read", json=body).json()
    assert read["question"] == f"{QUESTION.removesuffix('?')} keeping the wheel?"
    assert read["tree"]["change"]["terms"]["keeping"] == ["the wheel"]
    answer = uncounted.post("/v1/ask", json={"tree": read["tree"]}).json()
    assert answer["question"] == read["question"]


def test_lookalikes_are_told_apart_one_look_after_another(uncounted: TestClient) -> None:
    first = uncounted.post("/v1/identify/step", json={"sort": "hub"}).json()
    assert first["settled"] is None
    look = next(each for each in first["looks"] if "teeth" in each["observation"]["label"])
    assert look["kind"] == "count"
    seen = [{"observation": look["observation"]["iri"], "said": "30"}]
    then = uncounted.post("/v1/identify/step", json={"sort": "hub", "seen": seen}).json()
    assert then["settled"]["number"] == "TH-30"
    ruled_out = [c["part"]["number"] for c in then["candidates"] if c["remains"] == "ruled out"]
    assert ruled_out == ["TH-27"]


def test_a_count_that_is_no_number_is_told_in_words(uncounted: TestClient) -> None:
    looks = uncounted.post("/v1/identify/step", json={"sort": "hub"}).json()["looks"]
    observation = next(e for e in looks if e["kind"] == "count")["observation"]["iri"]
    seen = [{"observation": observation, "said": "many"}]
    response = uncounted.post("/v1/identify/step", json={"sort": "hub", "seen": seen})
    assert response.status_code == 422
    assert "many" in response.json()["detail"]


def test_the_pages_are_open_and_what_they_ask_for_is_not(front: Shopfront) -> None:
    elsewhere = front.client(address=("192.0.2.7", 1))
    for path in ("/", "/sheet", "/identify", "/maintain", "/web/look.css"):
        assert elsewhere.get(path).status_code == 200, path
    for path in ("/v1/cars", "/sheets", "/webs", "/web", "//v1/cars"):
        assert elsewhere.get(path).status_code == 401, path
