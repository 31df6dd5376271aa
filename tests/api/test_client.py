"""The typed client: the service's own values, and errors by sort."""

from __future__ import annotations

import httpx2
import pytest
from fastapi.testclient import TestClient
from knockon.api.client import (
    Conflicting,
    Knockon,
    NotAllowed,
    NotThere,
    NotUnderstood,
    TooMuch,
    Unreachable,
)
from knockon.api.routes.jobs import BeginQuestions
from knockon.api.routes.stock import StockRow
from knockon.api.settings import Allowance
from knockon.query.answer import Answer
from knockon.query.desk import Desk
from knockon.query.report import Report

from .conftest import QUESTION, Opening, Shopfront


def client(front: Shopfront, owner: str = "desk-1", **more: object) -> Knockon:
    return Knockon(key=front.keys[owner], http=front.client(), **more)  # type: ignore[arg-type]


@pytest.fixture
def mine(keyed: Shopfront) -> Knockon:
    return client(keyed)


def test_answers_are_the_values_that_the_desk_gives(mine: Knockon, desk: Desk) -> None:
    assert mine.ask(QUESTION) == desk.ask(QUESTION)
    assert mine.plans("Tiny T1 light", ["HD hub"]) == desk.ask(QUESTION)
    assert isinstance(mine.ask("show hub"), Report)
    assert isinstance(mine.knock_ons("Tiny T1 light", ["HD hub@hub"]), Answer)
    assert mine.why_must("wheel", "Tiny T1 light", ["HD hub"]).summary
    assert mine.job_sheet("Tiny T1 light", ["HD hub"]).startswith("# Job sheet")


def test_lists_are_followed_to_their_end(mine: Knockon) -> None:
    assert [part.number for part in mine.parts(station="wheel")] == ["TW-120", "TW-100"]
    assert [car.label for car in mine.cars()] == ["Tiny T1 light"]
    assert mine.part("TH-30").ends
    assert mine.car("tiny").fits
    assert mine.health().status == "ok"


def test_a_build_is_saved_replaced_and_dropped(mine: Knockon) -> None:
    saved, tag = mine.save_build("red", "Tiny T1 light", {"hub": "HD hub", "wheel adapter": None})
    assert saved.fits["https://knockon.example/station/spacer"] is None
    _, after = mine.save_build("red", "Tiny T1 light", {}, replacing=tag)
    assert mine.build("red")[1] == after
    mine.drop_build("red", after)
    assert list(mine.builds()) == []


def test_stock_is_read_and_replaced(mine: Knockon) -> None:
    _, tag = mine.stock()
    mine.replace_stock([StockRow(part="TH-30", count=2)], tag)
    after, tag = mine.stock()
    assert [row.count for row in after.items] == [2]
    assert mine.replace_stock("part,count\n", tag).items == ()


def test_a_job_is_followed_to_its_result(mine: Knockon) -> None:
    job = mine.begin(BeginQuestions(questions=("show hub",)))
    last = list(mine.follow(job.id))[-1]
    assert last.state == "done"
    assert last.result is not None
    mine.cancel(job.id)
    with pytest.raises(NotThere):
        mine.job(job.id)


def test_a_question_to_be_told_about_comes_with_its_secret(mine: Knockon) -> None:
    assert mine.save_question(QUESTION, "http://127.0.0.1:9/x").secret


def test_errors_come_by_sort(keyed: Shopfront, mine: Knockon) -> None:
    with pytest.raises(NotUnderstood) as unknown:
        mine.knock_ons("Tiny T1 light", ["HD hubb"])
    assert unknown.value.slug == "unknown-name"
    assert unknown.value.more["nearest"][0] == "HD hub"
    with pytest.raises(NotThere):
        mine.part("TH-31")
    with pytest.raises(NotAllowed):
        client(keyed, "asker").save_build("red", "Tiny T1 light", {})
    mine.save_build("red", "Tiny T1 light", {})
    with pytest.raises(Conflicting):
        mine.save_build("red", "Tiny T1 light", {})


def test_who_comes_too_often_waits_as_long_as_told(opened: Opening) -> None:
    front, waits = opened(keyed=True, allowance=Allowance(rate=0.5, burst=1)), list[float]()
    asking = client(front, tries=2, sleep=waits.append)
    asking.health()
    asking.part("TH-30")
    with pytest.raises(TooMuch) as caught:
        asking.part("TH-30")
    assert waits == [2.0]
    assert caught.value.retry_after == 2.0


def test_a_service_that_is_not_there_is_said_so() -> None:
    def refuse(request: httpx2.Request) -> httpx2.Response:
        raise httpx2.ConnectError("refused", request=request)

    http = httpx2.Client(base_url="http://x", transport=httpx2.MockTransport(refuse))
    with pytest.raises(Unreachable):
        Knockon(http=http).health()


def test_something_else_that_answers_is_said_so() -> None:
    http = httpx2.Client(
        base_url="http://x",
        transport=httpx2.MockTransport(lambda _: httpx2.Response(404, text="?")),
    )
    with pytest.raises(Unreachable), Knockon(http=http) as elsewhere:
        elsewhere.health()


def test_figures_tell_routes_not_names(keyed: Shopfront) -> None:
    asker: TestClient = keyed.client("asker")
    asker.get("/v1/parts/TH-30")
    asker.get("/v1/parts/NOPE")
    asker.request("BREW", "/v1/cars")
    found = asker.get("/v1/metrics")
    assert found.headers["content-type"].startswith("text/plain; version=0.0.4")
    assert 'route="/v1/parts/{key:path}",status="200"' in found.text.replace('method="GET",', "")
    assert "NOPE" not in found.text
    assert 'method="other"' in found.text
    assert "knockon_catalogue{version=" in found.text
