"""What nobody has proven about a thing, what to measure, and how much hangs on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from ...reasoner.build import Build, as_it_stands, joints_of, stock_build
from ...reasoner.catalogue import Joint, Part, Standing
from ...reasoner.interfaces.kind import Outcome
from ...reasoner.mating import NO_END, PROVEN, Mate, end_key
from ...reasoner.reasons import Meeting
from .. import syntax as s
from ..report import Report, Row, Section
from .ground import Ground, counted, listed, row, table

_MOST_SHOWN = 12


@dataclass(slots=True)
class _Gap:
    """A value to settle: of which end, which quantity, why, and what hangs on it."""

    end: str
    quantity: str
    why: str
    hangs: dict[tuple[str, tuple[str | None, ...]], Meeting] = field(default_factory=dict)


def unproven(ground: Ground, asked: s.Unproven) -> Report:
    """Joints and values of a part, family, station or car that nobody has proven."""
    build = None if asked.car is None else ground.resolver.build(asked.car)
    saved = ground.resolver.builds.get(asked.thing.text.casefold())
    if saved is not None:
        return _of_builds(ground, asked, (saved,), saved.name, saved.car)
    entry = ground.entry(asked.thing)
    known = ground.catalogue
    if entry.what in ("car", "generation"):
        cars = known.cars_of(entry.iri)
        builds = tuple(stock_build(known, car) for car in cars)
        return _of_builds(ground, asked, builds, entry.label, entry.iri)
    match entry.what:
        case "part":
            parts = [known.parts[entry.iri]]
        case "family":
            parts = [known.parts[p] for p in known.families[entry.iri].parts]
        case _:
            parts = [known.parts[iri] for iri in known.parts_at(entry.iri)]
    found = {
        (mate.joint, mate.ends): Meeting(pair, mate)
        for part in parts
        for pair, mate in _pairs(ground, part, build)
        if mate.under(PROVEN) is Outcome.UNPROVEN
    }
    on = f" on {build.name}" if build else ""
    about = (entry.iri, *((build.car,) if build else ()))
    return _report(ground, asked, list(found.values()), f"{entry.label}{on}", about, parts)


def _pairs(
    ground: Ground, part: Part, build: Build | None
) -> Iterator[tuple[tuple[str | None, ...], Mate]]:
    """The part with everything that could come to the other place of each of its joints."""
    known = ground.catalogue
    joints = known.joints.values() if build is None else joints_of(known, build)
    for joint in joints:
        if len(joint.members) != 2:
            if build is not None:
                yield from _in_chain(ground, joint, part, build)
            continue
        for place, member in enumerate(joint.members):
            mine = end_key(part, member.role)
            if member.station not in part.stations or mine == NO_END:
                continue
            other = joint.members[1 - place]
            there: Iterable[Part | None]
            if build is None:
                there = [known.parts[iri] for iri in known.parts_at(other.station)]
            else:
                there = [build.part(known, other.station)]
            for counterpart in there:
                theirs = end_key(counterpart, other.role)
                if counterpart is None or theirs == NO_END:
                    continue
                keys = (mine, theirs) if place == 0 else (theirs, mine)
                pair = (part.iri, counterpart.iri)
                mate = ground.mating.meet_keys(joint, keys)
                if mate is not None:
                    yield pair if place == 0 else (pair[1], pair[0]), mate


def _in_chain(
    ground: Ground, joint: Joint, part: Part, build: Build
) -> Iterator[tuple[tuple[str | None, ...], Mate]]:
    for member in joint.members:
        if member.station in part.stations and member.role in part.ends:
            fits = {**build.fits, member.station: part.iri}
            parts = [
                ground.catalogue.parts[iri] if (iri := fits.get(m.station)) else None
                for m in joint.members
            ]
            for mate in ground.mating.meet(joint, [*parts, *([None] if joint.via else [])]):
                yield tuple(p.iri if p else None for p in parts), mate


def _of_builds(
    ground: Ground, asked: s.Unproven, builds: tuple[Build, ...], label: str, about: str
) -> Report:
    found: dict[tuple[str, tuple[str | None, ...]], Meeting] = {}
    for build in builds:
        for mate in as_it_stands(ground.mating, build).mates_amiss(ground.mating):
            if mate.under(PROVEN) is Outcome.UNPROVEN:
                joint = ground.catalogue.joints[mate.joint]
                pair = tuple(build.fits.get(m.station) for m in joint.members)
                found.setdefault((mate.joint, mate.ends), Meeting(pair, mate))
    standing = len(found)
    for build in builds:
        for meeting in _that_could_come(ground, build):
            found.setdefault((meeting.mate.joint, meeting.mate.ends), meeting)
    for met, meeting in ground.hanging.about({b.car for b in builds}).items():
        found.setdefault(met, meeting)
    parts = {p for b in builds for p in b.fits.values() if p}
    listed_parts = [ground.catalogue.parts[p] for p in sorted(parts)]
    settled = f"Every joint of {label} as it stands is settled. " if not standing else ""
    return _report(
        ground, asked, list(found.values()), label, (about,), listed_parts, settled=settled
    )


def _that_could_come(ground: Ground, build: Build) -> Iterator[Meeting]:
    """Unproven meetings of the build's own parts with parts that could come beside them."""
    joints = {joint.iri for joint in joints_of(ground.catalogue, build)}
    for iri in sorted({part for part in build.fits.values() if part}):
        for pair, mate in _pairs(ground, ground.catalogue.parts[iri], None):
            if mate.joint in joints and mate.under(PROVEN) is Outcome.UNPROVEN:
                yield Meeting(pair, mate)


def _report(
    ground: Ground,
    asked: s.Unproven,
    found: list[Meeting],
    label: str,
    about: tuple[str, ...],
    parts: list[Part],
    settled: str = "",
) -> Report:
    rows = []
    for gap, builds, questions in _most_first(ground, _gaps(ground, found)):
        bearers = ground.catalogue.parts_with(gap.end)
        rows.append(
            row(
                listed(p.number for p in bearers[:3]) + (" …" if len(bearers) > 3 else ""),
                f"{ground.quantity_label(gap.quantity)} of the "
                f"{ground.catalogue.name(ground.catalogue.ends[gap.end].role)}",
                gap.why,
                ground.measure(gap.quantity),
                len(questions),
                len(builds),
                len(gap.hangs),
                about=ground.composer.thing(gap.end),
            )
        )
    columns = ("parts", "value", "why", "how to measure", "questions", "stock builds",
               "pairings")  # fmt: skip
    notes = [ground.composer.meeting(m) for m in found[:_MOST_SHOWN]]
    more = len(found) - len(notes)
    sections = (
        Section(title="What to settle, what most hangs on first", table=table(columns, rows)),
        Section(title="Joints that nobody has proven", meetings=tuple(notes), in_full=False,
                lines=(f"the first {_MOST_SHOWN} of {len(found)}",) if more > 0 else ()),
        Section(title="Stated only as presumed, or differently by several sources",
                table=table(("part", "value of", "value", "who says so"), _weak(ground, parts))),
    )  # fmt: skip
    if not found and not any(_says(each) for each in sections):
        summary = f"Nothing about {label} is unproven: every joint looked at is settled."
        return ground.report(asked, summary, about=about, holds=True)
    joints = len({m.mate.joint for m in found})
    summary = (
        f"{settled}{counted(len(found), 'pairing')} of {label} at {counted(joints, 'joint')} "
        f"{'is' if len(found) == 1 else 'are'} unproven; {counted(len(rows), 'value')} would "
        "settle what values can settle."
    )
    return ground.report(asked, summary, sections, about=about)


def _most_first(ground: Ground, gaps: Iterable[_Gap]) -> list[tuple[_Gap, list[str], list[str]]]:
    """The gaps with the stock builds and saved questions that turn on them, the most first."""
    found = [(gap, *ground.hanging.on(gap.hangs)) for gap in gaps]
    return sorted(
        found,
        key=lambda each: (
            -len(each[1]) - len(each[2]),
            -len(each[0].hangs),
            each[0].end,
            each[0].quantity,
        ),
    )


def _says(section: Section) -> bool:
    return bool(section.table or section.meetings)


def _gaps(ground: Ground, found: Iterable[Meeting]) -> list[_Gap]:
    """The values that the unproven meetings lack, or that sources dispute or only presume."""
    gaps: dict[tuple[str, str], _Gap] = {}
    for meeting in found:
        mate = meeting.mate
        at = (mate.joint, mate.ends)
        for end, quantity, why in _wanting(ground, mate):
            gap = gaps.setdefault((end, quantity), _Gap(end, quantity, why))
            gap.hangs[at] = meeting
    return list(gaps.values())


def _wanting(ground: Ground, mate: Mate) -> Iterator[tuple[str, str, str]]:
    ends = [ground.catalogue.ends[e] for e in mate.ends if e is not None]
    needed = {finding.needs for finding in mate.findings if finding.needs}
    touched = needed | {finding.quantity for finding in mate.findings}
    for end in ends:
        for quantity in sorted(needed - set(end.claims)):
            if quantity in ground.catalogue.quantities:
                yield end.iri, quantity, "not stated"
        for quantity, claims in end.claims.items():
            if quantity in mate.disputed and len(claims) > 1:
                said = " or ".join(ground.with_unit(quantity, c.value) for c in claims)
                yield end.iri, quantity, f"sources differ: {said}"
            elif quantity in touched and _standing(ground, claims[0].sources) > PROVEN:
                yield end.iri, quantity, "only presumed"


def _standing(ground: Ground, sources: tuple[str, ...]) -> Standing:
    return ground.catalogue.standing(sources)


def _weak(ground: Ground, parts: Iterable[Part]) -> Iterator[Row]:
    seen: set[tuple[str, str]] = set()
    for part in parts:
        for ends in part.ends.values():
            for iri in ends:
                end = ground.catalogue.ends[iri]
                for quantity, claims in end.claims.items():
                    weak = _standing(ground, claims[0].sources) > PROVEN or len(claims) > 1
                    if not weak or (iri, quantity) in seen:
                        continue
                    seen.add((iri, quantity))
                    for claim in claims:
                        yield row(
                            part.number,
                            f"{ground.quantity_label(quantity)} of the "
                            f"{ground.catalogue.name(end.role)}",
                            ground.with_unit(quantity, claim.value),
                            ground.sources(claim.sources),
                            about=ground.composer.thing(iri),
                        )
