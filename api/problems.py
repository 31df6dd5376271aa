"""Errors as RFC 9457 problem details."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from ..query.errors import QueryError
from ..reasoner.errors import KnockonError

PROBLEM_TYPE = "https://knockon.example/problems/"
MEDIA_TYPE = "application/problem+json"


def problem(status: int, slug: str, title: str, detail: str, **more: Any) -> JSONResponse:
    """One problem document. `slug` ends its type IRI; `more` are extension members."""
    body = {"type": PROBLEM_TYPE + slug, "title": title, "status": status, "detail": detail}
    return JSONResponse({**body, **more}, status_code=status, media_type=MEDIA_TYPE)


async def on_query_error(_: Request, error: Exception) -> JSONResponse:
    """A sentence that is not understood, with where and what would be right."""
    assert isinstance(error, QueryError)
    data = error.as_data()
    slug = data.pop("error")
    return problem(422, slug, "The question is not understood", data.pop("message"), **data)


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
    QueryError: on_query_error,
    KnockonError: on_knockon_error,
    RequestValidationError: on_bad_request,
    HTTPException: on_http_error,
}
