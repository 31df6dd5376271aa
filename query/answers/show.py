"""Show a part, car, station, family or generation with everything that is stated of it."""

from __future__ import annotations

from collections.abc import Iterator

from ...reasoner.build import Build, stock_build
from ...reasoner.catalogue import Car, End, Family, Part, Station
from .. import syntax as s
from ..compose import number
from ..lexicon import about_car
from ..report import Report, Row, Section, Table
from ..words import plain
from .ground import Ground, counted, listed, no_answer, row, table


def show(ground: Ground, asked: s.Show) -> Report:
    """A part, car, station, family or generation with everything that is stated of it."""
    saved = ground.resolver.builds.get(asked.thing.text.casefold())
    if saved is not None:
        section = _fits_of(ground, saved)
        summary = f"{saved.name} is {ground.catalogue.name(saved.car)} with what is listed."
        return ground.report(asked, summary, (section,), about=(saved.car,))
    build = None if asked.car is None else ground.resolver.build(asked.car)
    entry = ground.entry(asked.thing)
    about = (entry.iri, *((build.car,) if build else ()))
    known = ground.catalogue
    sections: tuple[Section, ...]
    match entry.what:
        case "part":
            part = known.parts[entry.iri]
            there = _on_car(ground, part, build) if build else ()
            sections = (
                Section(title="The part", table=table(("", ""), part_facts(ground, part))),
                *there,
                Section(title="Ends", table=_ends_table(ground, part)),
            )
            summary = f"{ground.said(part)}."
        case "family":
            family = known.families[entry.iri]
            sections = _family(ground, family)
            summary = f"{family.label}: {counted(len(family.parts), 'part')}."
        case "station":
            station = known.stations[entry.iri]
            if build is not None and station.iri not in build.fits:
                raise no_answer(asked.thing, f"{build.name} has no {station.label}")
            sections = _station(ground, station, build)
            summary = f"{station.label}: {counted(station.quantity, 'part')} a car."
        case "car":
            car = known.cars[entry.iri]
            sections = (_fits_of(ground, stock_build(known, car)),)
            told = about_car(car)
            summary = f"{car.label}{': ' + told if told else ''}."
        case _:
            cars = known.cars_of(entry.iri)
            rows = [row(c.label, about_car(c), about=ground.composer.thing(c.iri)) for c in cars]
            sections = (Section(title="Built as", table=table(("car", "which"), rows)),)
            summary = f"{entry.label}: {counted(len(cars), 'version')}."
    return ground.report(asked, summary, sections, about=about)


def part_facts(ground: Ground, part: Part) -> Iterator[Row]:
    """What is stated of a part beside its ends, one row each."""
    name = ground.catalogue.name
    texts = (
        ("number", part.number),
        ("maker", name(part.maker) if part.maker else ""),
        ("also called", ", ".join(part.synonyms)),
        ("family", listed(map(name, sorted(part.families)))),
        ("sits at", listed(map(name, part.stations))),
        ("superseded by", listed(map(name, part.superseded_by))),
        ("interchanges with", listed(map(name, part.interchanges))),
        ("needs", listed(map(name, part.requires))),
        ("rules out", listed(map(name, part.excludes))),
        ("only used complete", listed(map(name, part.sets))),
        ("made from", name(part.rework_of) if part.rework_of else ""),
        ("by", part.rework_act),
        ("one-use", "yes" if part.one_use else ""),
        ("stated by", ground.sources(part.sources)),
    )
    for label, text in texts:
        if text:
            yield row(label, text)
    if part.price is not None:
        yield row("price each", f"{part.price:.2f} EUR")
    if part.weight is not None:
        yield row("weight", f"{plain(part.weight)} kg")
    for quantity, value in part.attributes.items():
        yield row(ground.quantity_label(quantity), ground.with_unit(quantity, value))


def _ends_table(ground: Ground, part: Part) -> Table | None:
    rows = []
    for ends in part.ends.values():
        for iri in ends:
            end = ground.catalogue.ends[iri]
            first = True
            for quantity, claims in end.claims.items():
                for claim in claims:
                    rows.append(
                        row(
                            _end_name(ground, end) if first else "",
                            ground.quantity_label(quantity),
                            ground.with_unit(quantity, claim.value),
                            ground.sources(claim.sources),
                            about=ground.composer.thing(iri),
                            marked=len(claims) > 1,
                        )
                    )
                    first = False
            for open_value in end.open:
                span = listed(map(str, open_value.one_of), "or") or (
                    f"{plain(open_value.least)} to {plain(open_value.most)}"
                )
                label = ground.quantity_label(open_value.quantity)
                rows.append(
                    row(_end_name(ground, end) if first else "", label, f"made to suit: {span}", "")
                )
                first = False
            if first:
                rows.append(row(_end_name(ground, end), "", "nothing stated", ""))
    return table(("end", "value of", "value", "who says so"), rows)


def _end_name(ground: Ground, end: End) -> str:
    role = ground.catalogue.name(end.role)
    return f"{role}, {end.side}" if end.side else role


def _on_car(ground: Ground, part: Part, build: Build) -> tuple[Section, ...]:
    lines = []
    for station in part.stations:
        if station in build.fits:
            there = build.part(ground.catalogue, station)
            have = ground.said(there) if there else "nothing"
            word = "it sits there" if there is part else f"{have} sits there now"
            lines.append(f"{ground.catalogue.name(station)}: {word}")
    return (Section(title=f"On {build.name}", lines=tuple(lines) or ("no place for it",)),)


def _family(ground: Ground, family: Family) -> tuple[Section, ...]:
    parts = [ground.catalogue.parts[p] for p in family.parts]
    rows = [
        row(
            p.number,
            p.label,
            number(p.price),
            listed(map(ground.catalogue.name, p.superseded_by)),
            about=ground.composer.thing(p.iri),
        )
        for p in parts
    ]
    columns = ("part", "what it is", "EUR each", "superseded by")
    facts = [
        row("sits at", listed(map(ground.catalogue.name, family.stations))),
        *(row("needs", ground.catalogue.name(f)) for f in family.requires),
    ]
    ends = _ends_table(ground, parts[0]) if parts else None
    return (
        Section(title="The family", table=table(("", ""), facts)),
        Section(title="Its parts", table=table(columns, rows)),
        Section(title=f"Ends, as on {ground.said(parts[0])}" if parts else "Ends", table=ends),
    )


def _station(ground: Ground, station: Station, build: Build | None) -> tuple[Section, ...]:
    known = ground.catalogue
    facts = [row("area", station.area)] if station.area else []
    facts.append(row("per car", station.quantity))
    if station.synonyms:
        facts.append(row("also called", ", ".join(station.synonyms)))
    if station.may_stand_empty:
        facts.append(row("may stand empty", "yes"))
    if build is not None:
        there = build.part(known, station.iri)
        facts.append(row(f"on {build.name}", ground.said(there) if there else "nothing"))
    parts = [known.parts[iri] for iri in known.parts_at(station.iri)]
    rows = [
        row(
            p.number,
            p.label,
            listed(c.label for c in known.cars_with(p.iri) if _has(c, station.iri, p.iri)),
            number(p.price),
            about=ground.composer.thing(p.iri),
        )
        for p in parts
    ]
    joints = [
        row(j.label, known.kinds[j.kind].label if j.kind in known.kinds else j.kind)
        for j in known.joints.values()
        if station.iri in j.stations
    ]
    columns = ("part", "what it is", "stock on", "EUR each")
    return (
        Section(title="The station", table=table(("", ""), facts)),
        Section(title="Parts that sit there", table=table(columns, rows)),
        Section(title="Joints", table=table(("joint", "kind"), joints)),
    )


def _has(car: Car, station: str, part: str) -> bool:
    fit = car.fits.get(station)
    return fit is not None and fit.part == part


def _fits_of(ground: Ground, build: Build) -> Section:
    rows = []
    for station, iri in build.fits.items():
        part = ground.catalogue.parts[iri] if iri else None
        rows.append(
            row(
                ground.catalogue.name(station),
                part.number if part else "",
                part.label if part else "nothing",
                about=ground.composer.thing(station),
                marked=station in build.changed,
            )
        )
    return Section(title="Station by station", table=table(("station", "part", "what it is"), rows))
