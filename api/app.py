"""The HTTP application: one catalogue, one desk, the same answers as the command."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from fastapi import FastAPI, Response
from fastapi.openapi.utils import get_openapi
from starlette.middleware.cors import CORSMiddleware

from ..query.desk import Desk
from .admission import Admission
from .headers import HeadAsGet, SecurityHeaders
from .limits import BodyLimit
from .metrics import Observed
from .pages import PUBLIC
from .pages import router as pages
from .problems import HANDLERS, ProblemDocument, documented
from .receipts import Receipts
from .routes import (
    asking,
    builds,
    catalogue,
    edits,
    files,
    jobs,
    questions,
    saved_questions,
    steps,
    stock,
    system,
)
from .service import Service
from .settings import Settings

_WRITTEN = (
    "/v1/builds",
    "/v1/edits",
    "/v1/history",
    "/v1/jobs",
    "/v1/saved-questions",
    "/v1/stock",
)
_EXPOSED = ("ETag", "Link", "Location", "Content-Location", "Retry-After")


def create_app(
    desk: Desk, settings: Settings | None = None, public: tuple[str, ...] = PUBLIC
) -> FastAPI:
    """The application that answers from `desk`.

    Everything else is in its `state.service`. `public` paths, the pages, need no key.
    """
    settings = settings or Settings()
    service = Service(desk, settings)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        service.start()
        yield
        service.close()

    app = FastAPI(
        title="knockon",
        version="1",
        summary="What else must change if I fit X?",
        exception_handlers={**HANDLERS, catalogue.NotChanged: _not_changed},
        docs_url=None,
        redoc_url=None,
        openapi_url="/v1/openapi.json",
        lifespan=lifespan,
    )
    app.state.service = service
    for routes in (
        asking,
        questions,
        steps,
        catalogue,
        edits,
        files,
        builds,
        stock,
        jobs,
        saved_questions,
        system,
    ):
        app.include_router(routes.router, prefix="/v1")
    app.include_router(pages)
    # The last one added is the first to see a request.
    app.add_middleware(Receipts, folder=settings.shop, paths=_WRITTEN)
    app.add_middleware(
        BodyLimit,
        longest=settings.allowance.longest_body,
        uploads=dict.fromkeys((stock.STOCK_PATH, edits.IMPORT_PATH), settings.longest_upload),
        seconds=settings.body_seconds,
    )
    app.add_middleware(
        Admission,
        ring=service.ring,
        settings=settings,
        public=public,
        limited=service.metrics.refused.inc,
    )
    if settings.origins:
        app.add_middleware(
            CORSMiddleware,
            allow_origins=settings.origins,
            allow_methods=("GET", "POST", "PUT", "DELETE"),
            allow_headers=("Authorization", "If-Match", "If-None-Match", "Idempotency-Key"),
            expose_headers=_EXPOSED,
        )
    app.add_middleware(HeadAsGet)
    app.add_middleware(SecurityHeaders)
    app.add_middleware(Observed, metrics=service.metrics)
    app.openapi = lambda: _contract(app)  # type: ignore[method-assign]
    return app


async def _not_changed(_: Any, error: Exception) -> Response:
    assert isinstance(error, catalogue.NotChanged)
    return Response(status_code=304, headers=error.headers)


def _contract(app: FastAPI) -> dict[str, Any]:
    """OpenAPI, with problems in the form in which they really come."""
    if app.openapi_schema is None:
        made = get_openapi(
            title=app.title, version=app.version, summary=app.summary, routes=app.routes
        )
        schemas = made["components"]["schemas"]
        for name in ("HTTPValidationError", "ValidationError"):
            schemas.pop(name, None)
        schemas["ProblemDocument"] = ProblemDocument.model_json_schema()
        for methods in made["paths"].values():
            for operation in methods.values():
                if "requestBody" in operation:
                    operation["responses"]["400"] = documented(400)[400]
        app.openapi_schema = made
    return app.openapi_schema
