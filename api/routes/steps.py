"""“Which one is this?”, step by step, for pages and programs that ask one thing after another."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body
from pydantic import Field

from ...query.answers.ground import Ground
from ...query.answers.steps import Seen, Step, identification_step
from ...query.phrases import CarName, SortName
from ..admission import Asking
from ..bodies import Body as Asked
from ..bodies import openapi_examples
from ..service import Served
from .asking import PROBLEMS

router = APIRouter(tags=["questions"])


class AskStep(Asked):
    """A station or family, perhaps a car, and what was seen so far; nothing at first."""

    sort: str = Field(min_length=1, max_length=200)
    car: str | None = Field(default=None, min_length=1, max_length=200)
    seen: Annotated[tuple[Seen, ...], Field(max_length=50)] = ()


@router.post("/identify/step", summary="Which part is this, step by step", responses=PROBLEMS)
async def step(
    service: Served,
    caller: Asking,
    body: Annotated[AskStep, Body(openapi_examples=openapi_examples({"sort": "rear hub"}))],
) -> Step:
    """What it can still be, and what to look at next, the most telling first."""
    desk = service.counter(caller).desk

    def work() -> Step:
        ground = Ground(desk.mating, desk.resolver, desk.composer)
        car = None if body.car is None else CarName(body.car)
        return identification_step(ground, SortName(body.sort), car, body.seen)

    return await service.workbench.run(work, caller.allowance.seconds)
