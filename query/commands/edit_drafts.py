"""`knockon edit promote`, `retract`, `dispute` and `copy-generation`: drafts of the usual edits."""

from __future__ import annotations

import getpass
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ...reasoner.catalogue import Catalogue, Standing
from ...reasoner.errors import KnockonError
from ...reasoner.interfaces.kind import Scalar
from .shared import BAD_QUESTION, data_option, open_desk

if TYPE_CHECKING:
    from ...reasoner.upkeep.changes import ChangeSet
    from ...reasoner.upkeep.standing import NewSource, Signature, Stated

_SPACE = "https://knockon.example/"


class _NoSuchThing(KnockonError):
    """A name that means nothing here, with the nearest that do."""


def _signing(command: Callable[..., None]) -> Callable[..., None]:
    """The options of every draft: whose it is, why, and where it goes. Refusals end with 2."""

    @wraps(command)
    def safely(*args: Any, **kwargs: Any) -> None:
        try:
            command(*args, **kwargs)
        except KnockonError as error:
            click.echo(str(error), err=True)
            sys.exit(BAD_QUESTION)

    options = (
        data_option,
        click.option("--who", envvar="KNOCKON_WHO", default="", help="Who makes the edit."),
        click.option("--why", required=True, help="Why; it is kept with the edit for good."),
        click.option(
            "--out", type=click.Path(dir_okay=False, path_type=Path), help="Write the draft here."
        ),
    )
    for option in reversed(options):
        safely = option(safely)
    return safely


def _source_options(command: Callable[..., None]) -> Callable[..., None]:
    """Which source says so; one that is not described yet is described with the edit."""
    options = (
        click.option("--source", required=True, help="The source that says so, such as bench."),
        click.option("--label", default="", help="Describe the source newly, under this label."),
        click.option("--by", default="", help="Of a new source: who says so."),
        click.option(
            "--standing",
            type=click.Choice([standing.word for standing in Standing]),
            default=Standing.REPORTED.word,
            show_default=True,
            help="Of a new source: how far it may be trusted.",
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


@click.command()
@click.argument("end")
@click.option("--fits", default="", help="The end it was tried with, and fits.")
@click.option("--value", default="", help="The quantity that is confirmed, such as teeth.")
@_source_options
@_signing
def promote(
    end: str, fits: str, value: str, source: str, label: str, by: str, standing: str, **rest: Any
) -> None:
    """Draft that a trial fit or a measurement confirms what was weaker.

    END is an end by its name (rear-hub-spline-27) or a part and a role (OW-42110/hub-spline).

    knockon edit promote OW-42345/hub-spline --value module --source bench --why "on the bench"
    """
    from ...reasoner.upkeep.standing import promote_fit, promote_value
    from .edit_files import hand_over

    if bool(fits) == bool(value):
        raise _NoSuchThing("Give either --fits END or --value QUANTITY.")
    held, signed = _open(rest)
    said_by = _source(held, source, label, by, standing)
    first = _end(held.catalogue, end)
    if fits:
        change = promote_fit(held, first, _end(held.catalogue, fits), said_by, signed)
    else:
        change = promote_value(held, first, _quantity(held.catalogue, value), said_by, signed)
    hand_over(change, rest["out"])


@click.command()
@click.argument("thing")
@click.argument("property_", metavar="PROPERTY")
@click.option("--source", required=True, help="The source whose word is taken away.")
@click.option("--only", default="", help="Only this value of the property.")
@_signing
def retract(thing: str, property_: str, source: str, only: str, **rest: Any) -> None:
    """Draft that SOURCE's word on one PROPERTY of THING no longer counts.

    THING is an end, a part by its number, a car, or a full IRI.

    knockon edit retract OW-42345/hub-spline module --source family-likeness --why "was a guess"
    """
    from ...reasoner.upkeep.standing import retract as drafted
    from .edit_files import hand_over

    held, signed = _open(rest)
    subject = _thing(held.catalogue, thing)
    name = property_.removeprefix("ko:")
    change = drafted(held, subject, name, _graph(source), signed, only)
    _tell_shared(held, change, subject)
    hand_over(change, rest["out"])


@click.command()
@click.argument("end")
@click.argument("quantity")
@click.argument("value")
@_source_options
@_signing
def dispute(
    end: str,
    quantity: str,
    value: str,
    source: str,
    label: str,
    by: str,
    standing: str,
    **rest: Any,
) -> None:
    """Draft that a source says QUANTITY of END is VALUE, beside what others say.

    knockon edit dispute OW-42110/hub-spline teeth 28 --source customer-reports --why "a letter"
    """
    from ...reasoner.upkeep.standing import dispute as drafted
    from .edit_files import hand_over

    held, signed = _open(rest)
    said_by = _source(held, source, label, by, standing)
    at, name = _end(held.catalogue, end), _quantity(held.catalogue, quantity)
    change = drafted(held, at, name, _value(value), said_by, signed)
    _tell_shared(held, change, at)
    hand_over(change, rest["out"])


@click.command("copy-generation")
@click.argument("old")
@click.argument("new")
@click.option("--source", required=True, help="The source that says so, such as maker-drawings.")
@click.option("--from-year", type=int, help="First year.")
@click.option("--to-year", type=int, help="Last year.")
@click.option("--from-serial", type=int, help="First serial number.")
@click.option("--to-serial", type=int, help="Last serial number.")
@click.option("--fit", "fits", multiple=True, metavar="STATION=PART", help="Another part there.")
@click.option("--empty", multiple=True, metavar="STATION", help="Left empty.")
@click.option("--name", default="", help="The last part of its IRI; made of NEW if left out.")
@_signing
def copy_generation(
    old: str,
    new: str,
    source: str,
    from_year: int | None,
    to_year: int | None,
    from_serial: int | None,
    to_serial: int | None,
    fits: tuple[str, ...],
    empty: tuple[str, ...],
    name: str,
    **rest: Any,
) -> None:
    """Draft generation NEW as generation OLD with the differences only.

    knockon edit copy-generation W4 "Wether W5" --from-year 2025 --from-serial 490000
    --fit "rear hub=OW-42345" --source maker-drawings --why "the maker's bulletin"
    """
    from ...reasoner.upkeep.copy_generation import NewGeneration
    from ...reasoner.upkeep.copy_generation import copy_generation as drafted
    from .edit_files import hand_over

    held, signed = _open(rest)
    known = held.catalogue
    there = {_station(known, station): None for station in empty}
    changed = dict[str, str | None](there)
    for each in fits:
        station, equals, part = each.partition("=")
        if not equals:
            raise _NoSuchThing(f"“{each}”: write STATION=PART, such as “rear hub=OW-42345”")
        changed[_station(known, station.strip())] = _part(known, part.strip())
    made = NewGeneration(
        label=new,
        source=_known_source(held, source),
        years=(from_year, to_year),
        serials=(from_serial, to_serial),
        fits=changed,
        name=name,
    )
    change = drafted(held.facts, known, _generation(known, old), made, signed)
    hand_over(change, rest["out"])


# ---------------------------------------------------------------------- what names mean


def _open(rest: dict[str, Any]) -> tuple[Stated, Signature]:
    from ...reasoner.load import stated
    from ...reasoner.reading import read_facts
    from ...reasoner.upkeep.standing import Signature, Stated

    data = rest["data"]
    catalogue = open_desk(data).catalogue
    facts = read_facts(stated(data)[1]()[1])
    who = rest["who"] or getpass.getuser()
    return Stated(facts, catalogue), Signature(who, datetime.now(UTC), rest["why"])


def _tell_shared(held: Stated, change: ChangeSet, asked: str) -> None:
    """Say which other ends a change of a form reaches."""
    from ...reasoner.upkeep.standing import shared_by

    others = [_last(iri) for iri in shared_by(held, change) if iri != asked]
    if others:
        click.echo(f"It is stated of a form that {', '.join(others)} share.", err=True)


def _graph(source: str) -> str:
    name = source.removeprefix("src:")
    return name if name.startswith("http") else f"{_SPACE}source/{name}"


def _known_source(held: Stated, source: str) -> str:
    iri = _graph(source)
    if iri not in held.catalogue.sources:
        raise _NoSuchThing(_none("source", source, map(_last, held.catalogue.sources)))
    return iri


def _source(held: Stated, source: str, label: str, by: str, standing: str) -> str | NewSource:
    from ...reasoner.upkeep.standing import NewSource

    if not label:
        return _known_source(held, source)
    if not by:
        raise _NoSuchThing("A new source needs --by: who says so.")
    return NewSource(_graph(source), label, by, _STANDINGS[standing])


_STANDINGS = {standing.word: standing for standing in Standing}


def _end(known: Catalogue, text: str) -> str:
    name = text.removeprefix("end:")
    for iri in (name, f"{_SPACE}end/{name}"):
        if iri in known.ends:
            return iri
    number, slash, role = name.partition("/")
    if slash:
        part = known.parts[_part(known, number)]
        ends = part.ends.get(f"{_SPACE}role/{role}", ())
        if len(ends) == 1:
            return ends[0]
        if ends:
            raise _NoSuchThing(f"{text} is one of {', '.join(map(_last, ends))}; name that one")
        raise _NoSuchThing(_none(f"role of {part.number}", role, map(_last, part.ends)))
    raise _NoSuchThing(_none("end", name, map(_last, known.ends)))


def _part(known: Catalogue, text: str) -> str:
    for iri, part in known.parts.items():
        if text.casefold() in (part.number.casefold(), _last(iri).casefold()):
            return iri
    raise _NoSuchThing(_none("part", text, (p.number for p in known.parts.values())))


def _station(known: Catalogue, text: str) -> str:
    for iri, station in known.stations.items():
        names = (_last(iri), station.label, *station.synonyms)
        if text.casefold() in (name.casefold() for name in names):
            return iri
    raise _NoSuchThing(_none("station", text, (s.label for s in known.stations.values())))


def _generation(known: Catalogue, text: str) -> str:
    for iri, generation in known.generations.items():
        names = (_last(iri), generation.label, *generation.synonyms)
        if text.casefold() in (name.casefold() for name in names):
            return iri
    raise _NoSuchThing(_none("generation", text, (g.label for g in known.generations.values())))


def _thing(known: Catalogue, text: str) -> str:
    if text.startswith("http"):
        return text
    for find in (_end, _part):
        try:
            return find(known, text)
        except _NoSuchThing:
            continue
    for iri, car in known.cars.items():
        if text.casefold() in (_last(iri).casefold(), car.label.casefold()):
            return iri
    names = [*map(_last, known.ends), *(p.number for p in known.parts.values())]
    raise _NoSuchThing(_none("end, part or car", text, names))


def _quantity(known: Catalogue, text: str) -> str:
    name = text.removeprefix("ko:")
    for quantity, described in known.quantities.items():
        if name.casefold() in (quantity.casefold(), described.label.casefold()):
            return quantity
    raise _NoSuchThing(_none("quantity", text, known.quantities))


def _value(text: str) -> Scalar:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return {"true": True, "false": False}.get(text, text)
    if not number.is_finite():
        return text
    return int(number) if number == number.to_integral_value() and "." not in text else number


def _last(iri: str) -> str:
    return iri.rsplit("/", 1)[-1]


def _none(what: str, text: str, known: Any) -> str:
    near = get_close_matches(text, sorted(set(known)), n=3, cutoff=0.5)
    return f"there is no {what} “{text}”" + (f"; did you mean {', '.join(near)}?" if near else "")
