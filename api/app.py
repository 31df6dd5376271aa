"""The HTTP application: one catalogue, one desk, the same answers as the command."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, FastAPI, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from ..query.conversation import Conversation
from ..query.desk import Desk
from ..query.report import Reply
from .limits import BodyLimit
from .problems import HANDLERS

LONGEST_BODY = 256 * 1024
"""Bytes of a request body; a question is at most 64 kB."""


class Question(BaseModel):
    """A sentence of the query language."""

    model_config = ConfigDict(extra="forbid")

    question: str = Field(
        min_length=1, max_length=65536, examples=["what fits rear hub on Wether W1?"]
    )
    after: str = Field(
        default="",
        max_length=65536,
        description="the question before, in full, for follow-ups (“and if …”, “why must …”)",
    )
    plans: int = Field(default=3, ge=0, le=10, description="how many plans to work out at most")


class Health(BaseModel):
    """Whether the service answers, and from which catalogue."""

    status: str
    catalogue: str
    cars: int
    parts: int


router = APIRouter(prefix="/v1")


def _desk(request: Request) -> Desk:
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


@router.post("/ask", summary="Ask a question")
def ask(request: Request, response: Response, body: Annotated[Question, Body()]) -> Reply:
    """Answer a sentence: the same value that `knockon ask --json` prints."""
    desk = _desk(request)
    talk = Conversation.after(body.after)
    answer = desk.ask(body.question, plans=body.plans, talk=talk)
    response.headers["Content-Language"] = "en-GB"
    return answer


@router.get("/health", summary="Is the service up?")
def health(request: Request) -> Health:
    """Up, with the version and size of the catalogue it answers from."""
    catalogue = _desk(request).catalogue
    return Health(
        status="ok",
        catalogue=catalogue.version,
        cars=len(catalogue.cars),
        parts=len(catalogue.parts),
    )


def create_app(desk: Desk) -> FastAPI:
    """The application that answers from `desk`."""
    app = FastAPI(
        title="knockon",
        version="1",
        summary="What else must change if I fit X?",
        exception_handlers=HANDLERS,
        docs_url=None,
        redoc_url=None,
        openapi_url="/v1/openapi.json",
    )
    app.state.desk = desk
    app.add_middleware(BodyLimit, longest=LONGEST_BODY)
    app.include_router(router)
    return app
