"""How two answers to one question differ, and what the reasons of both rest on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from .answer import Answer, CheckNote, Line, MeetingNote, ReasonStep
from .preview_note import VerdictChange
from .report import Report, Section

Reply = Answer | Report


@dataclass(slots=True)
class Mentions:
    """The things that the differing part of two answers speaks of.

    `claims` are pairs of an end's label and a quantity's; `kinds` are labels of interface kinds.
    """

    things: set[str] = field(default_factory=set)
    claims: set[tuple[str, str]] = field(default_factory=set)
    kinds: set[str] = field(default_factory=set)
    stations: set[str] = field(default_factory=set)
    by_works: bool = False

    def meeting(self, note: MeetingNote) -> None:
        """Take up what a meeting rests on."""
        self.things.add(note.joint.iri)
        self.things |= {part.iri for part in note.parts if part.iri}
        self.claims |= {(claim.end, claim.quantity) for claim in note.claims}
        self.kinds.add(note.kind)
        self.by_works |= note.settled_by == "works"

    def step(self, step: ReasonStep) -> None:
        """Take up one link of a chain."""
        self.things |= {step.station.iri, *(thing.iri for thing in step.origin)}
        for note in step.meetings:
            self.meeting(note)

    def line(self, line: Line) -> None:
        """Take up a verdict with its chain."""
        self.stations.add(line.station.iri)
        for step in line.because:
            self.step(step)


def verdict_changes(before: Answer, after: Answer, mentions: Mentions) -> tuple[VerdictChange, ...]:
    """Stations with another verdict or other options."""
    sides = [{line.station.iri: line for line in answer.lines} for answer in (before, after)]
    found = []
    for station in dict.fromkeys([*sides[1], *sides[0]]):
        one, other = sides[0].get(station), sides[1].get(station)
        if _verdict(one) != _verdict(other):
            for line in (one, other):
                if line is not None:
                    mentions.line(line)
            change = _verdict_change(one, other)
            mentions.things |= {p.iri for p in (*change.offered, *change.withdrawn) if p.iri}
            found.append(change)
    return tuple(found)


def _verdict(line: Line | None) -> object:
    if line is None:
        return None
    return line.verdict, line.strictly, frozenset(part.iri for part in line.options)


def _verdict_change(before: Line | None, after: Line | None) -> VerdictChange:
    line = after or before
    assert line is not None, "one of the two has the station"
    sides = [{} if each is None else {p.iri: p for p in each.options} for each in (before, after)]
    offered = tuple(p for iri, p in sides[1].items() if iri not in sides[0])
    withdrawn = tuple(p for iri, p in sides[0].items() if iri not in sides[1])
    words = [_word(before), _word(after)]
    text = f"{words[0]} → {words[1]}" if words[0] != words[1] else words[1]
    kept = "keeps" in (before and before.verdict, after and after.verdict)
    more = [
        f"{sign} {part.number or part.label}"
        for sign, parts in (("now also", offered), ("no longer", withdrawn))
        for part in parts
        if not kept  # what keeps its part has no options, which the verdict says already
    ]
    return VerdictChange(
        station=line.station,
        before=before.verdict if before else None,
        after=after.verdict if after else None,
        strictly_before=before.strictly if before else None,
        strictly_after=after.strictly if after else None,
        offered=offered,
        withdrawn=withdrawn,
        text=f"{line.station.label}: {text}" + (f" ({', '.join(more)})" if more else ""),
    )


def _word(line: Line | None) -> str:
    if line is None:
        return "no verdict"
    strict = f", strictly {line.strictly}" if line.strictly not in (None, line.verdict) else ""
    return f"{line.verdict}{strict}"


def other_changes(before: Answer, after: Answer, mentions: Mentions) -> tuple[str, ...]:
    """Checks, conflicts and joints that clash already, as far as they differ."""
    found: list[str] = []
    checks = [{check.joint.iri: check for check in answer.checks} for answer in (before, after)]
    for joint in dict.fromkeys([*checks[1], *checks[0]]):
        one, other = checks[0].get(joint), checks[1].get(joint)
        if _checked(one) == _checked(other):
            continue
        for check in (one, other):
            if check is not None:
                for note in check.meetings:
                    mentions.meeting(note)
        label = next(c for c in (other, one) if c is not None).joint.label
        what = "no longer to be checked" if other is None else "to be checked"
        if one is not None and other is not None:
            what = "another check hangs on it"
        found.append(f"{label}: {what}{_turning(other)}")
    if before.strictly_workable != after.strictly_workable and before.workable == after.workable:
        now = "has a" if after.strictly_workable else "no longer has a"
        found.append(f"it {now} plan in which every joint is proven")
    conflicts = [a.conflict.reasons if a.conflict else () for a in (before, after)]
    if conflicts[0] != conflicts[1]:
        found += [f"no longer in the way: {r}" for r in conflicts[0] if r not in conflicts[1]]
        found += [f"in the way: {r}" for r in conflicts[1] if r not in conflicts[0]]
    clashing = [{n.joint.iri: n for n in a.already_clashing} for a in (before, after)]
    for joint in dict.fromkeys([*clashing[0], *clashing[1]]):
        if (joint in clashing[0]) != (joint in clashing[1]):
            note = clashing[0].get(joint) or clashing[1][joint]
            mentions.meeting(note)
            what = "clashes" if joint in clashing[1] else "no longer clashes"
            found.append(f"{note.joint.label} {what} on the car as it stands")
    return tuple(found)


def _checked(check: CheckNote | None) -> object:
    if check is None:
        return None
    turns = frozenset((turn.station.iri, turn.now, turn.then) for turn in check.turns)
    met = frozenset(tuple(part.iri for part in note.parts) for note in check.meetings)
    return turns, met, check.others, check.ends_it


def _turning(check: CheckNote | None) -> str:
    if check is None:
        return ""
    if check.ends_it:
        return "; without it nothing is workable"
    turned = [turn.station.label for turn in check.turns]
    return f"; on it hang {', '.join(turned)}" if turned else ""


def report_changes(before: Report, after: Report, mentions: Mentions) -> tuple[str, ...]:
    """Lines and rows of two reports that only one of them has."""
    sides = [dict.fromkeys(_lines(report.sections)) for report in (before, after)]
    for report in (before, after):
        for section in report.sections:
            for note in section.meetings:
                mentions.meeting(note)
            for step in section.steps:
                mentions.step(step)
            for row in section.table.rows if section.table else ():
                if row.about is not None:
                    mentions.things.add(row.about.iri)
    mentions.things |= {thing.iri for report in (before, after) for thing in report.about}
    return (
        *(f"no longer: {line}" for line in sides[0] if line not in sides[1]),
        *(f"now: {line}" for line in sides[1] if line not in sides[0]),
    )


def _lines(sections: Iterable[Section]) -> Iterator[str]:
    for section in sections:
        yield from (f"{section.title}: {line}" for line in section.lines)
        for row in section.table.rows if section.table else ():
            cells = " | ".join("" if cell is None else str(cell) for cell in row.cells)
            yield f"{section.title}: {cells}"
        for step in section.steps:
            yield f"{section.title}: {step.text}"
        for note in section.meetings:
            met = " with ".join(part.number or part.label for part in note.parts)
            yield f"{section.title}: {note.joint.label}, {met}: {note.outcome}"


def mention_all(reply: Reply, mentions: Mentions) -> None:
    """Take up every reason of an answer."""
    if isinstance(reply, Answer):
        for line in reply.lines:
            mentions.line(line)
        for check in reply.checks:
            for note in check.meetings:
                mentions.meeting(note)


def reasons(reply: Reply) -> object:
    """Everything an answer says beside its verdicts, to see whether it reads otherwise."""
    return reply.model_dump(mode="json", exclude={"catalogue"})
