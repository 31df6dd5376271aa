"""Saved builds: cars that differ from how they left the works. Everybody sees their own alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Body, Path, Request, Response
from pydantic import Field

from ...query.answer import MeetingNote, PartRef, Thing, Value
from ...query.desk import Desk
from ...query.phrases import CarName, PartName, StationName
from ...reasoner.build import Build, clashes, modified, stock_build
from ...reasoner.reasons import Meeting
from ..admission import Asking, Editing
from ..bodies import Body as Asked
from ..bodies import openapi_examples
from ..etags import knows, may_replace, not_modified
from ..paging import Cursor, Limit, Page, page_of
from ..problems import ApiError, documented, not_found
from ..service import Served
from ..shelf import build_tag

router = APIRouter(prefix="/builds", tags=["builds"], responses=documented(401, 422, 429, 503))
_WRITING = documented(403, 409, 412, 413)

NAME = r"^[^\x00-\x1f\x7f-\x9f\s/]([^\x00-\x1f\x7f-\x9f/]*[^\x00-\x1f\x7f-\x9f\s/])?$"
Name = Annotated[str, Path(min_length=1, max_length=80, description="case does not matter")]


class BuildContent(Asked):
    """What a build is: a car (or another build) and what differs from it.

    `fits` maps a station to the part there, or to null where it stands empty; names or IRIs.
    """

    car: str = Field(min_length=1, max_length=200)
    fits: dict[
        Annotated[str, Field(min_length=1, max_length=200)],
        Annotated[str, Field(min_length=1, max_length=200)] | None,
    ] = Field(default_factory=dict, max_length=200)


class NewBuild(BuildContent):
    """A build under a name that can then be used in questions."""

    name: str = Field(pattern=NAME, max_length=80)


class Difference(Value):
    """A station at which a build differs from the works."""

    station: Thing
    stock: PartRef
    part: PartRef


class SavedBuildNote(Value):
    """A saved build. `car` and `fits` are as they can be sent back."""

    name: str
    href: str
    car: str
    fits: dict[str, str | None]
    car_label: str
    differences: tuple[Difference, ...]
    clashes: tuple[MeetingNote, ...] = Field(description="joints that clash as it stands")


_CONTENT: dict[str, Any] = {
    "car": "Wether W2 late",
    "fits": {"rear wheel": "OW-46120", "front wheel adapter": None},
}


@router.get("", summary="Your builds")
def list_builds(
    request: Request,
    response: Response,
    service: Served,
    caller: Asking,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> Page[SavedBuildNote]:
    """Your saved builds, by name."""
    desk = service.counter(caller).desk
    response.headers["Cache-Control"] = "private, no-cache"
    return page_of(
        request,
        response,
        desk.builds.values(),
        lambda build: (build.name.casefold(), build.name),
        lambda build: _note(desk, build),
        limit,
        cursor,
    )


@router.post("", status_code=201, summary="Save a build", responses=_WRITING)
def add_build(
    response: Response,
    service: Served,
    caller: Editing,
    body: Annotated[
        NewBuild, Body(openapi_examples=openapi_examples({"name": "red pickup", **_CONTENT}))
    ],
) -> SavedBuildNote:
    """Save a build under a name that is still free."""
    desk = service.counter(caller).desk
    _refuse_taken(desk, body.name)
    made = _made(desk, body.name, body)
    key = made.name.casefold()

    def added(builds: Mapping[str, Build]) -> Mapping[str, Build]:
        if key in builds:
            detail = f"A build is saved as “{builds[key].name}”: replace it, or take another name."
            raise ApiError(409, "exists", "The name is taken", detail)
        return {**builds, key: made}

    service.shelf.change_builds(caller.owner, service.catalogue, added)
    response.headers["Location"] = _href(made.name)
    response.headers["ETag"] = build_tag(made)
    return _note(desk, made)


@router.get(
    "/{name}",
    summary="One build",
    responses={304: {"description": "It is still what you have."}, **documented(404)},
)
def get_build(
    name: Name, request: Request, response: Response, service: Served, caller: Asking
) -> SavedBuildNote:
    """One of your builds, with what clashes as it stands."""
    desk = service.counter(caller).desk
    found = _found(desk.builds, name)
    tag = build_tag(found)
    if knows(request, tag):
        return not_modified(tag, {})  # type: ignore[return-value]
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = "private, no-cache"
    return _note(desk, found)


@router.put(
    "/{name}",
    summary="Replace a build, or save one",
    responses={201: {"model": SavedBuildNote}, **documented(428), **_WRITING},
)
def put_build(
    name: Annotated[str, Path(pattern=NAME, max_length=80)],
    request: Request,
    response: Response,
    service: Served,
    caller: Editing,
    body: Annotated[BuildContent, Body(openapi_examples=openapi_examples(_CONTENT))],
) -> SavedBuildNote:
    """Put a build under a name. To replace one send If-Match with the ETag that you read."""
    desk = service.counter(caller).desk
    _refuse_taken(desk, name)
    made = _made(desk, name, body)

    def put(builds: Mapping[str, Build]) -> Mapping[str, Build]:
        before = builds.get(name.casefold())
        may_replace(request, None if before is None else build_tag(before))
        response.status_code = 201 if before is None else 200
        return {**builds, name.casefold(): made}

    service.shelf.change_builds(caller.owner, service.catalogue, put)
    if response.status_code == 201:
        response.headers["Location"] = _href(name)
    response.headers["ETag"] = build_tag(made)
    return _note(desk, made)


@router.delete(
    "/{name}",
    status_code=204,
    summary="Forget a build",
    responses={**documented(404, 428), **_WRITING},
)
def delete_build(name: Name, request: Request, service: Served, caller: Editing) -> None:
    """Forget a build; send If-Match with the ETag that you read."""

    def dropped(builds: Mapping[str, Build]) -> Mapping[str, Build]:
        found = _found(builds, name)
        may_replace(request, build_tag(found))
        return {key: build for key, build in builds.items() if build is not found}

    service.shelf.change_builds(caller.owner, service.catalogue, dropped)


# ---------------------------------------------------------------------- inside


def _href(name: str) -> str:
    return f"/v1/builds/{quote(name, safe='')}"


def _found(builds: Mapping[str, Build], name: str) -> Build:
    found = builds.get(name.casefold())
    if found is None:
        raise not_found("build", name, tuple(b.name for b in builds.values())[:5])
    return found


def _refuse_taken(desk: Desk, name: str) -> None:
    """A build must not take the name of a car: the same question would mean another thing."""
    if desk.index.matches(name, ("car", "generation")):
        detail = f"“{name}” is what the catalogue calls a car: take another name."
        raise ApiError(409, "exists", "The name is taken", detail)


def _made(desk: Desk, name: str, content: BuildContent) -> Build:
    """The build that is meant.

    Raises:
        QueryError: a name means nothing, or several things. ApiError: a part does not sit there.
    """
    known, resolver = desk.catalogue, desk.resolver
    if content.car in known.cars:
        start = stock_build(known, known.cars[content.car])
    else:
        start = resolver.build(CarName(content.car))
    fits: dict[str, str | None] = {}
    for place, wanted in content.fits.items():
        if place in known.stations and place in start.fits:
            stations: tuple[str, ...] = (place,)
        else:
            stations = resolver.stations(StationName(place), start)
        part = wanted
        if wanted is not None and wanted not in known.parts:
            part = resolver.part(PartName(wanted)).iri
        for station in stations:
            if part is not None and station not in known.parts[part].stations:
                detail = f"{known.name(part)} does not sit at the {known.name(station)}."
                raise ApiError(422, "not-there", "The part does not sit there", detail)
            fits[station] = part
    return modified(start, fits, name)


def _note(desk: Desk, build: Build) -> SavedBuildNote:
    known, show = desk.catalogue, desk.composer
    stock = stock_build(known, known.cars[build.car])
    return SavedBuildNote(
        name=build.name,
        href=_href(build.name),
        car=build.car,
        fits={station: build.fits[station] for station in build.changed},
        car_label=known.name(build.car),
        differences=tuple(
            Difference(
                station=show.thing(station),
                stock=show.part(stock.fits[station]),
                part=show.part(build.fits[station]),
            )
            for station in build.changed
        ),
        clashes=tuple(
            show.meeting(Meeting(_parts_at(desk, build, mate.joint), mate))
            for mate in clashes(desk.mating, build)
        ),
    )


def _parts_at(desk: Desk, build: Build, joint: str) -> tuple[str | None, ...]:
    return tuple(build.fits.get(m.station) for m in desk.catalogue.joints[joint].members)
