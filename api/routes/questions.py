"""Each form of question as a route of its own, for programs that would rather not write sentences.

Every route makes the tree of a sentence and asks the desk, so that a program, a page and a person
at the command get the same answer.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Request, Response

from ...query.format import format_sentence
from ...query.style import Style
from .. import bodies as b
from ..admission import Asking
from ..asked import Asked
from ..negotiate import MARKDOWN, PLAIN, chosen
from ..service import Served
from .answering import answered
from .asking import ANSWER, PROBLEMS

router = APIRouter(tags=["questions"])

_CHANGE: dict[str, Any] = {"fits": [{"part": "HD rear hub"}], "car": "Wether W2 late"}


def _like(example: dict[str, Any]) -> Any:
    return Body(openapi_examples=b.openapi_examples(example))


@router.post("/knock-ons", summary="What else must change?", **ANSWER)
async def knock_ons(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskKnockOns, _like({"change": _CHANGE})],
) -> Response:
    """The verdicts with their reasons, without plans: quicker than `plans`."""
    return await answered(request, service, caller, body.sentence(), plans=0)


@router.post("/plans", summary="What else must change, and the best plans", **ANSWER)
async def plans(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[
        b.AskPlans,
        _like(
            {"change": {**_CHANGE, "terms": {"cost": {"value": "4000", "unit": "EUR"}}}, "plans": 2}
        ),
    ],
) -> Response:
    """The verdicts and up to so many complete sets of parts, with cost, hours and order of work."""
    return await answered(request, service, caller, body.sentence(), plans=body.plans)


@router.post("/checks", summary="What must be checked before ordering?", **ANSWER)
async def checks(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskChecks, _like({"change": _CHANGE})],
) -> Response:
    """What to measure, and which verdicts turn on it."""
    return await answered(request, service, caller, body.sentence(), plans=0)


@router.post("/why-must", summary="Why must it change?", **ANSWER)
async def why_must(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskWhyMust, _like({"change": _CHANGE, "station": "rear rotor"})],
) -> Response:
    """The chain of reasons down to values, rules and sources."""
    return await answered(request, service, caller, body.sentence())


@router.post("/why-not", summary="Why not this part?", **ANSWER)
async def why_not(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskWhyNot, _like({"change": _CHANGE, "part": "light rear rotor"})],
) -> Response:
    """The chain of reasons that rules a part out."""
    return await answered(request, service, caller, body.sentence())


@router.post("/does-fit", summary="Does it fit?", **ANSWER)
async def does_fit(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskDoesFit, _like({"part": "HD rear hub", "car": "Wether W1"})],
) -> Response:
    """As it is, with changes, or not at all."""
    return await answered(request, service, caller, body.sentence())


@router.post("/does-mate", summary="Do they mate?", **ANSWER)
async def does_mate(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskDoesMate, _like({"first": "OW-43718", "second": "OW-42310"})],
) -> Response:
    """Every comparison at each joint that both have an end for."""
    return await answered(request, service, caller, body.sentence())


@router.post("/what-fits", summary="What fits there?", **ANSWER)
async def what_fits(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskWhatFits, _like({"station": "rear rotor", "car": "Wether W2 late"})],
) -> Response:
    """Every part for a station of a car."""
    return await answered(request, service, caller, body.sentence())


@router.post("/where-fits", summary="Where does it fit?", **ANSWER)
async def where_fits(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskWhereFits, _like({"part": "HD rear hub", "car": "Wether W1"})],
) -> Response:
    """Car by car, with what changes or stands against it."""
    return await answered(request, service, caller, body.sentence())


@router.post("/kit-choice", summary="Which part needs least change over several cars?", **ANSWER)
async def kit_choice(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[
        b.AskKitChoice, _like({"sort": "rear rotor", "cars": ["Wether W1", "Wether W2 late"]})
    ],
) -> Response:
    """The parts of a sort ranked, with the matrix. For many cars begin a job instead."""
    return await answered(request, service, caller, body.sentence())


@router.post("/tell-apart", summary="How are they told apart?", **ANSWER)
async def tell_apart(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskTellApart, _like({"first": "HD rear hub", "second": "light rear hub"})],
) -> Response:
    """Every observation that separates two things, the sure ones first."""
    return await answered(request, service, caller, body.sentence())


@router.post("/differences", summary="What differs?", **ANSWER)
async def differences(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskDifferences, _like({"first": "Wether W1", "second": "Wether W2 late"})],
) -> Response:
    """Station by station, and in how the parts meet others."""
    return await answered(request, service, caller, body.sentence())


@router.post("/identify", summary="Which part is this?", **ANSWER)
async def identify(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[
        b.AskIdentify,
        _like(
            {"sort": "rear hub", "evidence": [{"kind": "built", "year": 2005}], "car": "Wether W2"}
        ),
    ],
) -> Response:
    """What remains of the parts it may be, and what to look at next."""
    return await answered(request, service, caller, body.sentence())


_SHEET = {"content": {MARKDOWN: {}, PLAIN: {}}, "description": "The sheet, as it can be printed."}


@router.post(
    "/job-sheet",
    summary="The sheet of one plan for the workshop",
    response_class=Response,
    responses={200: _SHEET, **PROBLEMS},
)
async def job_sheet(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[b.AskJobSheet, _like({"change": _CHANGE, "plan": 1, "units": "both"})],
) -> Response:
    """What to order, what to check, the order of work, cautions, and room for signatures."""
    form = chosen(request, (MARKDOWN, PLAIN))
    counter = service.counter(caller)
    text = format_sentence(body.sentence())
    style = Style("in" if body.units == "in" else "mm", body.language, body.units == "both")

    what = Asked(text, MARKDOWN, max(body.plans, body.plan), style=style, plan=body.plan)
    seconds = caller.allowance.seconds
    sheet = await service.workbench.answer(counter.desk, counter.tag, what, seconds)
    headers = {"Cache-Control": "private, no-cache", "Content-Language": body.language}
    return Response(sheet, media_type=f"{form}; charset=utf-8", headers=headers)
