"""Edits of the catalogue: draft, preview, accept; what was accepted, and taking it back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Annotated, Any

from anyio import to_thread
from fastapi import APIRouter, Body, Path, Query, Request, Response

from ...reasoner.upkeep.changes import ChangeSet
from ...reasoner.upkeep.history import Entry
from ...reasoner.upkeep.quads import line
from ...reasoner.upkeep.sheets.faults import SheetRefused
from ...reasoner.upkeep.sheets.reading import NewSource
from ..admission import Asking, Caller
from ..admission import Editing as MayEdit
from ..bodies import openapi_examples
from ..drafts import Drafts
from ..edit_values import (
    AskPreview,
    EditDetail,
    EditNote,
    HistoryDetail,
    HistoryNote,
    NewEdit,
    Undo,
)
from ..editing import Editing
from ..jobs import Job
from ..paging import Cursor, Limit, Page, page_of
from ..problems import ApiError, documented, not_found
from ..service import Served, Service
from .jobs import JobNote, JobSaid, begun

router = APIRouter(tags=["edits"], responses=documented(401, 403, 409, 422, 429, 503))
IMPORT_PATH = "/v1/edits/import"
_BEGUN: dict[str, Any] = {"status_code": 202, "responses": documented(404)}
_BINARY: dict[str, Any] = {"schema": {"type": "string", "format": "binary"}}

_EDIT = {
    "why": "counted at the bench",
    "source": "bench",
    "added": [
        "<https://knockon.example/end/rear-hub-spline-30> <https://knockon.example/ns#teeth> "
        '"30"^^<http://www.w3.org/2001/XMLSchema#integer> <https://knockon.example/source/bench> .'
    ],
}

_SHEET = "part,price each [EUR],source\nOW-42310,172.00,bench measurements\n"

# ---------------------------------------------------------------------- drafts


@router.get("/edits", summary="Your drafts")
def list_edits(
    request: Request,
    response: Response,
    service: Served,
    caller: MayEdit,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[EditNote]:
    """Edits that you drafted and that are not accepted, oldest first."""
    drafts = _drafts(service).of(caller.owner)
    return page_of(request, response, drafts, lambda d: (d.when, d.id), _note, limit, cursor)


@router.post("/edits", status_code=201, summary="Draft an edit", responses=documented(413))
async def add_edit(
    response: Response,
    service: Served,
    caller: MayEdit,
    body: Annotated[NewEdit, Body(openapi_examples=openapi_examples(_EDIT))],
) -> EditDetail:
    """Draft an edit from statements; nothing is changed yet."""
    editing = Editing(service)

    def work() -> ChangeSet:
        return editing.drafted(
            caller.owner, body.why, body.source, body.added, body.removed, body.base
        )

    return await _kept(response, service, caller, work)


@router.post(
    "/edits/import",
    status_code=201,
    summary="Draft an edit from a file",
    responses=documented(413),
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {
                "text/csv": {
                    "schema": {"type": "string"},
                    "examples": openapi_examples(_SHEET),
                },
                "application/octet-stream": _BINARY,
            },
        }
    },
)
async def import_edit(
    request: Request,
    response: Response,
    service: Served,
    caller: MayEdit,
    file: Annotated[str, Query(min_length=5, max_length=100, examples=["w5-values.csv"])],
    why: Annotated[str, Query(min_length=1, max_length=2000)],
    source: Annotated[str, Query(max_length=500)] = "",
    standing: Annotated[str, Query(max_length=40, description="describes a new source")] = "",
    by: Annotated[str, Query(max_length=200, description="describes a new source")] = "",
) -> EditDetail:
    """Read a workbook, a CSV sheet, Turtle, TriG or JSON-LD (by the file's name) into a draft.

    All of it or nothing: a problem names every fault with its sheet, row and column.
    """
    if bool(standing) != bool(by):
        detail = "A source described now needs both standing and by."
        raise ApiError(422, "bad-request", "The request is not of its form", detail)
    content, editing = await request.body(), Editing(service)
    new = NewSource(standing, by) if standing else None

    def work() -> ChangeSet:
        try:
            return editing.imported(caller.owner, why, file, content, source, new)
        except SheetRefused as refused:
            faults = [asdict(fault) for fault in refused.faults[:1000]]
            headline = str(refused).partition("\n")[0]
            raise ApiError(
                422, "bad-file", "The file is not taken in", headline, faults=faults
            ) from None

    return await _kept(response, service, caller, work)


Key = Annotated[str, Path(max_length=64)]


@router.get("/edits/{key}", summary="One draft", responses=documented(404))
def get_edit(key: Key, service: Served, caller: MayEdit) -> EditDetail:
    """A draft with its statements."""
    return _detail(_found(service, caller, key))


@router.delete("/edits/{key}", status_code=204, summary="Drop a draft", responses=documented(404))
def drop_edit(key: Key, service: Served, caller: MayEdit) -> None:
    """Forget a draft; nothing of it was ever in the catalogue."""
    _drafts(service).drop(caller.owner, _found(service, caller, key).id)


@router.post("/edits/{key}/preview", summary="Begin a preview of a draft", **_BEGUN)
def preview_edit(
    key: Key,
    response: Response,
    service: Served,
    caller: MayEdit,
    body: Annotated[
        AskPreview,
        Body(openapi_examples=openapi_examples({"questions": ["does HD rear hub fit Wether W1?"]})),
    ],
) -> JobNote:
    """Which builds and answers the draft would change; the job has it when it is done."""
    change, editing = _found(service, caller, key), Editing(service)
    desk = service.counter(caller).desk
    own = [q.question for q in service.saved.all() if q.owner == caller.owner]
    questions = list(dict.fromkeys((*body.questions, *own)))

    def work(job: Job) -> Any:
        return editing.previewed(change, desk, questions, job.step)

    return begun(response, service.jobs.begin(caller.owner, "preview", 3, work))


@router.post("/edits/{key}/accept", summary="Begin to accept a draft", **_BEGUN)
def accept_edit(key: Key, response: Response, service: Served, caller: MayEdit) -> JobNote:
    """Make the draft part of the catalogue: whole, or not at all.

    The job ends well when the service answers from the new catalogue. It fails, and nothing is
    changed, if the catalogue could not be served or others changed the same places meanwhile.
    """
    change, editing = _found(service, caller, key), Editing(service)
    _ = editing.own_folder

    def work(job: Job) -> JobSaid:
        said = editing.accepted(change, job.step)
        _drafts(service).drop(caller.owner, change.id)
        return JobSaid(said=said, catalogue=service.catalogue.version)

    return begun(response, service.jobs.begin(caller.owner, "accept", 2, work))


# ---------------------------------------------------------------------- history


@router.get("/history", summary="What was accepted")
def list_history(
    request: Request,
    response: Response,
    service: Served,
    _: Asking,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[HistoryNote]:
    """Accepted changes, oldest first; only of a catalogue that is kept in a store."""
    entries = Editing(service).history()

    def by_number(entry: Entry) -> tuple[str, str]:
        return f"{entry.number:09}", entry.id

    return page_of(request, response, entries, by_number, _entry, limit, cursor)


Number = Annotated[int, Path(ge=1, le=999_999_999)]


@router.get("/history/{number}", summary="One accepted change", responses=documented(404))
def get_history(number: Number, service: Served, _: Asking) -> HistoryDetail:
    """One accepted change with its statements."""
    entry, change = Editing(service).entry(number)
    return HistoryDetail(**dict(_entry(entry)), **_statements(change))


@router.post("/history/{number}/undo", summary="Begin to take a change back", **_BEGUN)
def undo_change(
    number: Number,
    response: Response,
    service: Served,
    caller: MayEdit,
    body: Annotated[Undo, Body(openapi_examples=openapi_examples({"why": "measured wrongly"}))],
) -> JobNote:
    """Take back one accepted change, as a change of its own; undo that one to have it again."""
    editing = Editing(service)
    editing.entry(number)

    def work(job: Job) -> JobSaid:
        said = editing.undone(number, caller.owner, body.why, job.step)
        return JobSaid(said=said, catalogue=service.catalogue.version)

    return begun(response, service.jobs.begin(caller.owner, "undo", 2, work))


# ---------------------------------------------------------------------- inside


def _drafts(service: Service) -> Drafts:
    return Drafts(service.settings.shop)


async def _kept(
    response: Response, service: Service, caller: Caller, work: Callable[[], ChangeSet]
) -> EditDetail:
    change = await service.workbench.run(work, caller.allowance.seconds)
    await to_thread.run_sync(_drafts(service).keep, caller.owner, change)
    response.headers["Location"] = f"/v1/edits/{change.id}"
    return _detail(change)


def _found(service: Service, caller: Caller, key: str) -> ChangeSet:
    found = _drafts(service).find(caller.owner, key)
    if found is None:
        raise not_found("draft", key)
    return found


def _note(change: ChangeSet) -> EditNote:
    return EditNote(
        id=change.id,
        href=f"/v1/edits/{change.id}",
        who=change.who,
        when=change.when,
        why=change.why,
        source=change.source,
        base=change.base,
        added=len(change.added),
        removed=len(change.removed),
    )


def _detail(change: ChangeSet) -> EditDetail:
    return EditDetail(**dict(_note(change)), **_statements(change))


def _statements(change: ChangeSet) -> dict[str, Any]:
    return {"adds": tuple(map(line, change.added)), "takes_away": tuple(map(line, change.removed))}


def _entry(entry: Entry) -> HistoryNote:
    return HistoryNote(href=f"/v1/history/{entry.number}", **asdict(entry))
