"""Long work goes on in the background, can be followed, and stops when it is not wanted."""

from __future__ import annotations

import asyncio
import json
import threading
from typing import Any

import pytest
from fastapi.testclient import TestClient
from knockon.api.jobs import Job, Jobs, JobState, Ticker
from knockon.api.problems import ApiError
from knockon.api.routes.system import Health

from .conftest import Shopfront

KIT = {"sort": "hub", "cars": ["Tiny T1 light"]}


def followed(client: TestClient, job: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Every event of a job, to its end."""
    events = []
    with client.stream("GET", job["events"]) as response:
        assert response.headers["content-type"].startswith("text/event-stream")
        name = ""
        for line in response.iter_lines():
            if line.startswith("event:"):
                name = line.removeprefix("event:").strip()
            elif line.startswith("data:"):
                events.append((name, json.loads(line.removeprefix("data:"))))
    return events


def test_a_kit_choice_ends_with_the_matrix(reader: TestClient) -> None:
    begun = reader.post("/v1/jobs/kit-choice", json=KIT)
    assert begun.status_code == 202
    assert begun.headers["location"] == begun.json()["href"]
    events = followed(reader, begun.json())
    assert events[-1][0] == "end"
    job = reader.get(begun.json()["href"]).json()
    assert (job["state"], job["done"], job["total"]) == ("done", 1, 1)
    matrix = job["result"]
    assert matrix["cars"] == ["Tiny T1 light"]
    assert [row["part"]["number"] for row in matrix["rows"]] == ["TH-27", "TH-30"]
    assert [row["total"] for row in matrix["rows"]] == [0, 2]
    assert {s["label"] for s in matrix["rows"][1]["cells"][0]["stations"]} == {
        "half-shaft",
        "wheel",
    }
    assert matrix["best"]["number"] == "TH-27"


def test_without_cars_all_cars_are_meant(reader: TestClient) -> None:
    begun = reader.post("/v1/jobs/kit-choice", json={"sort": "hub"}).json()
    assert begun["total"] == 1
    followed(reader, begun)


def test_many_questions_are_answered_in_their_order(reader: TestClient) -> None:
    body = {"questions": ["show hub", "frobnicate", "does HD hub fit Tiny T1?"]}
    begun = reader.post("/v1/jobs/questions", json=body).json()
    followed(reader, begun)
    items = reader.get(begun["href"]).json()["result"]["items"]
    assert [bool(item["answer"]) for item in items] == [True, False, True]
    assert items[1]["problem"]["error"] == "unexpected-word"


def test_what_is_not_understood_is_said_before_anything_is_begun(reader: TestClient) -> None:
    response = reader.post("/v1/jobs/kit-choice", json={**KIT, "sort": "hubb"})
    assert response.status_code == 422
    assert response.json()["type"].endswith("/unknown-name")


def test_nobody_sees_anothers_jobs(keyed: Shopfront) -> None:
    mine, theirs = keyed.client("desk-1"), keyed.client("desk-2")
    begun = mine.post("/v1/jobs/kit-choice", json=KIT).json()
    assert theirs.get(begun["href"]).status_code == 404
    assert theirs.get(begun["events"]).status_code == 404
    assert theirs.delete(begun["href"]).status_code == 404
    assert begun["id"] not in {job["id"] for job in theirs.get("/v1/jobs").json()["items"]}
    assert begun["id"] in {job["id"] for job in mine.get("/v1/jobs").json()["items"]}


def test_a_job_that_has_ended_can_be_forgotten(reader: TestClient) -> None:
    begun = reader.post("/v1/jobs/kit-choice", json=KIT).json()
    followed(reader, begun)
    assert reader.delete(begun["href"]).status_code == 204
    assert reader.get(begun["href"]).status_code == 404


# ---------------------------------------------------------------------- the jobs themselves


@pytest.fixture
def jobs() -> Any:
    made = Jobs()
    yield made
    made.close()


def ended(job: Job) -> Job:
    asyncio.run(_end_of(job))
    return job


async def _end_of(job: Job) -> None:
    with Ticker(job) as ticker:
        while job.state in (JobState.WAITING, JobState.RUNNING):
            await ticker.next(0.05)


def value() -> Health:
    return Health(status="ok", catalogue="", cars=0, parts=0)


def test_a_cancelled_job_stops_at_its_next_step(jobs: Jobs) -> None:
    begun, go_on = threading.Event(), threading.Event()
    steps = []

    def work(job: Job) -> Health:
        for step in "abc":
            job.step(step)
            steps.append(step)
            begun.set()
            go_on.wait(10)
        return value()

    job = jobs.begin("desk-1", "questions", 3, work)
    begun.wait(10)
    jobs.cancel(job)
    go_on.set()
    assert ended(job).state is JobState.CANCELLED
    assert steps == ["a"]


def test_a_job_cancelled_while_it_waits_is_never_begun(jobs: Jobs) -> None:
    hold = threading.Event()
    first = jobs.begin("desk-1", "questions", 1, lambda job: hold.wait(10) and value())  # type: ignore[arg-type, return-value]
    second = jobs.begin("desk-1", "questions", 1, lambda job: pytest.fail("was begun"))
    jobs.cancel(second)
    hold.set()
    assert ended(first).state is JobState.DONE
    assert ended(second).state is JobState.CANCELLED


def test_a_job_that_goes_wrong_inside_says_so_without_details(jobs: Jobs) -> None:
    def work(job: Job) -> Health:
        raise ZeroDivisionError("secret")

    job = ended(jobs.begin("desk-1", "questions", 1, work))
    assert job.state is JobState.FAILED
    assert "secret" not in str(job.problem)


def test_one_owner_cannot_fill_the_queue(jobs: Jobs) -> None:
    hold = threading.Event()
    for _ in range(10):
        jobs.begin("desk-1", "questions", 1, lambda job: hold.wait(10) and value())  # type: ignore[arg-type, return-value]
    with pytest.raises(ApiError) as caught:
        jobs.begin("desk-1", "questions", 1, lambda job: value())
    assert caught.value.status == 429
    jobs.begin("desk-2", "questions", 1, lambda job: value())
    hold.set()


def test_a_listener_hears_every_step(jobs: Jobs) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def work(job: Job) -> Health:
        begun.wait(10)
        job.step("first")
        go_on.wait(10)
        return value()

    job = jobs.begin("desk-1", "questions", 1, work)

    async def listen() -> list[str]:
        heard = []
        with Ticker(job) as ticker:
            begun.set()
            assert await ticker.next(10)
            heard.append(job.about)
            go_on.set()
            while job.state is not JobState.DONE:
                assert await ticker.next(10)
            assert not await ticker.next(0.01)
        return heard

    assert asyncio.run(listen()) == ["first"]
    assert not job.listeners
