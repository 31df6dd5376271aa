"""Asking: a sentence or its tree; and what could be typed next."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from ...query.complete import complete
from ...query.follow_up import in_full
from ...query.format import format_sentence
from ...query.parse import parse
from ...query.report import Reply
from ...query.tree_json import from_json, to_json
from ..admission import Asking
from ..bodies import LONGEST_QUESTION, Question, openapi_examples
from ..problems import documented
from ..service import Served
from .answering import answered

router = APIRouter(tags=["asking"])

PROBLEMS = documented(401, 403, 406, 413, 422, 429, 503, 504)
ANSWER: dict[str, Any] = {
    "response_model": Reply,
    "responses": {
        200: {"content": {"application/ld+json": {}}, "description": "The answer."},
        **PROBLEMS,
    },
}
"""What every route has that gives an answer."""

_QUESTIONS = openapi_examples(
    {"question": "what fits rear hub on Wether W1?"},
    {
        "question": "and if I keep the rear wheel?",
        "after": "what else must change if I fit HD rear hub to Wether W2 late?",
    },
    {"tree": {"kind": "differences", "first": "Wether W1", "second": "Wether W2 late"}},
    {
        "question": "what else must change if I fit HD rear hub to Wether W2 late?",
        "plans": 1,
        "measured": [
            {
                "end": "https://knockon.example/end/rear-hub-spline-30",
                "quantity": "teeth",
                "value": "30",
            }
        ],
        "units": "in",
    },
)


@router.post("/ask", summary="Ask a question", **ANSWER)
async def ask(
    request: Request,
    service: Served,
    caller: Asking,
    body: Annotated[Question, Body(openapi_examples=_QUESTIONS)],
) -> Response:
    """Answer a sentence or its tree: the same value that `knockon ask --json` prints.

    The response says under Content-Location where the same answer can be got and revalidated.
    """
    question = body.question if body.tree is None else from_json(to_json(body.tree))
    assert question is not None
    return await answered(
        request,
        service,
        caller,
        question,
        plans=body.plans,
        after=body.after,
        measured=body.measured,
        tried=body.tried,
        style=body.style,
    )


class Sentence(BaseModel):
    """A sentence to be read and not answered."""

    model_config = ConfigDict(extra="forbid")

    question: str = Field(min_length=1, max_length=LONGEST_QUESTION)
    after: str = Field(default="", max_length=LONGEST_QUESTION)


class ReadSentence(BaseModel):
    """A sentence as it was understood: in its canonical form, and its tree."""

    question: str
    tree: dict[str, Any]


@router.post("/read", summary="Read a sentence", responses=PROBLEMS)
def read(
    service: Served,
    caller: Asking,
    body: Annotated[
        Sentence,
        Body(openapi_examples=openapi_examples({"question": "what fits rear hub on Wether W1?"})),
    ],
) -> ReadSentence:
    """The tree of a sentence, to be changed and asked. A follow-up is made whole."""
    last = parse(body.after) if body.after.strip() else None
    counter = service.counter(caller)
    sentence = in_full(parse(body.question, counter.desk.resolver.sound), last)
    return ReadSentence(question=format_sentence(sentence), tree=to_json(sentence))


@router.get(
    "/ask",
    summary="Get the answer to a question",
    response_model=Reply,
    responses={304: {"description": "It is still what you have."}, **ANSWER["responses"]},
)
async def get_answer(
    request: Request,
    service: Served,
    caller: Asking,
    question: Annotated[
        str, Query(min_length=1, max_length=4000, examples=["show rear hub on Wether W1"])
    ],
    after: Annotated[str, Query(max_length=4000)] = "",
    plans: Annotated[int, Query(ge=0, le=10)] = 3,
) -> Response:
    """The answer to a sentence, with an ETag: ask again with If-None-Match and get 304."""
    return await answered(request, service, caller, question, plans=plans, after=after)


class Suggestion(BaseModel):
    """A text to put in place of characters `start` to `end`, and what it is."""

    model_config = ConfigDict(frozen=True)

    text: str
    start: int
    end: int
    what: str
    detail: str


class Suggestions(BaseModel):
    """What could be typed next, keywords first."""

    model_config = ConfigDict(frozen=True)

    items: tuple[Suggestion, ...] = Field(description="at most 50")


@router.get("/complete", summary="What could be typed next", responses=PROBLEMS)
def get_completion(
    service: Served,
    _: Asking,
    text: Annotated[str, Query(max_length=4000, examples=["what fits rear "])],
    cursor: Annotated[
        int | None, Query(ge=0, le=4000, description="where the cursor is; the end if left out")
    ] = None,
) -> Suggestions:
    """Words of the language and names of the catalogue that may stand at the cursor."""
    found = complete(text, len(text) if cursor is None else cursor, service.desk.index)
    return Suggestions(
        items=tuple(
            Suggestion(text=c.text, start=c.start, end=c.end, what=c.what, detail=c.detail)
            for c in found
        )
    )
