"""Errors as RFC 9457 problem details."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from ..query.errors import QueryError
from ..query.shop import ShopFileError
from ..reasoner.errors import KnockonError

PROBLEM_TYPE = "https://knockon.example/problems/"
MEDIA_TYPE = "application/problem+json"


class ProblemDocument(BaseModel):
    """What is wrong (RFC 9457). `type` says which sort of problem; others tell more of it."""

    model_config = ConfigDict(extra="allow")

    type: str = Field(examples=[PROBLEM_TYPE + "unknown-name"])
    title: str
    status: int
    detail: str


class ApiError(Exception):
    """A request that cannot be served; becomes a problem document."""

    def __init__(
        self,
        status: int,
        slug: str,
        title: str,
        detail: str,
        headers: Mapping[str, str] | None = None,
        **more: Any,
    ) -> None:
        super().__init__(detail)
        self.status, self.slug, self.title, self.detail = status, slug, title, detail
        self.headers, self.more = dict(headers or {}), more

    def response(self) -> JSONResponse:
        """The problem document."""
        made = problem(self.status, self.slug, self.title, self.detail, **self.more)
        made.headers.update(self.headers)
        return made


def problem(status: int, slug: str, title: str, detail: str, **more: Any) -> JSONResponse:
    """One problem document. `slug` ends its type IRI; `more` are extension members."""
    body = {"type": PROBLEM_TYPE + slug, "title": title, "status": status, "detail": detail}
    return JSONResponse({**body, **more}, status_code=status, media_type=MEDIA_TYPE)


def not_found(what: str, key: str, nearest: tuple[str, ...] = ()) -> ApiError:
    """There is no such thing, with the names most like the one asked for."""
    detail = f"There is no {what} “{key}”."
    return ApiError(404, "not-found", "Not found", detail, nearest=list(nearest))


async def on_api_error(_: Request, error: Exception) -> JSONResponse:
    """What a route says no to."""
    assert isinstance(error, ApiError)
    return error.response()


async def on_query_error(_: Request, error: Exception) -> JSONResponse:
    """A sentence that is not understood, with where and what would be right."""
    assert isinstance(error, QueryError)
    data = error.as_data()
    slug = data.pop("error")
    return problem(422, slug, "The question is not understood", data.pop("message"), **data)


async def on_shop_file(_: Request, error: Exception) -> JSONResponse:
    """A file in the shop's folder that cannot be used on this catalogue, with every fault."""
    assert isinstance(error, ShopFileError)
    detail = f"A file in the shop's folder cannot be used: {'; '.join(error.faults)}"
    # Its path is nobody's business but the shop's.
    return problem(503, "shop-file", "The shop's files", detail, faults=list(error.faults))


async def on_knockon_error(_: Request, error: Exception) -> JSONResponse:
    """Anything else knockon says no to."""
    return problem(422, "refused", "Not possible", str(error))


async def on_bad_request(_: Request, error: Exception) -> JSONResponse:
    """A body or parameter that is not of its form: every fault, with its place."""
    assert isinstance(error, RequestValidationError)
    faults = [
        {"place": "/".join(str(piece) for piece in e["loc"]), "what": e["msg"]}
        for e in error.errors()
    ]
    detail = "; ".join(f"{f['place']}: {f['what']}" for f in faults)
    return problem(422, "bad-request", "The request is not of its form", detail, faults=faults)


async def on_http_error(_: Request, error: Exception) -> JSONResponse:
    """Unknown paths, wrong methods and the like."""
    assert isinstance(error, HTTPException)
    response = problem(error.status_code, "http", "The request cannot be served", str(error.detail))
    response.headers.update(error.headers or {})
    return response


HANDLERS: dict[int | type[Exception], Any] = {
    ApiError: on_api_error,
    QueryError: on_query_error,
    ShopFileError: on_shop_file,
    KnockonError: on_knockon_error,
    RequestValidationError: on_bad_request,
    HTTPException: on_http_error,
}

_SAID = {
    400: "The body cannot be read at all.",
    401: "A key is needed, or the key given is not valid.",
    403: "The key may not do that.",
    404: "There is no such thing.",
    406: "None of the media types asked for can be given.",
    409: "It is in the way of something that is there already.",
    412: "It was changed since it was read.",
    413: "The body is too large.",
    422: "The question or the request is not understood.",
    428: "Say in If-Match which state is to be changed.",
    429: "Too many requests; Retry-After says when to come back.",
    503: "Busy; Retry-After says when to come back.",
    504: "It took too long; ask for less, or ask for it as a job.",
}


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The problems that a route may answer with, for OpenAPI."""
    schema = {"$ref": "#/components/schemas/ProblemDocument"}
    return {
        status: {"description": _SAID[status], "content": {MEDIA_TYPE: {"schema": schema}}}
        for status in statuses
    }
