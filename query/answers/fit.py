"""Does it fit, what fits there, where does it fit, which needs least: questions of fit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ...reasoner.build import Build
from ...reasoner.cascade import Cascade, find_cascade
from ...reasoner.catalogue import Part
from ...reasoner.kit_choice import Cell, choose_kit, kit_parts
from ...reasoner.least_change import least_change
from ...reasoner.problem import Problem
from ...reasoner.verdicts import Search, Verdict
from ...reasoner.where_fits import Fitment, Fits, where_fits
from .. import syntax as s
from ..answer import Thing
from ..compose import number
from ..errors import NotOnCar
from ..phrases import CarName
from ..report import Report, Row, Section
from ..words import cautions_for, reason_text
from .ground import Ground, counted, listed, no_answer, row, table

_MOST_REASONS = 12


# ---------------------------------------------------------------------- does A fit CAR?


def does_fit(ground: Ground, asked: s.DoesFit) -> Report:
    """As it is, with changes (which), or not at all (why)."""
    resolver, build = ground.resolver, ground.resolver.build(asked.car)
    part = resolver.part(asked.part)
    places = ground.stations_of(part, build)
    if asked.at is not None:
        places = tuple(resolver.fittings((s.Fitting(asked.part, asked.at),), build))
    if not places:
        where = listed(map(ground.catalogue.name, part.stations), "or")
        summary = f"No: {build.name} has no {where} for {ground.said(part)}."
        return ground.report(asked, summary, about=(part.iri, build.car), holds=False)
    verdicts = [_at_station(ground, asked, build, part, station) for station in places]
    best = min(verdicts, key=lambda v: v.rank)
    summary = best.sentence if len(verdicts) == 1 else " ".join(v.sentence for v in verdicts)
    return ground.report(
        asked,
        summary,
        [section for verdict in verdicts for section in verdict.sections],
        about=(part.iri, build.car, *places),
        holds=best.holds,
        cautions=cautions_for(ground.areas({*places, *best.touched})),
    )


@dataclass(frozen=True, slots=True)
class _Verdict:
    """How a part goes at one station: a sentence, yes (True), no (False) or unproven (None)."""

    sentence: str
    holds: bool | None
    rank: int
    sections: tuple[Section, ...] = ()
    touched: tuple[str, ...] = ()


def _at_station(
    ground: Ground, asked: s.DoesFit, build: Build, part: Part, station: str
) -> _Verdict:
    name, where = ground.said(part), ground.catalogue.name(station)
    if build.fits[station] == part.iri:
        return _Verdict(f"Yes: {build.name} has {name} as {where} already.", True, 0)
    wishes = ground.resolver.wishes({station: part.iri}, asked.terms, build)
    supply = ground.resolver.supply(asked.terms)
    cascade = find_cascade(ground.mating, build, wishes, supply)
    if not cascade.workable:
        sentence = f"No: {name} does not fit {build.name} as {where}, whatever else changes."
        return _Verdict(sentence, False, 3, (_conflict(ground, cascade),))
    must, choice = cascade.of(Verdict.MUST), cascade.of(Verdict.CHOICE)
    touched = tuple(k.station for k in (*must, *choice))
    with Search(Problem(ground.mating, build, wishes, supply), strict=False) as search:
        fewest = len(least_change(search) or ())
    proven = cascade.strictly_workable and not any(c.decides for c in cascade.checks)
    hedge = "" if proven else " That rests on something nobody has proven: check first."
    sections = (_changes(ground, cascade), _checks(ground, cascade))
    found = tuple(section for section in sections if section is not None)
    if not touched:
        yes = "Yes" if proven else "Perhaps"
        sentence = f"{yes}: {name} fits {build.name} as {where} as it is.{hedge}"
        return _Verdict(sentence, True if proven else None, 0 if proven else 1, found)
    sentence = (
        f"{'Yes' if proven else 'Perhaps'}, with changes: {name} fits {build.name} as {where} if "
        f"at least {counted(fewest, 'other station changes', 'other stations change')}.{hedge}"
    )
    return _Verdict(sentence, True if proven else None, 1 if proven else 2, found, touched)


def _changes(ground: Ground, cascade: Cascade) -> Section | None:
    rows = [
        row(
            line.station.label,
            line.verdict,
            line.now.number or line.now.label,
            listed((p.number or p.label for p in line.options[:6]), "or"),
            "; ".join(dict.fromkeys(k.text for k in line.because if k.station == line.station)),
            about=line.station,
        )
        for verdict in (Verdict.MUST, Verdict.CHOICE)
        for line in map(ground.composer.line, cascade.of(verdict))
    ]
    found = table(("station", "verdict", "now", "to", "because"), rows)
    return Section(title="What changes with it", table=found) if found else None


def _checks(ground: Ground, cascade: Cascade) -> Section | None:
    notes = list(map(ground.composer.check, cascade.checks))
    if not notes:
        return None
    return Section(
        title="Check before ordering",
        lines=tuple(f"{n.joint.label}: {'; '.join(n.measure)}" for n in notes),
    )


def _conflict(ground: Ground, cascade: Cascade) -> Section:
    if cascade.conflict is None:
        return Section(title="Why not")
    note = ground.composer.conflict(cascade.conflict)
    drops = [
        f"→ drop “{'” and “'.join(release.drop)}” and it works"
        for release in note.releases
        if len(release.drop) > 0
    ]
    title = "These cannot hold together" + (" (the smallest such set)" if note.smallest else "")
    return Section(title=title, lines=(*(f"• {r}" for r in note.reasons), *drops))


# ---------------------------------------------------------------------- what fits STATION on CAR?


def what_fits(ground: Ground, asked: s.WhatFits) -> Report:
    """Every part for a station: what is there, as it is, with changes, unproven, not."""
    resolver, build = ground.resolver, ground.resolver.build(asked.car)
    stations = resolver.stations(asked.station, build)
    wishes = resolver.wishes({}, asked.terms, build)
    supply = resolver.supply(asked.terms)
    sections, counts, fitting = [], [0, 0, 0, 0], 0
    for station in stations:
        offered = [
            p
            for p in kit_parts(ground.mating, station=station)
            if build.fits[station] == p
            or supply.origins(ground.catalogue, station, p, build.fits[station])
        ]
        offered = [p for p in offered if not any(p in ban.parts for ban in wishes.bans)]
        choice = choose_kit(
            ground.mating, offered, [build], station=station, wishes=wishes, supply=supply
        )
        cells = sorted((rank.row[0] for rank in choice.ranking), key=lambda c: _order(ground, c))
        rows = [_fit_row(ground, build, station, cell) for cell in cells]
        for cell in cells:
            counts[_group(cell)] += 1
            fitting += cell.least is not None
        found = table(("part", "what it is", "how it goes", "changes", "EUR each"), rows)
        sections.append(Section(title=ground.catalogue.name(station), table=found))
    where = listed(map(ground.catalogue.name, stations))
    summary = (
        f"{where} on {build.name}: {counts[0]} as it is, {counts[1]} with changes, "
        f"{counts[2]} unproven, {counts[3]} not."
    )
    return ground.report(
        asked, summary, sections, about=(build.car, *stations), holds=fitting > 0,
        cautions=cautions_for(ground.areas(stations)),
    )  # fmt: skip


def _group(cell: Cell) -> int:
    """0 as it is, 1 with changes, 2 unproven, 3 not."""
    if cell.least is None:
        return 3
    if cell.strict_count != cell.count:
        return 2
    return 1 if cell.least else 0


def _order(ground: Ground, cell: Cell) -> tuple[int, int, bool, Decimal, str]:
    part = ground.catalogue.parts[cell.part]
    return _group(cell), cell.count or 0, part.price is None, part.price or Decimal(0), part.number


def _fit_row(ground: Ground, build: Build, station: str, cell: Cell) -> Row:
    part = ground.catalogue.parts[cell.part]
    names = sorted(map(ground.catalogue.name, cell.least or ()))
    group = _group(cell)
    if build.fits[station] == cell.part:
        how = "there now"
    elif group == 2:
        how = "unproven" + (f", {counted(len(names), 'change')} if it mates" if names else "")
    else:
        how = ("as it is", f"with {counted(len(names), 'change')}", "", "not")[group]
    return row(
        part.number,
        part.label,
        how,
        listed(names),
        number(part.price),
        about=ground.composer.thing(part.iri),
        marked=False,
    )


# ---------------------------------------------------------------------- where does PART fit?


def where(ground: Ground, asked: s.WhereFits) -> Report:
    """On which cars as it is, with which changes, not at all and why."""
    part = ground.resolver.part(asked.part)
    builds = None if asked.car is None else _builds(ground, asked.car)
    found = where_fits(ground.mating, part.iri, builds)
    rows = [_where_row(ground, fitment) for fitment in found]
    easy = [f for f in found if f.fits in (Fits.STOCK, Fits.AS_IS) and f.proven]
    able = [f for f in found if f.least is not None]
    summary = (
        f"{ground.said(part)} goes as it is in {counted(len({f.build for f in easy}), 'car')}"
        f", with changes or unproven in {len({f.build for f in able} - {f.build for f in easy})}"
        f", and not in {len({f.build for f in found} - {f.build for f in able})}."
    )
    columns = ("car", "station", "how it goes", "what changes or stands against it")
    section = Section(title="Car by car", table=table(columns, rows))
    return ground.report(
        asked, summary, (section,), about=(part.iri,), holds=bool(able),
        cautions=cautions_for(ground.areas(part.stations)),
    )  # fmt: skip


def _where_row(ground: Ground, fitment: Fitment) -> Row:
    name = ground.catalogue.name
    how = fitment.fits.value
    if fitment.least is not None and not fitment.proven:
        how += ", unproven"
    reasons = fitment.why_not or fitment.doubts
    detail = listed(sorted(map(name, fitment.least or ())))
    if fitment.why_not:
        detail = "; ".join(reason_text(r, ground.catalogue) for r in reasons[:_MOST_REASONS])
    elif fitment.doubts and not fitment.proven:
        doubts = "; ".join(reason_text(r, ground.catalogue) for r in reasons if _doubtful(r.kind))
        detail = f"{detail}; {doubts}" if detail and doubts else detail or doubts
    station = name(fitment.station) if fitment.station else ""
    about = Thing(iri=fitment.car, label=fitment.build)
    return row(fitment.build, station, how, detail, about=about)


def _doubtful(kind: str) -> bool:
    return kind == "unproven joint"


def _builds(ground: Ground, name: CarName) -> tuple[Build, ...]:
    """One build, or every stock build of a generation."""
    from ...reasoner.differences import builds_of

    saved = ground.resolver.builds.get(name.text.casefold())
    if saved is not None:
        return (saved,)
    entry = ground.entry(name)
    if entry.what == "generation":
        return builds_of(ground.catalogue, entry.iri)
    return (ground.resolver.build(name),)


# ---------------------------------------------------------------------- which needs least change?


def least(ground: Ground, asked: s.LeastChange) -> Report:
    """Parts of a sort ranked by how little changes over several cars, with the matrix."""
    entry = ground.entry(asked.sort)
    family = entry.iri if entry.what == "family" else ""
    station = entry.iri if entry.what == "station" else ""
    builds = [build for name in asked.cars for build in _builds(ground, name)]
    parts = kit_parts(ground.mating, station=station, family=family)
    if not parts:
        raise no_answer(asked.sort, f"no part is known for {entry.label}")
    if station and not any(station in build.fits for build in builds):
        raise NotOnCar(no_answer(asked.sort, f"none of these cars has a {entry.label}").problem)
    wishes = ground.resolver.wishes({}, asked.terms, builds[0])
    parts = tuple(p for p in parts if not any(p in ban.parts for ban in wishes.bans))
    supply = ground.resolver.supply(asked.terms)
    choice = choose_kit(ground.mating, parts, builds, station=station, wishes=wishes, supply=supply)
    rows = []
    for at, rank in enumerate(choice.ranking):
        part = ground.catalogue.parts[rank.part]
        rows.append(
            row(
                part.number,
                part.label,
                *(_cell_text(cell) for cell in rank.row),
                rank.total if not rank.unworkable else f"not on {rank.unworkable}",
                number(part.price),
                about=ground.composer.thing(part.iri),
                marked=at == 0 and choice.best is not None,
            )
        )
    columns = ("part", "what it is", *choice.builds, "total", "EUR each")
    section = Section(
        title="How many other stations change",
        table=table(columns, rows),
        lines=("“?” marks a figure that rests on something nobody has proven; – is not workable.",),
    )
    best = choice.best
    if best is None:
        summary = f"No {entry.label} is workable on all of these cars."
        nearest = next(iter(choice.ranking), None)
        if nearest is not None and nearest.unworkable < len(builds):
            known = ground.said(ground.catalogue.parts[nearest.part])
            on = len(builds) - nearest.unworkable
            summary += f" {known} comes nearest: workable on {on} of {len(builds)}."
        return ground.report(asked, summary, (section,), about=(entry.iri,), holds=False)
    name = ground.said(ground.catalogue.parts[best.part])
    changes = counted(best.total, "other station changes", "other stations change")
    summary = (
        f"{name} needs least: {changes} over {counted(len(builds), 'car')}, "
        f"at most {best.worst} on one."
    )
    about = (best.part, entry.iri, *(b.car for b in builds))
    return ground.report(asked, summary, (section,), about=about, holds=True)


def _cell_text(cell: Cell) -> str:
    if cell.count is None:
        return "–"
    return str(cell.count) if cell.strict_count == cell.count else f"{cell.count}?"
