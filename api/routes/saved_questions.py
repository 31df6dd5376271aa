"""Saved questions: whoever saved one is told when its answer changes."""

from __future__ import annotations

import secrets
from typing import Annotated

from anyio import to_thread
from fastapi import APIRouter, Body, Path, Response
from pydantic import Field

from ...query.answer import Value
from ..admission import Editing
from ..bodies import Body as Asked
from ..bodies import openapi_examples
from ..problems import documented, not_found
from ..saved_questions import SavedQuestion, new_id
from ..service import Served, Service
from ..webhooks import checked_url, digest_of

router = APIRouter(
    prefix="/saved-questions",
    tags=["saved questions"],
    responses=documented(401, 403, 422, 429, 503),
)


class NewSavedQuestion(Asked):
    """A question to keep, and the address to tell when its answer changes."""

    question: str = Field(min_length=1, max_length=4000)
    deliver_to: str = Field(
        min_length=1,
        max_length=2000,
        description="an http or https address on a host that the service may send to",
    )


class SavedQuestionNote(Value):
    """A kept question, and the answer that was seen last in one sentence."""

    id: str
    href: str
    question: str
    deliver_to: str
    catalogue: str
    summary: str


class SavedQuestionMade(SavedQuestionNote):
    """A question just kept, with the secret that deliveries are signed with: shown only now."""

    secret: str


class SavedQuestionList(Value):
    """Your saved questions, oldest first."""

    items: tuple[SavedQuestionNote, ...]


@router.get("", summary="Your saved questions")
def list_saved_questions(service: Served, caller: Editing) -> SavedQuestionList:
    """Questions that you are told about."""
    return SavedQuestionList(items=tuple(map(_note, _own(service, caller.owner))))


@router.post(
    "",
    status_code=201,
    summary="Save a question",
    responses=documented(409, 413, 504),
)
async def add_saved_question(
    response: Response,
    service: Served,
    caller: Editing,
    body: Annotated[
        NewSavedQuestion,
        Body(
            openapi_examples=openapi_examples(
                {
                    "question": "what else must change if I fit HD rear hub to Wether W1?",
                    "deliver_to": "http://127.0.0.1:9000/changed",
                }
            )
        ),
    ],
) -> SavedQuestionMade:
    """Answer it now, and tell the address whenever another catalogue answers it otherwise.

    A delivery is signed with the secret: Knockon-Hmac is the HMAC-SHA256, in hexadecimal, of
    Knockon-Delivery, a line end, Knockon-Time, a line end, and the body. It may come twice.
    """
    to = checked_url(body.deliver_to, service.settings.webhook_hosts)
    counter, seconds = service.counter(caller), caller.allowance.seconds
    desk = service.workbench.asker(counter.desk, counter.tag, seconds)
    reply = await service.workbench.run(lambda: desk.ask(body.question), seconds)
    made = SavedQuestion(
        id=new_id(),
        owner=caller.owner,
        question=body.question,
        deliver_to=to,
        secret=secrets.token_urlsafe(32),
        catalogue=reply.catalogue,
        seen=digest_of(reply),
        summary=reply.summary,
    )
    await to_thread.run_sync(service.saved.add, made)
    response.headers["Location"] = f"/v1/saved-questions/{made.id}"
    return SavedQuestionMade(**dict(_note(made)), secret=made.secret)


Key = Annotated[str, Path(max_length=64)]


@router.get("/{key}", summary="One saved question", responses=documented(404))
def get_saved_question(key: Key, service: Served, caller: Editing) -> SavedQuestionNote:
    """One of your saved questions."""
    return _note(_found(service, caller.owner, key))


@router.delete(
    "/{key}", status_code=204, summary="Forget a saved question", responses=documented(404)
)
def delete_saved_question(key: Key, service: Served, caller: Editing) -> None:
    """Be told no more."""
    service.saved.drop(_found(service, caller.owner, key).id)


def _own(service: Service, owner: str) -> list[SavedQuestion]:
    return [each for each in service.saved.all() if each.owner == owner]


def _found(service: Service, owner: str, key: str) -> SavedQuestion:
    for each in _own(service, owner):
        if each.id == key:
            return each
    raise not_found("saved question", key)


def _note(kept: SavedQuestion) -> SavedQuestionNote:
    return SavedQuestionNote(
        id=kept.id,
        href=f"/v1/saved-questions/{kept.id}",
        question=kept.question,
        deliver_to=kept.deliver_to,
        catalogue=kept.catalogue,
        summary=kept.summary,
    )
