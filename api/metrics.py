"""What can be measured of the service, as Prometheus reads it."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .problems import problem

_log = logging.getLogger(__name__)
_METHODS: Final = {"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"}
_SECONDS: Final = (0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30)


class Metrics:
    """One set of figures; an application has its own."""

    def __init__(self, taken: Callable[[], int]) -> None:
        self._registry = CollectorRegistry()
        self.requests = Counter(
            "knockon_requests_total",
            "Requests answered, by route, method and status.",
            ("route", "method", "status"),
            registry=self._registry,
        )
        self.seconds = Histogram(
            "knockon_request_seconds",
            "How long requests took, by route.",
            ("route",),
            buckets=_SECONDS,
            registry=self._registry,
        )
        self.remembered = Counter(
            "knockon_answers_remembered_total",
            "Answers, by whether they were remembered or worked out.",
            ("how",),
            registry=self._registry,
        )
        self.refused = Counter(
            "knockon_too_often_total",
            "Requests refused because a caller asked too often.",
            registry=self._registry,
        )
        self.deliveries = Counter(
            "knockon_deliveries_total",
            "Webhook deliveries, by how they ended.",
            ("how",),
            registry=self._registry,
        )
        self.catalogue = Gauge(
            "knockon_catalogue",
            "The catalogue that answers; always 1.",
            ("version",),
            registry=self._registry,
        )
        Gauge(
            "knockon_questions_taken",
            "Questions worked on or waiting.",
            registry=self._registry,
        ).set_function(taken)

    def serving(self, version: str) -> None:
        """Note the catalogue that answers from now on."""
        self.catalogue.clear()
        self.catalogue.labels(version).set(1)

    def text(self) -> bytes:
        """All figures in Prometheus' text form."""
        return generate_latest(self._registry)


class Observed:
    """Middleware: counts and times every request, and turns a crash into a plain problem."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        self.app, self._metrics = app, metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, watching."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began, status = time.perf_counter(), 0
        method = scope["method"] if scope["method"] in _METHODS else "other"

        async def watched(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Exception:
            # The reason belongs in the service's log, not in front of whoever asked.
            _log.exception("%s %s went wrong", method, scope["path"])
            if status == 0:
                detail = "Something went wrong inside; the service's log has the reason."
                await problem(500, "inside", "Went wrong", detail)(scope, receive, watched)
        finally:
            # Paths have names in them; the route has not, so the figures stay few.
            route = _route_of(scope)
            self._metrics.requests.labels(route, method, str(status)).inc()
            self._metrics.seconds.labels(route).observe(time.perf_counter() - began)


def _route_of(scope: Scope) -> str:
    found = getattr(scope.get("route"), "path", "none")
    # The framework names a route as its own router does, which may leave the prefix out.
    prefixed = scope["path"].startswith("/v1/") and not found.startswith(("/v1/", "none"))
    return f"/v1{found}" if prefixed else str(found)
