"""An answer as text for a person at a counter: verdicts first, each with its reasons beneath.

A reason that has been given once is referred to by its number. Words and marks carry the meaning;
colour, where the caller paints, only repeats it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeAlias

from .answer import (
    Answer,
    CheckNote,
    Citation,
    Line,
    MeetingNote,
    Offer,
    PartRef,
    ReasonStep,
    WayNote,
)

Paint: TypeAlias = Callable[[str, str], str]
"""Takes a class ("must", "choice", "keeps", "check", "caution", "quiet", "title") and a text."""

_MARKS = {"must": "■ MUST", "choice": "◆ CHOICE", "keeps": "□ KEEPS"}
_MOST_OPTIONS = 6


def unpainted(_: str, text: str) -> str:
    """No colour."""
    return text


def render_text(
    answer: Answer, *, width: int = 80, paint: Paint = unpainted, full: bool = False
) -> str:
    """The answer as lines no longer than `width` (names that are longer stand alone).

    `full` adds every comparison that holds, and every claim behind a number.
    """
    return "\n".join(_Page(answer, max(width, 40), paint, full=full).lines()) + "\n"


class _Page:
    def __init__(self, answer: Answer, width: int, paint: Paint, *, full: bool) -> None:
        self.answer, self.width, self.paint, self.full = answer, width, paint, full
        self.numbers: dict[str, int] = {}

    def lines(self) -> Iterator[str]:
        answer = self.answer
        yield from self._wrap(answer.question, "", paint="title")
        yield ""
        for clash in answer.already_clashing:
            yield from self._wrap(
                f"! {answer.car.label} already has a joint that clashes, before anything is "
                f"fitted: {_headline_of(clash)}.",
                "  ",
                paint="caution",
            )
        yield from self._wrap(answer.summary, "")
        if not answer.workable:
            yield from self._conflict()
        if answer.workable:
            yield from self._picture()
        for word in ("must", "choice"):
            for line in answer.lines:
                if line.verdict == word:
                    yield from self._line(line)
        yield from self._ways()
        yield from self._keeps()
        yield from self._checks()
        yield from self._plans()
        yield ""
        yield from self._block("Cautions", answer.cautions, "caution")

    # ------------------------------------------------------------------ the cascade

    def _picture(self) -> Iterator[str]:
        """Who forces whom, as a tree from what is fitted."""
        changing = [line for line in self.answer.lines if line.verdict != "keeps"]
        fitted = [fit.station for fit in self.answer.fitted]
        parents: dict[str, str] = {}
        for line in changing:
            own = line.station.iri
            parents[own] = next((s.iri for s in line.forced_by), fitted[0].iri if fitted else "")
        yield ""
        for fit in self.answer.fitted:
            yield from self._wrap(f"● {fit.station.label}: {_part(fit.part)}", "  ", paint="title")
            yield from self._children(fit.station.iri, "  ", parents, changing, {fit.station.iri})
        shown = {fit.station.iri for fit in self.answer.fitted}
        lost = [k for k in changing if not self._reaches(k.station.iri, parents, shown)]
        for line in lost:
            yield f"  ● {line.station.label} ({line.verdict})"
        yield ""

    def _reaches(self, station: str, parents: dict[str, str], roots: set[str]) -> bool:
        seen: set[str] = set()
        while station not in roots:
            if station in seen or station not in parents:
                return False
            seen.add(station)
            station = parents[station]
        return True

    def _children(
        self,
        parent: str,
        indent: str,
        parents: dict[str, str],
        changing: Sequence[Line],
        seen: set[str],
    ) -> Iterator[str]:
        children = [k for k in changing if parents[k.station.iri] == parent]
        children = [k for k in children if k.station.iri not in seen]
        for at, line in enumerate(children):
            last = at == len(children) - 1
            mark = self.paint(line.verdict, line.verdict)
            yield f"{indent}{'└─' if last else '├─'} {line.station.label} ({mark})"
            yield from self._children(
                line.station.iri,
                indent + ("   " if last else "│  "),
                parents,
                changing,
                seen | {line.station.iri},
            )

    def _line(self, line: Line) -> Iterator[str]:
        times = f" ×{line.quantity}" if line.quantity > 1 else ""
        mark = self.paint(line.verdict, _MARKS[line.verdict])
        yield f"{mark}  {line.station.label}{times}"
        yield from self._wrap(f"now  {_part(line.now)}", "    ", hang=5)
        for at, option in enumerate(line.options[:_MOST_OPTIONS]):
            price = f", {_money(option)}" if option.price_eur is not None else ""
            yield from self._wrap(
                f"{'to  ' if at == 0 else 'or  '} {_part(option)}{price}", "    ", hang=5
            )
        if len(line.options) > _MOST_OPTIONS:
            yield f"    or   {len(line.options) - _MOST_OPTIONS} more"
        if line.verdict == "choice" and line.while_keeping:
            kept = ", ".join(t.label for t in line.while_keeping)
            yield from self._wrap(f"in plans that keep the {kept}", "    ", paint="quiet")
        if line.strictly is not None and line.strictly != line.verdict:
            yield from self._wrap(
                f"? {line.strictly} if what is unproven turns out not to fit", "    ", paint="check"
            )
        for step in line.because:
            yield from self._step(step)
        yield ""

    def _step(self, step: ReasonStep) -> Iterator[str]:
        if step.kind in ("fit", "keep"):
            return
        key = f"{step.text}|{step.station.iri}|{[m.joint.iri for m in step.meetings]}"
        if key in self.numbers:
            yield from self._wrap(
                f"as [{self.numbers[key]}]: {step.text}", "    ", hang=4, paint="quiet"
            )
            return
        number = self.numbers[key] = len(self.numbers) + 1
        yield from self._wrap(f"[{number}] {step.text}", "    ", hang=4)
        for meeting in step.meetings:
            yield from self._meeting(meeting, "        ")
        if step.leaves:
            leaves = " or ".join(p.number or p.label for p in step.leaves)
            yield from self._wrap(
                f"leaves {leaves} as {step.station.label}", "        ", hang=2, paint="quiet"
            )

    def _meeting(self, meeting: MeetingNote, indent: str) -> Iterator[str]:
        pair = " ✕ " if meeting.outcome == "clashes" else " ? "
        parts = pair.join(_short(p) for p in meeting.parts)
        yield from self._wrap(parts, indent, hang=2)
        for comparison in meeting.comparisons:
            if self.full or comparison.outcome != "mates":
                sign = {"mates": "✓", "clashes": "✕", "unproven": "?"}[comparison.outcome]
                yield from self._wrap(f"{sign} {comparison.text}", indent + "  ", hang=2)
        if self.full:
            yield from self._wrap(f"rule: {meeting.rule}", indent + "  ", hang=2)
            for claim in meeting.claims:
                unit = f" {claim.unit}" if claim.unit else ""
                yield from self._wrap(
                    f"{claim.part}, {claim.quantity}: {claim.value}{unit} "
                    f"({'; '.join(_cited(c) for c in claim.cited)})",
                    indent + "  ",
                    hang=2,
                    paint="quiet",
                )
        else:
            cited = dict.fromkeys(_cited(c) for claim in meeting.claims for c in claim.cited)
            said = f" by {'; '.join(cited)}" if cited else ""
            yield from self._wrap(f"{meeting.kind}{said}", indent + "  ", hang=2, paint="quiet")

    # ------------------------------------------------------------------ the rest

    def _ways(self) -> Iterator[str]:
        ways = self.answer.ways
        choices = {k.station.iri for k in self.answer.lines if k.verdict == "choice"}
        if len(ways) > 1:
            title = f"{len(ways)} ways that differ in what they change"
            yield title + (":" if self.answer.all_ways_listed else " (there are more):")
        for at, way in enumerate(ways, 1):
            if len(ways) > 1:
                differs = [o for o in way.changes if o.station.iri in choices]
                names = ", ".join(o.station.label for o in differs) or "nothing further"
                yield from self._wrap(f"{at}. {names}", "  ", hang=3)
            yield from self._branches(way)
        if ways and (len(ways) > 1 or ways[0].branches):
            yield ""

    def _branches(self, way: WayNote) -> Iterator[str]:
        for branch in way.branches:
            parts = " or ".join(_part(p) for p in branch.parts)
            yield from self._wrap(f"if {branch.station.label} is {parts}:", "    ", hang=3)
            wide = {o.station.iri: len(o.parts) for o in way.changes}
            for offer in branch.leaves:
                if len(offer.parts) < wide.get(offer.station.iri, 0):
                    yield from self._wrap(f"then {_offer(offer)}", "      ", hang=5)

    def _keeps(self) -> Iterator[str]:
        kept = [line.station.label for line in self.answer.lines if line.verdict == "keeps"]
        if kept:
            mark = self.paint("keeps", _MARKS["keeps"])
            body = ", ".join(sorted(kept))
            first, *rest = textwrap.wrap(body, self.width - 9) or [""]
            yield f"{mark}  {first}"
            yield from (f"         {piece}" for piece in rest)

    def _checks(self) -> Iterator[str]:
        if not self.answer.checks:
            return
        yield ""
        yield self.paint("check", "Check before ordering (nobody has proven these):")
        for at, check in enumerate(self.answer.checks, 1):
            yield from self._check(at, check)

    def _check(self, at: int, check: CheckNote) -> Iterator[str]:
        yield from self._wrap(f"{at}. {check.joint.label}", "  ", hang=3)
        for meeting in check.meetings[:_MOST_OPTIONS]:
            yield from self._wrap(" ? ".join(_short(p) for p in meeting.parts), "     ", hang=2)
        for what in check.measure:
            yield from self._wrap(f"→ {what}", "     ", hang=2)
        if check.ends_it:
            yield from self._wrap("if it does not fit, nothing else will do", "     ", hang=2)
        elif check.turns:
            turned = ", ".join(f"{t.station.label} {t.then} (not {t.now})" for t in check.turns)
            yield from self._wrap(f"if it does not fit: {turned}", "     ", hang=2)

    def _plans(self) -> Iterator[str]:
        for at, plan in enumerate(self.answer.plans, 1):
            yield ""
            proven = "" if plan.optimal else " (best found, not proven best)"
            missing = f" ({len(plan.unpriced)} not priced)" if plan.unpriced else ""
            title = (
                f"Plan {at}: {plan.cost_eur:.2f} EUR in parts{missing}, "
                f"{plan.hours:g} hours{proven}"
            )
            yield from self._wrap(title, "", paint="title")
            if plan.compared_with_best:
                differs = ", ".join(plan.compared_with_best)
                yield from self._wrap(f"against plan 1: {differs}", "  ", hang=2)
            for lost in plan.lost:
                yield from self._wrap(f"! no longer works: {lost.label}", "  ", paint="caution")
            for step in plan.irreversible:
                yield from self._wrap(f"! cannot be undone: {step}", "  ", paint="caution")
            for changed in plan.parts:
                times = f"{changed.quantity} × "
                price = (
                    "price not known"
                    if changed.price_eur is None
                    else (f"{changed.price_eur:.2f} EUR")
                )
                made = f", made to {', '.join(changed.made_to)}" if changed.made_to else ""
                text = f"{changed.station.label}: {times}{_part(changed.part)}{made}"
                if changed.part.iri is None:
                    text = f"{changed.station.label}: {changed.origin}"
                else:
                    text += f"; {changed.origin}, {price}"
                yield from self._wrap(text, "  ", hang=4)
            if plan.work:
                work = "; ".join(f"{w.operation.label} {w.hours:g} h" for w in plan.work)
                yield from self._wrap(f"order of work: {work}", "  ", hang=4, paint="quiet")
            for also in plan.consumables:
                yield from self._wrap(
                    f"also renew: {also.label}, {also.count} ({also.because.label} opened)", "  "
                )
            for blank in plan.blanks:
                yield from self._wrap(f"blank the opening: {blank.label}", "  ")
            for joint in plan.unproven:
                yield from self._wrap(f"? rests on unproven: {joint.label}", "  ", paint="check")

    def _conflict(self) -> Iterator[str]:
        conflict = self.answer.conflict
        if conflict is None:
            return
        yield from (f"  • {reason}" for reason in conflict.reasons)
        for release in conflict.releases:
            stations = ", ".join(t.label for t in release.then_change)
            then = f"then change: {stations}" if stations else "then nothing else must change"
            yield from self._wrap(
                f"Drop “{'” and “'.join(release.drop)}” and it works; {then}.",
                "  ",
                hang=2,
            )
        yield ""

    def _block(self, title: str, texts: Iterable[str], paint: str) -> Iterator[str]:
        texts = list(texts)
        if texts:
            yield self.paint(paint, title)
            for text in texts:
                yield from self._wrap(f"! {text}", "  ", hang=2)

    def _wrap(self, text: str, indent: str, hang: int = 0, paint: str = "") -> Iterator[str]:
        wrapped = textwrap.wrap(
            text,
            self.width,
            initial_indent=indent,
            subsequent_indent=indent + " " * hang,
            break_long_words=False,
            break_on_hyphens=False,
        )
        yield from (self.paint(paint, line) if paint else line for line in wrapped)


def _part(part: PartRef) -> str:
    return part.label if part.number is None else f"{part.number} {part.label}"


def _short(part: PartRef) -> str:
    return part.label if part.number is None else f"{part.label} ({part.number})"


def _money(part: PartRef) -> str:
    return f"{part.price_eur:.2f} EUR each"


def _offer(offer: Offer) -> str:
    parts = [_part(p) for p in offer.parts[:_MOST_OPTIONS]]
    more = len(offer.parts) - len(parts)
    tail = f" or {more} more" if more else ""
    return f"{offer.station.label} is {' or '.join(parts)}{tail}"


def _cited(citation: Citation) -> str:
    return f"{citation.source}, {citation.standing}"


def _headline_of(meeting: MeetingNote) -> str:
    failing = [c.text for c in meeting.comparisons if c.outcome == "clashes"]
    return f"{meeting.joint.label} ({'; '.join(failing)})"
