"""One way from a question to a response, for every route that answers one."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import Request, Response

from ...query.format import format_sentence
from ...query.in_hand import MeasuredValue, TriedPair
from ...query.style import Style
from ...query.syntax import Sentence
from ..admission import Caller
from ..asked import Asked
from ..bodies import LONGEST_QUESTION
from ..etags import knows, not_modified, tag_of
from ..negotiate import JSON, JSON_LD, chosen
from ..problems import ApiError
from ..service import Service

FORMS = (JSON, JSON_LD)
_HEADERS = {
    # Answers hang on the caller's own builds, so shared caches keep nothing; a browser asks whether
    # the catalogue, the stock or the builds have changed.
    "Cache-Control": "private, no-cache",
    "Vary": "Accept, Authorization",
    "Content-Language": "en-GB",
}


async def answered(
    request: Request,
    service: Service,
    caller: Caller,
    question: str | Sentence,
    *,
    plans: int = 3,
    after: str = "",
    measured: tuple[MeasuredValue, ...] = (),
    tried: tuple[TriedPair, ...] = (),
    style: Style | None = None,
) -> Response:
    """The answer in the form that the client likes best, tagged by all that it depends on.

    Raises:
        QueryError: it is not understood. ApiError: it cannot be given in time or in that form.
        NotMeasurable: what was measured is no value of that end.
    """
    style = style or Style()
    form = chosen(request, FORMS)
    text = question if isinstance(question, str) else format_sentence(question)
    if len(text) > LONGEST_QUESTION:
        raise ApiError(422, "too-long", "The question is too long", "Ask at most 64 kB.")
    counter = service.counter(caller)
    found = [each.model_dump_json() for each in (*measured, *tried)]
    tag = tag_of(counter.tag, text, str(plans), after, form, style.units, style.language, *found)
    if request.method in ("GET", "HEAD") and knows(request, tag):
        return not_modified(tag, _HEADERS)

    body = service.remembered.get(tag)
    service.metrics.remembered.labels("worked out" if body is None else "remembered").inc()
    if body is None:
        what = Asked(text, form, plans, after, measured, tried, style)
        seconds = caller.allowance.seconds
        body = await service.workbench.answer(counter.desk, counter.tag, what, seconds)
        service.remembered.keep(tag, body)
    asked = {"question": text, **({"after": after} if after else {}), "plans": plans}
    headers = {**_HEADERS, "ETag": tag, "Content-Language": style.language}
    if len(text) + len(after) < 2000 and style.plain and not found:
        headers["Content-Location"] = f"/v1/ask?{urlencode(asked)}"
    return Response(body, media_type=form, headers=headers)
