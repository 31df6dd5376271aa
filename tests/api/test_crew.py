"""Questions answered by processes side by side: the same answers, whatever befalls a process."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from knockon.api.asked import Asked, worked_out
from knockon.api.crew import AskedOfCrew, Crew
from knockon.api.hand import State
from knockon.api.problems import ApiError
from knockon.api.workbench import state_of
from knockon.query.conversation import Conversation
from knockon.query.desk import Desk
from knockon.query.errors import QueryError
from knockon.query.in_hand import MeasuredValue
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import KnockonError
from knockon.reasoner.supply import StockItem

from .conftest import QUESTION, Keys, Opening
from .serving import alive

JSON = "application/json"
ASKED = Asked(QUESTION, JSON, plans=0)


@pytest.fixture(scope="module")
def crew(desk: Desk) -> Iterator[Crew]:
    made = Crew(2)
    yield made
    before = made.processes
    made.close()
    assert not [process for process in before if alive(process)]


@pytest.fixture
def state(desk: Desk) -> State:
    return state_of(desk, "tiny")


class OnArrival:
    """Something that is done in the process that it is sent to, on arrival."""

    def __init__(self, done: Any, *how: Any) -> None:
        self._done = (done, how)

    def __reduce__(self) -> Any:
        return self._done


def with_(what: OnArrival) -> Asked:
    return replace(ASKED, measured=(what,))  # type: ignore[arg-type]


def test_a_process_answers_byte_for_byte_what_the_desk_does(
    crew: Crew, state: State, desk: Desk
) -> None:
    for asked in (ASKED, Asked("show HD hub", "application/ld+json"), Asked(QUESTION, JSON, 2)):
        assert crew.ask(state, asked, 30).result() == worked_out(desk, asked)


def test_what_is_not_understood_is_told_alike(crew: Crew, state: State, desk: Desk) -> None:
    wrong = Asked("show HD hubb", JSON)
    with pytest.raises(QueryError) as here:
        worked_out(desk, wrong)
    with pytest.raises(QueryError) as there:
        crew.ask(state, wrong, 30).result()
    assert type(there.value) is type(here.value)
    assert there.value.problem == here.value.problem
    nowhere = MeasuredValue(end="end:none", quantity="teeth", value="30")
    with pytest.raises(KnockonError, match="end:none"):
        crew.ask(state, replace(ASKED, measured=(nowhere,)), 30).result()


def test_stock_goes_along_with_the_question(crew: Crew, state: State, tiny: Catalogue) -> None:
    stock = tuple(StockItem(part, 1, "used", None) for part in tiny.parts)
    stocked = replace(state, tag="stocked", stock=stock)
    asked = Asked("what else must change if I fit HD hub to Tiny T1 light using stock?", JSON, 1)
    expected = worked_out(Desk(tiny, stocked.stock), asked)
    for _ in range(2):
        assert crew.ask(stocked, asked, 30).result() == expected
        assert crew.ask(state, asked, 30).result() != expected


def test_another_version_of_the_catalogue_is_answered_from_at_once(
    crew: Crew, state: State, renamed: Catalogue
) -> None:
    after = state_of(Desk(renamed), "renamed")
    for opened in crew.serve(after):
        opened.result()
    asked = Asked(QUESTION.replace("Tiny T1 light", "“Tiny T1 light, renamed”"), JSON, 0)
    assert renamed.version.encode() in crew.ask(after, asked, 30).result()
    # One who asked just before still gets what he asked of.
    assert state.catalogue.version.encode() in crew.ask(state, ASKED, 30).result()


def test_a_process_that_is_killed_is_replaced_and_the_question_answered(
    crew: Crew, state: State
) -> None:
    for opened in crew.serve(state):
        opened.result()
    before = crew.processes
    for process in before:
        os.kill(process, signal.SIGKILL)
    for _ in before:
        assert crew.ask(state, ASKED, 30).result()
    assert not [process for process in before if alive(process)]


def test_a_question_that_kills_every_process_is_refused_in_words(crew: Crew, state: State) -> None:
    with pytest.raises(ApiError, match="ended before it was done") as raised:
        crew.ask(state, with_(OnArrival(os._exit, 1)), 30).result()
    assert raised.value.status == 503
    assert crew.ask(state, ASKED, 30).result()


def test_a_question_that_takes_too_long_loses_its_process(crew: Crew, state: State) -> None:
    began, before = time.monotonic(), set(crew.processes)
    with pytest.raises(ApiError, match=r"No answer within 0\.2 s") as raised:
        crew.ask(state, with_(OnArrival(time.sleep, 600)), 0.2).result()
    assert raised.value.status == 504
    assert len([process for process in before if alive(process)]) < len(before)
    assert crew.ask(state, ASKED, 30).result()
    assert time.monotonic() - began < 300


def test_a_catalogue_that_cannot_be_opened_is_refused_in_words(crew: Crew, state: State) -> None:
    gone = replace(state.catalogue, version="gone", parts=OnArrival(open, "/nowhere/at/all"))
    with pytest.raises(ApiError, match="cannot be opened") as raised:
        crew.ask(replace(state, tag="gone", catalogue=gone), ASKED, 30).result()
    assert raised.value.status == 503
    assert crew.ask(state, ASKED, 30).result()


def test_nobody_waits_for_a_crew_that_has_gone_home(state: State) -> None:
    crew = Crew(1)
    asked = [crew.ask(state, with_(OnArrival(time.sleep, 600)), 600) for _ in range(3)]
    crew.close()
    assert all(each.done() for each in asked)


def test_a_conversation_goes_on_from_process_to_process(crew: Crew, state: State) -> None:
    asks, talk = AskedOfCrew(crew, state, 30), Conversation()
    asks.ask("let mine be Tiny T1 light", talk=talk)
    found = asks.ask("what else must change if I fit HD hub to mine?", plans=0, talk=talk)
    follow = asks.ask("and if I keep the wheel?", plans=0, talk=talk)
    assert list(talk.builds) == ["mine"]
    assert follow.question == found.question.replace("?", " keeping the wheel?")


def test_over_http_the_answers_are_the_same_and_a_reload_is_heard_of(
    opened: Opening, keys: Keys, renamed: Catalogue, desk: Desk
) -> None:
    front = opened(keyed=True, workers=2)
    service = front.app.state.service
    with front.client("desk-1") as client:
        found = client.post("/v1/ask", json={"question": QUESTION, "plans": 1})
        assert found.content == worked_out(desk, Asked(QUESTION, JSON, 1))
        wrong = client.post("/v1/ask", json={"question": "show HD hubb"})
        assert (wrong.status_code, wrong.json()["nearest"][0]) == (422, "HD hub")
        client.put("/v1/builds/mine", json={"car": "Tiny T1 light"}).raise_for_status()
        mine = QUESTION.replace("Tiny T1 light", "mine")
        assert client.post("/v1/ask", json={"question": mine}).json()["car"]["label"] == "mine"
        change = {"fits": [{"part": "HD hub"}], "car": "Tiny T1 light"}
        sheet = client.post("/v1/job-sheet", json={"change": change})
        assert sheet.status_code == 200
        assert sheet.text.startswith("#")
        begun = client.post("/v1/jobs/questions", json={"questions": ["show HD hub", "show it"]})
        while (job := client.get(begun.json()["href"]).json())["state"] in ("waiting", "running"):
            pass
        assert [item["problem"] is None for item in job["result"]["items"]] == [True, False]
        processes = service.workbench.crew.processes
        service.replace(renamed)
        after = client.post("/v1/ask", json={"question": "show HD hub"})
        assert after.json()["catalogue"] == renamed.version
    service.close()
    assert processes
    assert not [process for process in processes if alive(process)]
