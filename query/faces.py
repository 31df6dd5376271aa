"""One answer in the form that was asked for: text, JSON, JSON-LD, a job sheet, or a picture."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias, get_args

from ..reasoner.errors import KnockonError
from .answer import Answer
from .page import Paint, unpainted
from .render_report import render_reply
from .report import Report
from .style import Style, restyled

Form: TypeAlias = Literal["text", "json", "jsonld", "markdown", "dot", "svg"]
FORMS: tuple[Form, ...] = get_args(Form)


@dataclass(frozen=True, slots=True)
class Face:
    """How an answer is to look. `plan` is the one a job sheet is made of, from 1.

    `width`, `paint` and `full` are for text alone; JSON and JSON-LD take no `style`.
    """

    form: Form = "text"
    style: Style = field(default_factory=Style)
    width: int = 80
    paint: Paint = unpainted
    full: bool = False
    plan: int = 1


class NoSuchForm(KnockonError):
    """The answer cannot be shown in that form; says why."""


def shown(reply: Answer | Report, face: Face) -> str:
    """The answer as text in the form of `face`, ending in a newline.

    Raises:
        NoSuchForm: it has no picture and no job sheet. NoSuchPlan: it has fewer plans.
    """
    if face.form == "json":
        return reply.model_dump_json(indent=2) + "\n"
    if face.form == "jsonld":
        from .render_jsonld import render_jsonld

        return render_jsonld(reply)
    reply = restyled(reply, face.style)
    if face.form == "text":
        return render_reply(reply, width=face.width, paint=face.paint, full=face.full)
    if not isinstance(reply, Answer):
        what = "a job sheet" if face.form == "markdown" else "a picture"
        raise NoSuchForm(f"Only a question about fitting something has {what}; ask for text.")
    return _changed(reply, face)


def _changed(answer: Answer, face: Face) -> str:
    if face.form == "markdown":
        from .render_markdown import job_sheet

        return job_sheet(answer, face.plan)
    from .render_graph import render_dot, render_svg

    return render_dot(answer) if face.form == "dot" else render_svg(answer)
