"""Compare, and what differs: things of the catalogue with their values side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...reasoner.build import Build, stock_build
from ...reasoner.catalogue import Claim, Part
from ...reasoner.differences import (
    Change,
    EndDifference,
    PartDifference,
    StationDifference,
    builds_of,
    find_differences,
)
from .. import syntax as s
from ..names import Entry
from ..phrases import CarName, Name, What
from ..report import Report, Row, Section
from .ground import Ground, counted, listed, no_answer, record_text, row, table
from .show import part_facts

_COMPARED: tuple[What, ...] = ("part", "family", "car")

# ---------------------------------------------------------------------- compare


def compare(ground: Ground, asked: s.Compare) -> Report:
    """Values side by side, marked where they differ."""
    entries = [ground.entry(name, _COMPARED) for name in asked.things]
    sorts = {"part" if e.what == "family" else e.what for e in entries}
    if len(sorts) > 1:
        words = listed(f"{e.label} is a {e.what}" for e in entries)
        raise no_answer(asked.things[1], f"only things of one sort can be compared: {words}")
    sort = sorts.pop()
    if sort == "part":
        return _compare_parts(ground, asked, entries)
    if sort == "car":
        builds = [stock_build(ground.catalogue, ground.catalogue.cars[e.iri]) for e in entries]
        return _compare_cars(ground, asked, builds)
    raise no_answer(asked.things[0], f"a {sort} has no values to compare")


def _compare_parts(ground: Ground, asked: s.Compare, entries: Sequence[Entry]) -> Report:
    parts = [ground.member(n, e) for n, e in zip(asked.things, entries, strict=True)]
    facts: list[dict[str, str]] = []
    for part in parts:
        found = {str(r.cells[0]): str(r.cells[1]) for r in part_facts(ground, part)}
        facts.append(found)
    labels = dict.fromkeys(label for found in facts for label in found)
    rows = [_side_by_side(label, [f.get(label, "") for f in facts]) for label in labels]
    ends: list[dict[tuple[str, str], str]] = [_end_values(ground, part) for part in parts]
    keys = dict.fromkeys(key for found in ends for key in found)
    end_rows = []
    for role, quantity in keys:
        cells = [found.get((role, quantity), "") for found in ends]
        differs = len(set(cells)) > 1
        end_rows.append(row(role, quantity, *cells, marked=differs))
    numbers = [part.number for part in parts]
    differing = [r for r in end_rows if r.marked]
    name = listed(map(ground.said, parts))
    summary = (
        f"{name} differ in {counted(len(differing), 'value')} of their ends (marked ▸)."
        if differing
        else f"The ends of {name} are stated alike."
    )
    sections = (
        Section(title="Ends", table=table(("end", "value of", *numbers), end_rows)),
        Section(title="Beside the ends", table=table(("", *numbers), rows)),
    )
    return ground.report(asked, summary, sections, about=[p.iri for p in parts])


def _side_by_side(label: str, cells: Sequence[str]) -> Row:
    differs = len(set(cells)) > 1 and label not in ("number",)
    return row(label, *cells, marked=differs)


def _end_values(ground: Ground, part: Part) -> dict[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for role, ends in part.ends.items():
        name = ground.catalogue.name(role)
        found[name, "side"] = listed(dict.fromkeys(ground.catalogue.ends[e].side for e in ends))
        for iri in ends:
            for quantity, claims in ground.catalogue.ends[iri].claims.items():
                label = ground.quantity_label(quantity)
                text = " or ".join(ground.with_unit(quantity, c.value) for c in claims)
                before = found.get((name, label))
                found[name, label] = f"{before} / {text}" if before else text
    return {key: text for key, text in found.items() if text}


def _compare_cars(ground: Ground, asked: s.Compare, builds: Sequence[Build]) -> Report:
    known = ground.catalogue
    rows = []
    for station in dict.fromkeys(st for b in builds for st in b.fits):
        parts = [b.part(known, station) for b in builds]
        cells = [
            (p.number if p else "nothing") if station in b.fits else "no such station"
            for p, b in zip(parts, builds, strict=True)
        ]
        if not any(parts):
            continue
        rows.append(
            row(
                known.name(station),
                *cells,
                about=ground.composer.thing(station),
                marked=len(set(cells)) > 1,
            )
        )
    names = [b.name for b in builds]
    differing = sum(r.marked for r in rows)
    summary = f"{listed(names)} differ at {differing} of {counted(len(rows), 'station')}."
    section = Section(title="Station by station", table=table(("station", *names), rows))
    return ground.report(asked, summary, (section,), about=[b.car for b in builds])


# ---------------------------------------------------------------------- what differs


def differences(ground: Ground, asked: s.Differences) -> Report:
    """What changed between two cars or generations, by station and end."""
    first, second = _group(ground, asked.first), _group(ground, asked.second)
    found = find_differences(ground.catalogue, first, second)
    differing = [d for d in found if d.change is not Change.SAME]
    apart = [d for d in differing if not all(p.fits_alike for p in d.parts) or not d.parts]
    rows = [_difference_row(ground, d) for d in differing]
    columns = ("station", "how", "first", "second")
    ends = [
        f"{ground.catalogue.name(d.station)}: {said}"
        for d in differing
        for said in dict.fromkeys(t for parts in d.parts for t in _part_difference(ground, parts))
    ]
    sections = (
        Section(
            title="Where they differ (▸ in how the part meets others)", table=table(columns, rows)
        ),
        Section(title="In how the parts meet others", lines=tuple(ends)),
        Section(
            title="The same on both",
            lines=(listed(ground.catalogue.name(d.station) for d in found if d not in differing),)
            if len(found) > len(differing)
            else (),
        ),
    )
    names = f"{_group_name(ground, asked.first)} and {_group_name(ground, asked.second)}"
    same = counted(len(found) - len(differing), "station")
    summary = (
        f"{names} differ at {counted(len(differing), 'station')}, at {len(apart)} of them in how "
        f"the parts meet others; {same} alike."
        if differing
        else f"{names} have the same parts at {same}."
    )
    about = (ground.scope(asked.first), ground.scope(asked.second))
    return ground.report(asked, summary, sections, about=about)


def _group(ground: Ground, name: CarName) -> tuple[Build, ...]:
    saved = ground.resolver.builds.get(name.text.casefold())
    return (saved,) if saved is not None else builds_of(ground.catalogue, ground.entry(name).iri)


def _group_name(ground: Ground, name: Name) -> str:
    saved = ground.resolver.builds.get(name.text.casefold())
    return saved.name if saved is not None else ground.entry(name).label


def _difference_row(ground: Ground, found: StationDifference) -> Row:
    parts = ground.catalogue.parts
    one, other = (
        listed((parts[p].number for p in side), "or") or "nothing"
        for side in (found.first, found.second)
    )
    return row(
        ground.catalogue.name(found.station),
        found.change.value,
        one,
        other,
        about=ground.composer.thing(found.station),
        marked=any(not d.fits_alike for d in found.parts) or not found.parts,
    )


def _part_difference(ground: Ground, difference: PartDifference) -> Iterator[str]:
    for end in difference.ends:
        yield from _end_difference(ground, end)


def _end_difference(ground: Ground, end: EndDifference) -> Iterator[str]:
    role = ground.catalogue.name(end.role)
    if end.first is None or end.second is None:
        yield f"{role} only on the {'second' if end.first is None else 'first'}"
        return
    if end.side_differs:
        yield f"{role} of opposite sides"
    for value in end.values:
        label = ground.quantity_label(value.quantity)
        records = [_records(claims) for claims in (value.first, value.second)]
        if all(records) and max(map(len, records)) > 1:
            for which, mine, theirs in (("first", *records), ("second", *reversed(records))):
                only = [record for record in mine if record not in theirs]
                if only:
                    yield f"{role}, {label} only on the {which}: {'; '.join(only)}"
            continue
        a, b = (
            " or ".join(ground.with_unit(value.quantity, c.value) for c in claims) or "not stated"
            for claims in (value.first, value.second)
        )
        near = " (within tolerance)" if value.within else ""
        yield f"{role}, {label}: {a} against {b}{near}"


def _records(claims: Sequence[Claim]) -> list[str]:
    return [
        record_text(record)
        for claim in claims
        if isinstance(claim.value, tuple)
        for record in claim.value
    ]
