"""How do I tell A from B, and which one is it: from what can be seen, counted and measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from rapidfuzz import fuzz, process

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
from ...reasoner.readings import Reading, UnreadableError, read
from ...reasoner.witness import MODEL_YEAR, THERE, Statement
from .. import syntax as s
from ..errors import AmbiguousName, Candidate, Problem
from ..names import Entry
from ..phrases import FeatureName, Name
from ..quantities import Quantity
from ..report import Report, Row, Section, Table
from ..spelling import key_of
from ..words import plain, unit_word
from .ground import Ground, NoAnswer, counted, listed, no_answer, row, table

_REACHES = {
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
        _stated(seen, found.first),
        _stated(seen, found.second),
        seen.how,
        _REACHES[seen.reach],
        "yes" if found.sure else "no" + weak,
        marked=found.sure,
    )


def _stated(seen: Observation, statements: Sequence[Statement]) -> str:
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
    candidates = _candidates(ground, asked, entry)
    if not candidates:
        raise no_answer(asked.sort, f"no {entry.label} is known there")
    readings, lines = [], []
    for evidence in asked.evidence:
        reading, said = _reading(ground, evidence, candidates, asked.sort)
        readings.append(reading)
        lines.append(said)
    found = identify(ground.witness, candidates, readings)
    left = [c for c in found.candidates if c.remains is not Remains.RULED_OUT]
    sections = (
        Section(title="Take care", lines=tuple(_warning(ground, w) for w in found.warnings)),
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


def _candidates(ground: Ground, asked: s.Identify, entry: Entry) -> tuple[str, ...]:
    on = "" if asked.car is None else ground.scope(asked.car)
    station = entry.iri if entry.what == "station" else ""
    family = entry.iri if entry.what == "family" else ""
    return lookalikes(ground.catalogue, station=station, family=family, on=on)


def _reading(
    ground: Ground, evidence: s.Evidence, candidates: Sequence[str], sort: Name
) -> tuple[Reading, str]:
    """A reading of what was said, and how it was understood."""
    try:
        match evidence:
            case s.Serial(digits):
                seen = _serial_series(ground, candidates, sort)
                return read(seen, digits), f"serial {digits}: read as the {seen.label}"
            case s.Built(year, month):
                text = f"{year:04}" + (f"-{month:02}" if month else "")
                seen = ground.witness.observation(MODEL_YEAR)
                return read(seen, text), f"built {text}: read as the {seen.label}"
            case s.Feature(what, amount):
                return _feature(ground, what, amount, candidates)
    except UnreadableError as error:
        nearest = (error.nearest,) if error.nearest else ()
        raise NoAnswer(Problem(str(error), sort.span, nearest=nearest)) from None
    except KeyError:
        raise no_answer(sort, "the catalogue says nothing of that observation") from None


def _serial_series(ground: Ground, candidates: Sequence[str], sort: Name) -> Observation:
    """The number series a serial belongs to: the part's own where it has one, else the car's."""
    observations = ground.witness.observations(candidates)
    own = [o for o in observations if o.kind is ObservationKind.OWN_NUMBER]
    cars = [o for o in observations if o.kind is ObservationKind.CAR_NUMBER]
    series = own or cars
    if not series:
        raise no_answer(sort, "no serial number tells these parts apart")
    if len(series) > 1:
        problem = Problem(
            "there are several number series: say which",
            sort.span,
            candidates=tuple(Candidate(o.iri, "part", o.label) for o in series),
            hint=f"Write for example: 41200 {series[0].label}",
        )
        raise AmbiguousName(problem)
    return series[0]


def _feature(
    ground: Ground, what: FeatureName, amount: Quantity | None, candidates: Sequence[str]
) -> tuple[Reading, str]:
    observations = ground.witness.observations(candidates)
    if amount is None:
        matches = [
            (o, answer) for o in observations for answer in o.answers if _says(o, answer, what.text)
        ]
        if len({o.iri for o, _ in matches}) == 1:
            seen, answer = matches[0]
            return read(seen, answer), f"{what}: {seen.label} {answer}"
        found = [o for o, _ in matches] or [
            o for o in observations if key_of(what.text) in _names(ground, o)
        ]
        raise _unknown_feature(what, observations, found)
    named = [o for o in observations if key_of(what.text) in _names(ground, o)]
    if len(named) != 1:
        raise _unknown_feature(what, observations, named)
    seen = named[0]
    value = amount.value if amount.unit in ("", "in") and seen.unit == "IN" else amount.base
    said = f"{what} {amount}: {seen.label} {plain(value)} {unit_word(seen.unit)}"
    return read(seen, f"{value:f}"), said.rstrip()


def _says(seen: Observation, answer: str, phrase: str) -> bool:
    """Whether a phrase gives this answer: “cartridge”, “cartridge bearing”, “no speed port”."""
    wanted = key_of(phrase)
    forms = {answer, f"{answer} {seen.label}", f"{seen.label} {answer}"}
    if answer == THERE:
        forms = {seen.label, f"with {seen.label}", *seen.synonyms}
    elif "not" in answer.split() and THERE in seen.answers:
        forms = {f"no {seen.label}", *(f"no {name}" for name in seen.synonyms)}
    return wanted in {key_of(form) for form in forms}


def _names(ground: Ground, seen: Observation) -> set[str]:
    names = {seen.label, *seen.synonyms}
    quantity = ground.catalogue.quantities.get(seen.quantity)
    if quantity is not None:
        role = ground.catalogue.name(seen.role)
        short = quantity.label.removeprefix("number of ")
        names |= {quantity.label, short, f"{role} {quantity.label}", f"{role} {short}"}
    return {key_of(name) for name in names}


def _unknown_feature(
    what: FeatureName, observations: Iterable[Observation], found: Sequence[Observation]
) -> NoAnswer | AmbiguousName:
    if len(found) > 1:
        candidates = tuple(Candidate(o.iri, "part", o.label, detail=o.how) for o in found)
        message = f"“{what}” may mean {len(found)} things to look at"
        return AmbiguousName(Problem(message, what.span, candidates=candidates))
    labels = []
    for seen in observations:
        labels.append(seen.label)
        labels += [a for a in seen.answers if a != THERE and "not" not in a.split()]
    near = process.extract(what.text, list(dict.fromkeys(labels)), scorer=fuzz.WRatio, limit=5)
    message = f"nothing to look at is called “{what}”"
    if found:
        message = f"“{what}” wants an answer or a number"
        labels = [f"{a} {found[0].label}" for a in found[0].answers] or [f"{what} 67.2 mm"]
        return NoAnswer(Problem(message, what.span, nearest=tuple(labels[:5])))
    return NoAnswer(Problem(message, what.span, nearest=tuple(each[0] for each in near)))


def _candidate_table(ground: Ground, found: Identification, *, ruled_out: bool) -> Table | None:
    rows = []
    for candidate in sorted(found.candidates, key=lambda c: not c.confirmed):
        if (candidate.remains is Remains.RULED_OUT) != ruled_out:
            continue
        part = ground.catalogue.parts[candidate.subject]
        notes = list(_evidence(ground, candidate.evidence))
        rows.append(
            row(
                part.number,
                part.label,
                candidate.remains.value,
                "; ".join(notes),
                about=ground.composer.thing(part.iri),
                marked=found.settled == part.iri,
            )
        )
    return table(("part", "what it is", "it is", "because"), rows)


def _evidence(ground: Ground, evidence: Iterable[Evidence]) -> Iterator[str]:
    for each in evidence:
        if each.bearing is Bearing.SILENT:
            continue
        seen = ground.witness.observation(each.reading.observation)
        stated = _stated(seen, each.statements)
        by = ground.sources(dict.fromkeys(x for st in each.statements for x in st.sources))
        yield f"{seen.label} {stated} {each.bearing.value} ({by})"


def _looks(ground: Ground, looks: Sequence[Look]) -> Table | None:
    rows = []
    for look in looks[:_MOST_LOOKS]:
        seen = look.observation
        shows = "; ".join(
            f"{ground.catalogue.parts[each.subject].number} {_stated(seen, each.statements)}"
            for each in look.shown
        )
        left = f"{float(look.expected):.1f}"
        rows.append(row(seen.label, seen.how, _REACHES[seen.reach], shows, left))
    return table(("look at", "how", "when", "what each shows", "leaves on average"), rows)


def _warning(ground: Ground, warning: IdentificationWarning) -> str:
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
