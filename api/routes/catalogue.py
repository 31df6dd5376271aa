"""What the catalogue holds: cars, stations, parts, families, interface kinds and sources.

Lists come in pages. A thing is called in its address by the last piece of its IRI (a part by its
number), or by its whole IRI.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, TypeVar

from fastapi import APIRouter, Depends, Path, Query, Request, Response

from ...query.name_table import Listed
from ...query.phrases import What
from .. import things as t
from ..admission import Caller, caller_of
from ..etags import knows, tag_of
from ..paging import Cursor, Limit, Page, page_of
from ..problems import ApiError, documented, not_found
from ..service import Served, Service
from ..showing import Showing

router = APIRouter(
    tags=["catalogue"],
    responses={304: {"description": "It is still what you have."}, **documented(401, 422, 429)},
)
_DETAIL = documented(404)
T = TypeVar("T")

Key = Annotated[str, Path(max_length=500, description="its `id`, or its whole IRI")]
Words = Annotated[str, Query(alias="q", max_length=200, description="words that the names hold")]


class NotChanged(ApiError):
    """The client has it already; no problem at all, but no body either."""

    def __init__(self, tag: str) -> None:
        super().__init__(304, "not-modified", "", "", {"ETag": tag})


def _tagged(
    request: Request,
    response: Response,
    service: Served,
    _: Annotated[Caller, Depends(caller_of)],
) -> Showing:
    """What shows the catalogue; the response is tagged by its version and the address."""
    tag = tag_of(service.catalogue.version, request.url.path, request.url.query)
    if knows(request, tag):
        raise NotChanged(tag)
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = "private, no-cache"
    return service.showing


Shown = Annotated[Showing, Depends(_tagged)]


def _holding(service: Service, sort: What, words: str) -> list[Listed]:
    """The things of a sort whose names hold all the words."""
    return service.desk.index.holding(sort, words.casefold().split())


def _itself(listed: Listed) -> Listed:
    return listed


def _one(showing: Showing, table: Mapping[str, T], collection: str, what: str, key: str) -> T:
    iri = showing.found(collection, key)
    if iri is None:
        raise not_found(what, key, showing.nearest(collection, key))
    return table[iri]


# ---------------------------------------------------------------------- cars


@router.get("/cars", summary="The cars")
def list_cars(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    q: Words = "",
    generation: Annotated[str, Query(max_length=500, description="label or IRI")] = "",
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.CarItem]:
    """Stock builds, by label."""
    known = service.catalogue
    cars = _holding(service, "car", q)
    if generation:
        of = [known.cars[each.iri] for each in cars]
        cars = [
            each
            for each, car in zip(cars, of, strict=True)
            if generation == car.generation
            or (car.generation and known.name(car.generation).casefold() == generation.casefold())
        ]

    def shown(each: Listed) -> t.CarItem:
        return showing.car(known.cars[each.iri])

    return page_of(request, response, cars, _itself, shown, limit, cursor)


@router.get("/cars/{key:path}", summary="One car", responses=_DETAIL)
def get_car(key: Key, service: Served, showing: Shown) -> t.CarDetail:
    """A car with the part at every station, and who says so."""
    return showing.car_detail(_one(showing, service.catalogue.cars, "cars", "car", key))


# ---------------------------------------------------------------------- stations


@router.get("/stations", summary="The stations")
def list_stations(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    q: Words = "",
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.StationItem]:
    """Places on a car where one part sits, by label."""
    stations = service.catalogue.stations

    def shown(each: Listed) -> t.StationItem:
        return showing.station(stations[each.iri])

    found = _holding(service, "station", q)
    return page_of(request, response, found, _itself, shown, limit, cursor)


@router.get("/stations/{key:path}", summary="One station", responses=_DETAIL)
def get_station(key: Key, service: Served, showing: Shown) -> t.StationDetail:
    """A station with its joints."""
    stations = service.catalogue.stations
    return showing.station_detail(_one(showing, stations, "stations", "station", key))


# ---------------------------------------------------------------------- parts and families


@router.get("/parts", summary="The parts", responses=_DETAIL)
def list_parts(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    q: Words = "",
    station: Annotated[str, Query(max_length=500, description="`id` or IRI of a station")] = "",
    family: Annotated[str, Query(max_length=500, description="`id` or IRI of a family")] = "",
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.PartItem]:
    """Parts, by label; of one station or family if asked for."""
    known = service.catalogue
    parts = _holding(service, "part", q)
    if station:
        at = _one(showing, known.stations, "stations", "station", station)
        here = frozenset(service.desk.mating.places.sitting(at.iri))
        parts = [each for each in parts if each.iri in here]
    if family:
        of = frozenset(_one(showing, known.families, "families", "family", family).parts)
        parts = [each for each in parts if each.iri in of]

    def shown(each: Listed) -> t.PartItem:
        return showing.part(known.parts[each.iri])

    return page_of(request, response, parts, _itself, shown, limit, cursor)


@router.get("/parts/{key:path}", summary="One part", responses=_DETAIL)
def get_part(key: Key, service: Served, showing: Shown) -> t.PartDetail:
    """A part with its ends, every value of them, and who says so."""
    return showing.part_detail(_one(showing, service.catalogue.parts, "parts", "part", key))


@router.get("/families", summary="The families of parts")
def list_families(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    q: Words = "",
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.FamilyItem]:
    """Parts of one design each, by label."""
    families = service.catalogue.families

    def shown(each: Listed) -> t.FamilyItem:
        return showing.family(families[each.iri])

    found = _holding(service, "family", q)
    return page_of(request, response, found, _itself, shown, limit, cursor)


@router.get("/families/{key:path}", summary="One family", responses=_DETAIL)
def get_family(key: Key, service: Served, showing: Shown) -> t.FamilyDetail:
    """A family with its parts and what all of them need."""
    families = service.catalogue.families
    return showing.family_detail(_one(showing, families, "families", "family", key))


# ---------------------------------------------------------------------- interfaces and sources


@router.get("/interfaces", summary="The interface kinds")
def list_interfaces(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.InterfaceItem]:
    """The ways in which parts meet, by name."""

    def by_name(name: str) -> tuple[str, str]:
        return name.casefold(), name

    kinds = service.catalogue.kinds
    return page_of(request, response, kinds, by_name, showing.interface, limit, cursor)


@router.get("/interfaces/{key}", summary="One interface kind", responses=_DETAIL)
def get_interface(key: Key, service: Served, showing: Shown) -> t.InterfaceDetail:
    """A kind with its quantities, their units, how to measure them, and its tolerances."""
    if key not in service.catalogue.kinds:
        raise not_found("interface kind", key, tuple(service.catalogue.kinds))
    return showing.interface_detail(key)


@router.get("/sources", summary="The sources")
def list_sources(
    request: Request,
    response: Response,
    service: Served,
    showing: Shown,
    q: Words = "",
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[t.SourceItem]:
    """Who says what the catalogue holds, by label."""
    sources = service.catalogue.sources

    def shown(each: Listed) -> t.SourceItem:
        return showing.source(sources[each.iri])

    found = _holding(service, "source", q)
    return page_of(request, response, found, _itself, shown, limit, cursor)


@router.get("/sources/{key:path}", summary="One source", responses=_DETAIL)
def get_source(key: Key, service: Served, showing: Shown) -> t.SourceDetail:
    """A source with how much rests on it."""
    return showing.source_detail(_one(showing, service.catalogue.sources, "sources", "source", key))
