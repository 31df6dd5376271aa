"""`knockon build`: save, show, list and drop builds by name."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ...reasoner.build import Build, clashes, modified
from ..desk import Desk
from ..errors import QueryError, render_error
from ..phrases import CarName, PartName, StationName
from ..shop import BUILDS_FILE, write_builds
from ..syntax import Fitting
from .shared import BAD_QUESTION, data_option, open_desk, shop_option


@click.group()
def build() -> None:
    """Builds: cars that differ from how they left the works, saved by name."""


@build.command("save")
@click.argument("name")
@click.argument("car")
@click.option("--has", multiple=True, metavar="PART[@STATION]", help="A part the car has.")
@click.option("--empty", multiple=True, metavar="STATION", help="A station that stands empty.")
@data_option
@shop_option
def save(
    name: str,
    car: str,
    has: tuple[str, ...],
    empty: tuple[str, ...],
    data: Path | None,
    shop: Path,
) -> None:
    """Save CAR with its differences as NAME, replacing a build of that name.

    knockon build save "the red one" "Wether W2 late" --has OW-44210-D --has OW-46120@"rear wheel"
    """
    desk = open_desk(data, shop)
    try:
        made = _made(desk, name, car, has, empty)
    except QueryError as error:
        click.echo(render_error(name, error), err=True)
        sys.exit(BAD_QUESTION)
    write_builds(shop / BUILDS_FILE, {**desk.builds, name.casefold(): made})
    click.echo(f"saved {name}: {desk.catalogue.name(made.car)}, {len(made.changed)} differences")
    for mate in clashes(desk.mating, made):
        click.echo(f"! as it stands, {desk.catalogue.name(mate.joint)} clashes", err=True)


@build.command("list")
@data_option
@shop_option
def list_builds(data: Path | None, shop: Path) -> None:
    """Every saved build with its car."""
    desk = open_desk(data, shop)
    for key in sorted(desk.builds):
        found = desk.builds[key]
        click.echo(f"{found.name}: {desk.catalogue.name(found.car)}")


@build.command("show")
@click.argument("name")
@data_option
@shop_option
def show(name: str, data: Path | None, shop: Path) -> None:
    """The differences of one saved build."""
    desk = open_desk(data, shop)
    found = _saved(desk, name)
    click.echo(f"{found.name}: {desk.catalogue.name(found.car)}")
    for station in found.changed:
        part = found.fits[station]
        said = desk.catalogue.name(part) if part else "nothing"
        click.echo(f"  {desk.catalogue.name(station)}: {said}")


@build.command("drop")
@click.argument("name")
@data_option
@shop_option
def drop(name: str, data: Path | None, shop: Path) -> None:
    """Forget one saved build."""
    desk = open_desk(data, shop)
    found = _saved(desk, name)
    left = {key: b for key, b in desk.builds.items() if key != found.name.casefold()}
    write_builds(shop / BUILDS_FILE, left)
    click.echo(f"dropped {found.name}")


def _saved(desk: Desk, name: str) -> Build:
    found = desk.builds.get(name.casefold())
    if found is None:
        known = ", ".join(b.name for b in desk.builds.values()) or "none"
        click.echo(f"no build is saved as “{name}”; there are: {known}", err=True)
        sys.exit(BAD_QUESTION)
    return found


def _made(desk: Desk, name: str, car: str, has: tuple[str, ...], empty: tuple[str, ...]) -> Build:
    resolver = desk.resolver
    start = resolver.build(CarName(car))
    fittings = []
    for text in has:
        part, _, station = text.partition("@")
        at = StationName(station.strip()) if station else None
        fittings.append(Fitting(PartName(part.strip()), at))
    fits: dict[str, str | None] = dict(resolver.fittings(fittings, start))
    for station in empty:
        fits.update(dict.fromkeys(resolver.stations(StationName(station), start)))
    return modified(start, fits, name)
