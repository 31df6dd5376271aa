"""How do I tell A from B, and which one is it: from what can be seen, counted and measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from ...reasoner.identify import (
    Bearing,
    Evidence,
    Identification,
    IdentificationWarning,
    Remains,
    WarningKind,
    identify,
    lookalikes,
)
from ...reasoner.identify import (
    Candidate as Remaining,
)
from ...reasoner.looks import Look, Separation, tell_apart
from ...reasoner.mating import PROVEN
from ...reasoner.observations import (
    Allowed,
    Observation,
    ObservationKind,
    Reach,
    month_text,
)
from ...reasoner.readings import Reading
from ...reasoner.witness import Statement
from .. import syntax as s
from ..names import Entry
from ..phrases import CarName, Name
from ..report import Report, Row, Section, Table
from ..words import plain, unit_word
from .features import reading_of
from .ground import Ground, counted, listed, no_answer, row, table

REACHES = {
    Reach.ON_THE_CAR: "on the car",
    Reach.OFF_THE_CAR: "with the part off",
    Reach.TAKEN_APART: "taken apart",
}
_MOST_LOOKS = 8

# ---------------------------------------------------------------------- how do I tell A from B?


def tell_from(ground: Ground, asked: s.TellApart) -> Report:
    """Every observation that separates two things, the sure ones first."""
    pair = [_subject(ground, name) for name in (asked.first, asked.second)]
    labels = [ground.catalogue.name(iri) for iri in pair]
    if pair[0] == pair[1]:
        summary = f"Both names mean {labels[0]}: there is nothing to tell apart."
        return ground.report(asked, summary, about=pair, holds=False)
    found = tell_apart(ground.witness, pair[0], pair[1])
    sure = [each for each in found if each.sure]
    columns = ("look at", *labels, "how", "when", "surely")
    section = Section(
        title="What tells them apart",
        table=table(columns, (_separation_row(each) for each in found)),
    )
    names = listed(labels)
    if sure:
        holds: bool | None = True
        summary = f"{names} are told apart surest and easiest by the {sure[0].observation.label}."
    elif found:
        holds = None
        summary = f"Nothing tells {names} apart for sure; what is listed makes one likelier."
    else:
        holds = False
        summary = f"Nothing that is known tells {names} apart."
    return ground.report(asked, summary, (section,), about=pair, holds=holds)


def _subject(ground: Ground, name: Name) -> str:
    entry = ground.entry(name, ("part", "family", "car"))
    return entry.iri if entry.what == "car" else ground.member(name, entry).iri


def _separation_row(found: Separation) -> Row:
    seen = found.observation
    weak = f" (only {found.standing.word})" if found.standing > PROVEN else ""
    return row(
        seen.label,
        stated_text(seen, found.first),
        stated_text(seen, found.second),
        seen.how,
        REACHES[seen.reach],
        "yes" if found.sure else "no" + weak,
        marked=found.sure,
    )


def stated_text(seen: Observation, statements: Sequence[Statement]) -> str:
    """What is stated under an observation, in words."""
    return " or ".join(
        dict.fromkeys(_allowed(seen, a) for statement in statements for a in statement.allowed)
    )


def _allowed(seen: Observation, allowed: Allowed) -> str:
    if isinstance(allowed, str):
        return allowed
    unit = unit_word(seen.unit)
    unit = f" {unit}" if unit else ""

    def show(value: Decimal) -> str:
        if seen.kind is ObservationKind.DATE:
            return month_text(value)
        return f"{seen.prefix}{plain(value)}"

    if allowed.least is None:
        return f"to {show(allowed.most)}{unit}" if allowed.most is not None else "anything"
    if allowed.most is None:
        return f"from {show(allowed.least)}{unit}"
    if allowed.least == allowed.most:
        return f"{show(allowed.least)}{unit}"
    return f"{show(allowed.least)} to {show(allowed.most)}{unit}"


# ---------------------------------------------------------------------- identify …


def identify_part(ground: Ground, asked: s.Identify) -> Report:
    """What remains, why the others do not, what to look at next, and warnings first."""
    entry = ground.entry(asked.sort)
    candidates = candidates_of(ground, asked.car, entry)
    if not candidates:
        raise no_answer(asked.sort, f"no {entry.label} is known there")
    readings, lines = [], []
    for evidence in asked.evidence:
        reading, said = reading_of(ground, evidence, candidates, asked.sort)
        readings.append(reading)
        lines.append(said)
    found = identify(ground.witness, candidates, readings)
    left = [c for c in found.candidates if c.remains is not Remains.RULED_OUT]
    sections = (
        Section(title="Take care", lines=tuple(warning_text(ground, w) for w in found.warnings)),
        Section(title="How it was read", lines=tuple(lines)),
        Section(title="What remains", table=_candidate_table(ground, found, ruled_out=False)),
        Section(title="What to look at next", table=_looks(ground, found.looks)),
        Section(title="Ruled out", table=_candidate_table(ground, found, ruled_out=True)),
    )
    settled = found.settled
    if settled is not None:
        summary = f"It is {ground.said(ground.catalogue.parts[settled])}."
        holds: bool | None = True
    elif left:
        summary = _what_is_left(ground, left)
        holds = None
        if found.looks:
            summary += f" Look next at the {found.looks[0].observation.label}."
    else:
        summary = f"No {entry.label} that is known shows all of this."
        holds = False
    if found.warnings:
        summary += " Something disagrees: see the warnings."
    about = (entry.iri, *(c.subject for c in left))
    return ground.report(asked, summary, sections, about=about, holds=holds)


def _what_is_left(ground: Ground, left: Sequence[Remaining]) -> str:
    """What was seen may point to some, and say nothing of others."""
    shown = [ground.catalogue.parts[c.subject].number for c in left if c.confirmed]
    silent = [ground.catalogue.parts[c.subject].number for c in left if not c.confirmed]
    if not shown or not silent:
        return f"It can be {counted(len(left), 'part')}: {listed(shown or silent, 'or')}."
    return (
        f"It looks like {listed(shown, 'or')}; of {listed(silent)} nothing is stated that would "
        "rule it out."
    )


def candidates_of(ground: Ground, car: CarName | None, entry: Entry) -> tuple[str, ...]:
    """The parts that a station or family may mean, on a car if one is named."""
    on = "" if car is None else ground.scope(car)
    station = entry.iri if entry.what == "station" else ""
    family = entry.iri if entry.what == "family" else ""
    return lookalikes(ground.catalogue, station=station, family=family, on=on)


def _candidate_table(ground: Ground, found: Identification, *, ruled_out: bool) -> Table | None:
    rows, settled = [], found.settled
    for candidate in sorted(found.candidates, key=lambda c: not c.confirmed):
        if (candidate.remains is Remains.RULED_OUT) != ruled_out:
            continue
        part = ground.catalogue.parts[candidate.subject]
        notes = list(evidence_lines(ground, candidate.evidence))
        rows.append(
            row(
                part.number,
                part.label,
                candidate.remains.value,
                "; ".join(notes),
                about=ground.composer.thing(part.iri),
                marked=settled == part.iri,
            )
        )
    return table(("part", "what it is", "it is", "because"), rows)


def evidence_lines(ground: Ground, evidence: Iterable[Evidence]) -> Iterator[str]:
    """What speaks for and against, with who says so; a line for each reading that speaks."""
    for each in evidence:
        if each.bearing is Bearing.SILENT:
            continue
        seen = ground.witness.observation(each.reading.observation)
        stated = stated_text(seen, each.statements)
        by = ground.sources(dict.fromkeys(x for st in each.statements for x in st.sources))
        yield f"{seen.label} {stated} {each.bearing.value} ({by})"


def _looks(ground: Ground, looks: Sequence[Look]) -> Table | None:
    rows = []
    for look in looks[:_MOST_LOOKS]:
        seen = look.observation
        shows = "; ".join(
            f"{ground.catalogue.parts[each.subject].number} {stated_text(seen, each.statements)}"
            for each in look.shown
        )
        left = f"{float(look.expected):.1f}"
        rows.append(row(seen.label, seen.how, REACHES[seen.reach], shows, left))
    return table(("look at", "how", "when", "what each shows", "leaves on average"), rows)


def warning_text(ground: Ground, warning: IdentificationWarning) -> str:
    """What disagrees, and what decided."""
    said = listed(_reading_text(ground, r) for r in warning.readings)
    by = listed(_reading_text(ground, r) for r in warning.decided_by)
    named = listed((ground.catalogue.name(each) for each in warning.subjects), "or")
    match warning.kind:
        case WarningKind.NOTHING_REMAINS:
            return f"{said} together leave nothing; {named} comes nearest"
        case WarningKind.YEAR_AND_SERIAL_DISAGREE:
            return f"the year and the serial disagree: {by} says {named}, so {said} is set aside"
        case WarningKind.CAR_NUMBER_SET_ASIDE:
            return f"what the part shows beats the car's number: {by} says {named}, not {said}"
        case WarningKind.DATE_SET_ASIDE:
            return f"{said} is set aside: {by} says {named}"


def _reading_text(ground: Ground, reading: Reading) -> str:
    return f"{ground.witness.observation(reading.observation).label} {reading.said}"
