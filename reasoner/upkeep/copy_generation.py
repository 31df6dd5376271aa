"""Start a chassis generation from the one before it: its cars based on the old, then what differs.

Only what differs is stated. A car that is based on another has every fit of it, so a correction of
the old generation reaches the new one too, until the new one states its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from rdflib import RDF, SKOS, XSD, Literal, URIRef
from rdflib.term import BNode

from ..build import stock_build
from ..catalogue import Car, Catalogue
from ..errors import KnockonError
from ..reading import Facts
from ..terms import KO, local_name
from .changes import ChangeSet, draft
from .quads import LooseQuad, quads_of, version_of
from .standing import Signature

_SPACE = "https://knockon.example/"


class CopyRefused(KnockonError):
    """A generation that cannot be started like this."""


@dataclass(frozen=True, slots=True)
class NewGeneration:
    """What is to be known of the new generation.

    `fits` maps a station to the part that differs there (None: left empty), on every new car.
    `serials` and `years` bound all new cars; None is open. `source` is the graph of the source that
    says so. `name` is the last part of its IRI, made of the label if left out.
    """

    label: str
    source: str
    years: tuple[int | None, int | None] = (None, None)
    serials: tuple[int | None, int | None] = (None, None)
    fits: Mapping[str, str | None] = field(default_factory=dict)
    name: str = ""


def copy_generation(
    facts: Facts, catalogue: Catalogue, old: str, new: NewGeneration, signed: Signature
) -> ChangeSet:
    """The change set that starts generation `new` from generation `old` (an IRI).

    Of an old generation that changed in mid-run, the last build of each body and market is
    followed. What was stated to hold only on the old one or its cars is stated of the new ones too.

    Raises:
        CopyRefused: the old generation has no car, the new one is there already, or a part cannot
            sit where it is said to.
    """
    cars = _last_of_each(catalogue, old)
    made = URIRef(f"{_SPACE}generation/{new.name or _slug(new.label, catalogue)}")
    if str(made) in catalogue.generations:
        raise CopyRefused(f"there is a generation {local_name(made)} already")
    if new.label.casefold() in {g.label.casefold() for g in catalogue.generations.values()}:
        raise CopyRefused(f"there is a generation “{new.label}” already")
    _check_spans(new)
    graph = URIRef(new.source)
    added: list[LooseQuad] = [
        (made, RDF.type, KO.Generation, graph),
        (made, SKOS.prefLabel, Literal(new.label, lang="en-gb"), graph),
        *((made, KO.ofLine, line, graph) for line in _lines(facts, old)),
        *_spanned(made, KO.fromYear, KO.toYear, new.years, graph),
    ]
    names = {old: made}
    for car in cars:
        _check_fits(catalogue, car, new.fits)
        names[car.iri] = _car_iri(car, catalogue, old, made)
        added += _car(catalogue, car, names[car.iri], made, new, old)
    added += _held_to(facts, names, graph)
    return draft(
        who=signed.who,
        when=signed.when,
        why=signed.why,
        source=new.source,
        added=added,
        removed=(),
        base=version_of(quads_of(facts)),
    )


def _last_of_each(catalogue: Catalogue, old: str) -> list[Car]:
    """The car of each body and market that was built last."""
    cars = [car for car in catalogue.cars.values() if car.generation == old]
    if not cars:
        raise CopyRefused(f"no car is stated of the generation {catalogue.name(old)}")
    last: dict[tuple[str, str], Car] = {}
    for car in sorted(cars, key=_built):
        last[car.body, car.market] = car
    return [car for car in cars if car in last.values()]


def _built(car: Car) -> tuple[float, float, str]:
    """When it was last built; a range that is open goes on for ever."""

    def end(value: int | None, known: bool) -> float:
        return float(value) if value is not None else float("inf") if known else 0.0

    last_serial = end(car.serials[1], car.serials[0] is not None)
    return last_serial, end(car.years[1], car.years[0] is not None), car.iri


def _check_spans(new: NewGeneration) -> None:
    for what, (first, last) in (("year", new.years), ("serial number", new.serials)):
        if first is not None and last is not None and last < first:
            raise CopyRefused(f"the last {what} {last} comes before the first, {first}")


def _check_fits(catalogue: Catalogue, car: Car, fits: Mapping[str, str | None]) -> None:
    there = stock_build(catalogue, car).fits
    for station, part in fits.items():
        if station not in catalogue.stations:
            raise CopyRefused(f"there is no station {local_name(station)}")
        name = catalogue.name(station)
        if part is None:
            if station not in there:
                raise CopyRefused(f"{car.label} has no {name} that could be left empty")
        elif part not in catalogue.parts:
            raise CopyRefused(f"there is no part {local_name(part)}")
        elif station not in catalogue.parts[part].stations:
            sits = ", ".join(catalogue.name(s) for s in catalogue.parts[part].stations)
            raise CopyRefused(f"{catalogue.parts[part].number} sits at the {sits}, not the {name}")


def _car(
    catalogue: Catalogue, car: Car, node: URIRef, made: URIRef, new: NewGeneration, old: str
) -> Iterable[LooseQuad]:
    graph = URIRef(new.source)
    label = _car_label(car, catalogue.generations[old].label, new.label)
    yield node, RDF.type, KO.Car, graph
    yield node, SKOS.prefLabel, Literal(label, lang="en-gb"), graph
    yield node, KO.ofGeneration, made, graph
    yield node, KO.basedOn, URIRef(car.iri), graph
    if car.market:
        yield node, KO.market, Literal(car.market), graph
    yield from _spanned(node, KO.fromYear, KO.toYear, new.years, graph)
    yield from _spanned(node, KO.fromSerial, KO.toSerial, new.serials, graph)
    for at, (station, part) in enumerate(sorted(new.fits.items())):
        had = car.fits.get(station)
        if had is not None and had.part == part:
            continue  # it is inherited, and no difference
        if part is None:
            yield node, KO.leavesEmpty, URIRef(station), graph
            continue
        fit = BNode(f"{local_name(node)}x{at}")
        yield node, KO.has, fit, graph
        yield fit, KO.atStation, URIRef(station), graph
        yield fit, KO.part, URIRef(part), graph


def _car_label(car: Car, old: str, new: str) -> str:
    """The old car's label with the new generation's name.

    A production split ("late") ends with the old generation and is left out.
    """
    text = car.label.replace(old, new, 1) if old in car.label else f"{new} {car.body}".strip()
    return re.sub(r"\s+(early|late)$", "", text)


def _car_iri(car: Car, catalogue: Catalogue, old: str, made: URIRef) -> URIRef:
    before, after = local_name(old), local_name(made)
    name = local_name(car.iri)
    renamed = name.replace(before, after, 1) if before in name else f"{after}-{car.body.lower()}"
    renamed = re.sub(r"-(early|late)$", "", renamed.rstrip("-"))
    iri = f"{_SPACE}car/{renamed}"
    if iri in catalogue.cars:
        raise CopyRefused(f"there is a car {renamed} already")
    return URIRef(iri)


def _slug(label: str, catalogue: Catalogue) -> str:
    """A name for an IRI: of the label without the words that all generations of a line share."""
    first = {g.label.split()[0].casefold() for g in catalogue.generations.values()}
    words = label.split()
    if len(words) > 1 and words[0].casefold() in first:
        words = words[1:]
    slug = re.sub(r"[^a-z0-9]+", "-", " ".join(words).casefold()).strip("-")
    if not slug:
        raise CopyRefused(f"“{label}” has no letter or digit to make a name of; give one")
    return slug


def _lines(facts: Facts, old: str) -> list[URIRef]:
    found = (o for s, p, o in facts.sources if str(s) == old and p == KO.ofLine)
    return sorted(o for o in found if isinstance(o, URIRef))


def _spanned(
    node: URIRef,
    low: URIRef,
    high: URIRef,
    span: tuple[int | None, int | None],
    graph: URIRef,
) -> Iterable[LooseQuad]:
    for prop, value in ((low, span[0]), (high, span[1])):
        if value is not None:
            yield node, prop, Literal(str(value), datatype=XSD.integer), graph


def _held_to(facts: Facts, names: Mapping[str, URIRef], graph: URIRef) -> Iterable[LooseQuad]:
    """What holds only on the old generation or its cars, stated of the new ones as well."""
    for s, p, o in facts.sources:
        if p == KO.onlyOn and str(o) in names and isinstance(s, URIRef):
            yield s, p, names[str(o)], graph
