"""What is asked, as it is sent to whoever answers it, and the answer as bytes that are ready."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, field
from typing import Final

from ..query.conversation import Conversation
from ..query.desk import Desk
from ..query.faces import Face, shown
from ..query.in_hand import MeasuredValue, TriedPair, desk_with
from ..query.render_jsonld import render_jsonld
from ..query.style import Style, restyled
from .negotiate import JSON_LD, MARKDOWN

VALUE: Final = "the answer itself, and the conversation as it goes on, for the service's own use"


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: its text, the one before it, and in which form the answer is wanted.

    `plan` is the one that a job sheet is made of, from 1.
    """

    text: str
    form: str
    plans: int = 3
    after: str = ""
    measured: tuple[MeasuredValue, ...] = ()
    tried: tuple[TriedPair, ...] = ()
    style: Style = field(default_factory=Style)
    plan: int = 1
    talk: Conversation | None = None
    """The conversation that it belongs to, instead of the question before."""


def worked_out(desk: Desk, asked: Asked) -> bytes:
    """The answer in its form.

    Raises:
        QueryError: it is not understood. NotMeasurable: what was measured is no value of that end.
        NoSuchForm, NoSuchPlan: there is no such sheet.
    """
    talk = Conversation.after(asked.after) if asked.talk is None else asked.talk
    desk = desk_with(desk, asked.measured, asked.tried)
    reply = desk.ask(asked.text, plans=asked.plans, talk=talk)
    if asked.form == VALUE:
        return pickle.dumps((reply, talk), pickle.HIGHEST_PROTOCOL)
    if asked.form == JSON_LD:
        return render_jsonld(reply).encode()
    if asked.form == MARKDOWN:
        return shown(reply, Face("markdown", asked.style, plan=asked.plan)).encode()
    return restyled(reply, asked.style).model_dump_json().encode()
