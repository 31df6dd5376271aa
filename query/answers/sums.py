"""What it works out to: revs, road speed, speedometer, track, clutch, brakes, propshafts, slip.

A sum that lacks a value answers with which one, of which part, and how to measure it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ...reasoner.build import Build
from ...reasoner.calculations.speedometer import un_r39_limits
from ...reasoner.drivetrain import Drivetrain, MissingFact, UsedFact, station_iri
from ...reasoner.interfaces.chords import (
    circle_from_chord,
    measuring_aid,
    possible_circles,
)
from .. import syntax as s
from ..phrases import CarName
from ..report import Report, Section
from ..words import cautions_for
from ..words_effects import speed_error_text
from .ground import Ground, listed, row, table
from .measures import MEASURES, Worked

_READING_ERROR_MM = 0.2
"""How exactly a calliper is read between bolts."""
_AREAS: dict[s.Measure, set[str]] = {
    "brake torque split": {"brakes"},
    "propshaft critical speed": {"driveline"},
    "propshaft joint angle": {"driveline"},
    "centre differential slip": {"driveline"},
    "clutch torque capacity": {"clutch"},
    "track width": {"wheel corner"},
    "rolling circumference": {"wheel"},
}


def engine_speed(ground: Ground, asked: s.EngineSpeed) -> Report:
    """Engine speed in a gear at a road speed."""
    kmh = float(asked.speed.base)

    def work(drive: Drivetrain) -> Worked:
        rpm = drive.engine_speed(asked.gear, kmh)
        return Worked(f"{rpm:.0f} rev/min in {s.ORDINALS[asked.gear - 1]} at {asked.speed}")

    return _sum(ground, asked, asked.car, asked.fits, work)


def road_speed(ground: Ground, asked: s.RoadSpeed) -> Report:
    """Road speed in a gear at an engine speed."""
    rpm = float(asked.engine.base)

    def work(drive: Drivetrain) -> Worked:
        kmh = drive.road_speed(asked.gear, rpm)
        return Worked(f"{kmh:.1f} km/h in {s.ORDINALS[asked.gear - 1]} at {asked.engine}")

    return _sum(ground, asked, asked.car, asked.fits, work)


def speedometer(ground: Ground, asked: s.Speedometer) -> Report:
    """What the speedometer shows at a true speed."""
    kmh = float(asked.speed.base)

    def work(drive: Drivetrain) -> Worked:
        error = drive.speedometer()
        shown, limits = error.shown_kmh(kmh), un_r39_limits(kmh)
        unit = asked.speed.unit if asked.speed.unit in ("mph", "km/h") else "km/h"
        per = 1.609344 if unit == "mph" else 1.0
        lines = [f"it reads {speed_error_text(error.percent)}"]
        if not limits.allows(round(shown, 3)):
            lines.append(
                "that is outside what UN Regulation 39 allows in type approval "
                f"({limits.least_kmh / per:.0f} to {limits.most_kmh / per:.0f} {unit}); "
                f"a converter of {error.converter_ratio:.3f} puts it right"
            )
        lines.append("taking it as right on the car its instruments came in")
        return Worked(f"{shown / per:.1f} {unit} at a true {asked.speed}", tuple(lines))

    return _sum(ground, asked, asked.car, asked.fits, work)


def calculation(ground: Ground, asked: s.Calculation) -> Report:
    """One of the measures of a car."""
    work, cautions = MEASURES[asked.measure], cautions_for(_AREAS[asked.measure])
    return _sum(ground, asked, asked.car, asked.fits, work, cautions=cautions)


def bolt_circle(ground: Ground, asked: s.BoltCircle) -> Report:
    """The circle of a chord between neighbours, and which known circles it could be."""
    chord = float(asked.chord.base)
    circle = circle_from_chord(chord, asked.bolts)
    found = possible_circles(asked.bolts, chord, _READING_ERROR_MM)
    aid = measuring_aid(asked.bolts)
    rows = [row(f"{asked.bolts} × {c.circle}", f"{float(c.off):+.2f} mm off") for c in found]
    parts = []
    for part in ground.catalogue.parts.values():
        for ends in part.ends.values():
            for iri in ends:
                end = ground.catalogue.ends[iri]
                bolts, sizes = end.claims.get("bolts", ()), end.claims.get("circleDiameter", ())
                fits = any(c.circle == size.value for c in found for size in sizes)
                if fits and any(b.value == asked.bolts for b in bolts):
                    parts.append(ground.said(part))
    sections = (
        Section(title="Circles the trade knows within reach of the reading",
                table=table(("circle", "from the reading"), rows),
                lines=(f"taking the reading as good to {_READING_ERROR_MM} mm",)),
        Section(title="Measured better", lines=(aid.advice,)),
        Section(title="Parts with such a circle",
                lines=(listed(dict.fromkeys(parts)),) if parts else ()),
    )  # fmt: skip
    summary = f"A circle of {circle:.1f} mm."
    if len(found) == 1:
        summary += f" That is {asked.bolts} × {found[0].circle}."
    elif found:
        circles = listed((f"{asked.bolts} × {c.circle}" for c in found), "or")
        summary += f" The reading leaves {circles} open."
    else:
        summary += " No circle the trade commonly uses lies that near: measure again."
    return ground.report(asked, summary, sections)


# ---------------------------------------------------------------------- how a sum is answered


def _sum(
    ground: Ground,
    asked: s.Calculation | s.EngineSpeed | s.RoadSpeed | s.Speedometer,
    car: CarName,
    fits: Iterable[s.Fitting],
    work: Callable[[Drivetrain], Worked],
    *,
    cautions: tuple[str, ...] = (),
) -> Report:
    """Work it out on the build, and where parts are fitted also on the build without them."""
    from ..wishes import with_fits

    build = ground.resolver.build(car)
    fitted = ground.resolver.fittings(fits, build)
    after = with_fits(build, fitted) if fitted else build
    about = (build.car, *fitted.values())
    drive = Drivetrain(ground.catalogue, after)
    try:
        worked = work(drive)
    except MissingFact as missing:
        return _missing(ground, asked, after, missing, about)
    except ValueError as error:
        summary = f"That cannot be worked out from what is stated: {error}."
        return ground.report(asked, summary, (_facts(ground, drive.used),), about=about)
    summary = f"{worked.headline[:1].upper()}{worked.headline[1:]}."
    sections = [Section(title="What it comes to", lines=worked.lines)]
    if fitted:
        sections.append(_before(ground, build, work))
    sections.append(_facts(ground, drive.used))
    return ground.report(
        asked, summary, sections, about=about, holds=worked.holds, cautions=cautions
    )


def _before(ground: Ground, build: Build, work: Callable[[Drivetrain], Worked]) -> Section:
    title = f"On {build.name} as it stands"
    try:
        worked = work(Drivetrain(ground.catalogue, build))
    except MissingFact as missing:
        return Section(title=title, lines=(_lacks(ground, build, missing),))
    except ValueError as error:
        return Section(title=title, lines=(f"cannot be worked out: {error}",))
    return Section(title=title, lines=(worked.headline,))


def _facts(ground: Ground, used: Iterable[UsedFact]) -> Section:
    rows = [
        row(
            ground.catalogue.name(fact.station),
            ground.catalogue.parts[fact.part].number,
            ground.quantity_label(fact.quantity),
            ground.with_unit(fact.quantity, fact.value),
            ground.sources(fact.sources),
            about=ground.composer.thing(fact.part),
        )
        for fact in used
    ]
    columns = ("station", "part", "value of", "value", "who says so")
    return Section(title="What it rests on", table=table(columns, rows))


def _lacks(ground: Ground, build: Build, missing: MissingFact) -> str:
    """Which fact is missing, as a sentence without its full stop."""
    station = ground.catalogue.name(missing.station)
    label = ground.quantity_label(missing.quantity)
    if missing.station not in build.fits:
        return f"{build.name} has no {station}"
    if missing.part is None:
        return f"nothing sits at the {station}, and its {label} is wanted"
    part = ground.said(ground.catalogue.parts[missing.part])
    return f"nobody has stated the {label} of {part}, the {station}"


def _missing(
    ground: Ground,
    asked: s.Sentence,
    build: Build,
    missing: MissingFact,
    about: tuple[str, ...],
) -> Report:
    if missing.part is None:
        summary = f"That cannot be worked out: {_lacks(ground, build, missing)}."
        return ground.report(asked, summary, about=about)
    about = (*about, missing.part)
    if missing.station == station_iri("speed-converter"):
        part = ground.said(ground.catalogue.parts[missing.part])
        summary = f"{part} decides what is shown: it is set to the car when it is fitted."
        lines: tuple[str, ...] = (
            "drive a measured distance and set the converter until the speedometer reads true",
        )
        return ground.report(asked, summary, (Section(title="To do", lines=lines),), about=about)
    summary = f"That cannot be worked out: {_lacks(ground, build, missing)}."
    lines = (f"{ground.quantity_label(missing.quantity)}: {ground.measure(missing.quantity)}",)
    return ground.report(asked, summary, (Section(title="Measure", lines=lines),), about=about)
