"""Long work as jobs: begun, looked at, followed as it goes on, cancelled."""

from __future__ import annotations

import time
from collections.abc import AsyncIterator
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Path, Response
from fastapi.responses import StreamingResponse
from fastapi.sse import KEEPALIVE_COMMENT, format_sse_event
from pydantic import Field

from ...query.answer import Answer, Value
from ...query.batch import answered
from ...query.names import resolve_one
from ...query.phrases import CarName, SortName
from ...query.preview_note import Preview
from ...query.report import Report
from ...query.syntax import Terms
from ...reasoner.build import stock_build
from ...reasoner.kit_choice import kit_parts
from ..admission import Asking
from ..bodies import Body as Asked
from ..bodies import openapi_examples
from ..jobs import ENDED, Job, JobState, Ticker
from ..matrix import FitmentMatrix, matrix
from ..problems import ApiError, documented, not_found
from ..service import Served

router = APIRouter(prefix="/jobs", tags=["jobs"], responses=documented(401, 422, 429, 503))
_BEGUN: dict[str, Any] = {"status_code": 202, "responses": documented(413)}
_LONGEST_FOLLOWED = 600.0
_HEARTBEAT = 15.0


class BeginKitChoice(Asked):
    """Rank the parts of a sort by how little changes over many cars; without cars, over all."""

    sort: SortName
    cars: Annotated[tuple[CarName, ...], Field(max_length=500)] = ()
    terms: Terms = Terms()


class BeginQuestions(Asked):
    """Many sentences, answered one after another as one conversation."""

    questions: Annotated[
        tuple[Annotated[str, Field(min_length=1, max_length=4000)], ...],
        Field(min_length=1, max_length=1000),
    ]
    plans: Annotated[int, Field(ge=0, le=10)] = 0


class Answered(Value):
    """What came of one question: an answer, or the problem with it."""

    question: str
    answer: Annotated[Answer | Report, Field(discriminator="kind")] | None = None
    problem: dict[str, Any] | None = None


class AllAnswered(Value):
    """What came of many questions, in their order."""

    items: tuple[Answered, ...]


class JobSaid(Value):
    """What became of the catalogue, in words, and the version that answers now."""

    said: str
    catalogue: str


class JobNote(Value):
    """How far a job is, and what came of it."""

    id: str
    href: str
    events: str = Field(description="where it can be followed as it goes on")
    kind: Literal["kit-choice", "questions", "preview", "accept", "undo"]
    state: JobState
    done: int
    total: int
    about: str = Field(description="what is worked on now")
    result: FitmentMatrix | AllAnswered | Preview | JobSaid | None = None
    problem: dict[str, Any] | None = None


class JobList(Value):
    """Your jobs, oldest first, without their results."""

    items: tuple[JobNote, ...]


@router.post("/kit-choice", summary="Begin a kit choice over many cars", **_BEGUN)
def begin_kit_choice(
    response: Response,
    service: Served,
    caller: Asking,
    body: Annotated[
        BeginKitChoice,
        Body(
            openapi_examples=openapi_examples(
                {"sort": "rear rotor", "cars": ["Wether W1", "Wether W2 late"]}
            )
        ),
    ],
) -> JobNote:
    """Begin it; the job says under `href` how far it is, and has the matrix when it is done."""
    desk = service.counter(caller).desk
    resolver, known = desk.resolver, desk.catalogue
    entry = resolve_one(body.sort, desk.index)
    station = entry.iri if entry.what == "station" else ""
    family = entry.iri if entry.what == "family" else ""
    parts = kit_parts(desk.mating, station=station, family=family)
    builds = tuple(map(resolver.build, body.cars)) or tuple(
        stock_build(known, car) for car in known.cars.values()
    )
    if not parts or not builds:
        detail = f"No part is known for {entry.label}, or no car."
        raise ApiError(422, "no-answer", "Nothing to choose from", detail)
    wishes = resolver.wishes({}, body.terms, builds[0])
    parts = tuple(part for part in parts if not any(part in ban.parts for ban in wishes.bans))
    supply = resolver.supply(body.terms)

    def work(job: Job) -> FitmentMatrix:
        return matrix(
            desk.mating,
            desk.composer,
            parts,
            builds,
            station=station,
            wishes=wishes,
            supply=supply,
            begin=job.step,
        )

    return begun(response, service.jobs.begin(caller.owner, "kit-choice", len(builds), work))


@router.post("/questions", summary="Begin answering many questions", **_BEGUN)
def begin_questions(
    response: Response,
    service: Served,
    caller: Asking,
    body: Annotated[
        BeginQuestions,
        Body(
            openapi_examples=openapi_examples(
                {"questions": ["show Wether W1", "does HD rear hub fit Wether W1?"]}
            )
        ),
    ],
) -> JobNote:
    """Begin it; what came of each question is in the job when it is done."""
    counter = service.counter(caller)
    desk = service.workbench.asker(counter.desk, counter.tag)

    def work(job: Job) -> AllAnswered:
        def told() -> Any:
            for question in body.questions:
                job.step(question[:200])
                # Lines are what a conversation is made of, so a question may be only one.
                yield " ".join(question.split())

        found = [
            Answered(
                question=outcome.question,
                answer=outcome.reply,
                problem=None if outcome.error is None else outcome.error.as_data(),
            )
            for outcome in answered(told(), desk, plans=body.plans)
        ]
        return AllAnswered(items=tuple(found))

    return begun(response, service.jobs.begin(caller.owner, "questions", len(body.questions), work))


@router.get("", summary="Your jobs")
def list_jobs(service: Served, caller: Asking) -> JobList:
    """Jobs that you began and that are still known."""
    jobs = service.jobs.of(caller.owner)
    return JobList(items=tuple(_note(job, full=False) for job in jobs))


Key = Annotated[str, Path(max_length=64)]


@router.get("/{key}", summary="One job", responses=documented(404))
def get_job(key: Key, service: Served, caller: Asking) -> JobNote:
    """How far a job is, with its result when it is done."""
    return _note(_found(service, caller, key))


@router.get(
    "/{key}/events",
    summary="Follow a job",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}, **documented(404)},
)
async def follow_job(key: Key, service: Served, caller: Asking) -> StreamingResponse:
    """Server-sent events: `progress` with the job each time it goes on, `end` when it has ended.

    After ten minutes the stream ends; follow again to go on.
    """
    job = _found(service, caller, key)
    return StreamingResponse(
        _events(job), media_type="text/event-stream", headers={"Cache-Control": "no-store"}
    )


@router.delete("/{key}", status_code=204, summary="Cancel a job", responses=documented(404))
def cancel_job(key: Key, service: Served, caller: Asking) -> None:
    """Stop a job at its next step; one that has ended is forgotten."""
    service.jobs.cancel(_found(service, caller, key))


# ---------------------------------------------------------------------- inside


def _found(service: Served, caller: Asking, key: str) -> Job:
    job = service.jobs.find(caller.owner, key)
    if job is None:
        raise not_found("job", key)
    return job


def begun(response: Response, job: Job) -> JobNote:
    """How far a job is that was just begun, and where it is found."""
    response.headers["Location"] = f"/v1/jobs/{job.id}"
    return _note(job)


def _note(job: Job, *, full: bool = True) -> JobNote:
    return JobNote.model_validate(
        {
            "id": job.id,
            "href": f"/v1/jobs/{job.id}",
            "events": f"/v1/jobs/{job.id}/events",
            "kind": job.kind,
            "state": job.state,
            "done": job.done,
            "total": job.total,
            "about": job.about,
            "result": job.result if full else None,
            "problem": job.problem,
        }
    )


async def _events(job: Job) -> AsyncIterator[bytes]:
    until = time.monotonic() + _LONGEST_FOLLOWED
    told = 0
    with Ticker(job) as ticker:
        while True:
            ended = job.state in ENDED
            told += 1
            note = _note(job, full=False).model_dump_json(exclude={"result"})
            yield format_sse_event(
                event="end" if ended else "progress", data_str=note, id=str(told)
            )
            if ended or time.monotonic() > until:
                return
            while not await ticker.next(_HEARTBEAT):
                yield KEEPALIVE_COMMENT
