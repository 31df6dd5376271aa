"""The service itself: is it up, can it answer, how much does it do, and reading files again."""

from __future__ import annotations

import os

from fastapi import APIRouter, Response
from pydantic import BaseModel, ConfigDict

from ...reasoner.errors import CatalogueFileError, CatalogueRefused
from ...reasoner.load import load_catalogue
from ..admission import Administering, Asking
from ..problems import ApiError, documented
from ..service import Served

router = APIRouter(tags=["service"])


class Health(BaseModel):
    """Whether the service answers, and from which catalogue."""

    model_config = ConfigDict(frozen=True)

    status: str
    catalogue: str
    cars: int
    parts: int


class Readiness(BaseModel):
    """Whether the service can do everything it is there for."""

    model_config = ConfigDict(frozen=True)

    ready: bool
    catalogue: bool
    shop: bool
    room: bool


class Reloaded(BaseModel):
    """Which catalogue answers now, and whether that is another than before."""

    model_config = ConfigDict(frozen=True)

    catalogue: str
    changed: bool


@router.get("/health", summary="Is the service up?")
def health(service: Served) -> Health:
    """Up, with the version and size of the catalogue it answers from. Needs no key."""
    catalogue = service.catalogue
    return Health(
        status="ok",
        catalogue=catalogue.version,
        cars=len(catalogue.cars),
        parts=len(catalogue.parts),
    )


@router.get(
    "/ready",
    summary="Can the service do its work?",
    responses={503: {"model": Readiness, "description": "Not now."}},
)
def ready(service: Served, response: Response) -> Readiness:
    """Whether there is a catalogue, a shop's folder that can be used, and room. Needs no key."""
    shop = service.settings.shop
    usable = shop is None or not shop.exists() or os.access(shop, os.R_OK | os.W_OK | os.X_OK)
    catalogue = bool(service.catalogue.cars)
    room = not service.workbench.is_full
    everything = catalogue and usable and room
    if not everything:
        response.status_code = 503
    return Readiness(ready=everything, catalogue=catalogue, shop=usable, room=room)


@router.get(
    "/metrics",
    summary="Figures for Prometheus",
    response_class=Response,
    responses={200: {"content": {"text/plain": {}}}, **documented(401, 429)},
)
def metrics(service: Served, _: Asking) -> Response:
    """Requests, times, answers remembered, refusals, deliveries, as Prometheus text."""
    return Response(service.metrics.text(), media_type="text/plain; version=0.0.4; charset=utf-8")


@router.post(
    "/reload", summary="Read the catalogue again", responses=documented(401, 403, 409, 429, 503)
)
def reload(service: Served, _: Administering) -> Reloaded:
    """Read the catalogue's files again; if they cannot be used the old catalogue goes on answering.

    If another catalogue answers then, whoever saved questions is told what has changed.
    """
    if service.settings.data is None:
        detail = "This service was not started from a folder of its own."
        raise ApiError(409, "no-data", "Nothing to read again", detail)
    data = service.settings.data
    try:
        changed = service.reload(lambda: load_catalogue(data))
    except (CatalogueFileError, CatalogueRefused) as error:
        raise ApiError(409, "refused", "The catalogue is refused", str(error)) from None
    return Reloaded(catalogue=service.catalogue.version, changed=changed)
