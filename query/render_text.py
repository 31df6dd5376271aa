"""An answer as text for a person at a counter: verdicts first, each with its reasons beneath."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from .answer import Answer, CheckNote, Line, MeetingNote, Offer, PartRef, WayNote
from .page import Page, Paint, part_text, short_part, unpainted
from .render_plan import plan_lines

_MARKS = {"must": "■ MUST", "choice": "◆ CHOICE", "keeps": "□ KEEPS"}
_MOST_OPTIONS = 6


def render_text(
    answer: Answer, *, width: int = 80, paint: Paint = unpainted, full: bool = False
) -> str:
    """The answer as lines no longer than `width` (names that are longer stand alone).

    `full` adds every comparison that holds, and every claim behind a number.
    """
    return "\n".join(_AnswerPage(answer, width, paint, full=full).lines()) + "\n"


class _AnswerPage(Page):
    def __init__(self, answer: Answer, width: int, paint: Paint, *, full: bool) -> None:
        super().__init__(width, paint, full=full)
        self.answer = answer

    def lines(self) -> Iterator[str]:
        answer = self.answer
        yield from self.wrap(answer.question, "", paint="title")
        yield ""
        for clash in answer.already_clashing:
            yield from self.wrap(
                f"! {answer.car.label} already has a joint that clashes, before anything is "
                f"fitted: {_headline_of(clash)}.",
                "  ",
                paint="caution",
            )
        yield from self.wrap(answer.summary, "")
        if not answer.workable:
            yield from self._conflict()
        if answer.reasons_among:
            yield from self.wrap(
                "Verdicts hold for the whole catalogue. Some reasons here are told among the "
                f"{answer.reasons_among:,} parts that come in question, as limits on money, hours "
                "and proof are weighed among these.",
                "",
                paint="quiet",
            )
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
        yield from self.block("Cautions", answer.cautions, "caution")

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
            yield from self.wrap(
                f"● {fit.station.label}: {part_text(fit.part)}", "  ", paint="title"
            )
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
        yield from self.wrap(f"now  {part_text(line.now)}", "    ", hang=5)
        for at, option in enumerate(line.options[:_MOST_OPTIONS]):
            price = f", {_money(option)}" if option.price_eur is not None else ""
            yield from self.wrap(
                f"{'to  ' if at == 0 else 'or  '} {part_text(option)}{price}", "    ", hang=5
            )
        if len(line.options) > _MOST_OPTIONS:
            yield f"    or   {len(line.options) - _MOST_OPTIONS} more"
        if line.verdict == "choice" and line.while_keeping:
            kept = ", ".join(t.label for t in line.while_keeping)
            yield from self.wrap(f"in plans that keep the {kept}", "    ", paint="quiet")
        if line.strictly is not None and line.strictly != line.verdict:
            yield from self.wrap(
                f"? {line.strictly} if what is unproven turns out not to fit", "    ", paint="check"
            )
        for chain in line.chains:
            yield from self.chain([line.because[at] for at in chain], line.station.iri)
        yield ""

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
                yield from self.wrap(f"{at}. {names}", "  ", hang=3)
            yield from self._branches(way)
        if ways and (len(ways) > 1 or ways[0].branches):
            yield ""

    def _branches(self, way: WayNote) -> Iterator[str]:
        wide = {o.station.iri: len(o.parts) for o in way.changes}
        for branch in way.branches:
            narrowed = [o for o in branch.leaves if len(o.parts) < wide.get(o.station.iri, 0)]
            if not narrowed:
                continue
            parts = " or ".join(part_text(p) for p in branch.parts)
            yield from self.wrap(f"if {branch.station.label} is {parts}:", "    ", hang=3)
            for offer in narrowed:
                yield from self.wrap(f"then {_offer(offer)}", "      ", hang=5)

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
        title = "Check before ordering (nobody has proven these):"
        yield from self.wrap(title, "", paint="check")
        for at, check in enumerate(self.answer.checks, 1):
            yield from self._check(at, check)

    def _check(self, at: int, check: CheckNote) -> Iterator[str]:
        yield from self.wrap(f"{at}. {check.joint.label}", "  ", hang=3)
        for meeting in check.meetings[:_MOST_OPTIONS]:
            yield from self.wrap(" ? ".join(short_part(p) for p in meeting.parts), "     ", hang=2)
        more = len(check.meetings[_MOST_OPTIONS:]) + check.others
        if more:
            yield f"     and {more} more"
        for what in check.measure:
            yield from self.wrap(f"→ {what}", "     ", hang=2)
        if check.ends_it:
            yield from self.wrap("if it does not fit, nothing else will do", "     ", hang=2)
        elif check.turns:
            turned = ", ".join(f"{t.station.label} {t.then} (not {t.now})" for t in check.turns)
            yield from self.wrap(f"if it does not fit: {turned}", "     ", hang=2)

    def _plans(self) -> Iterator[str]:
        for at, plan in enumerate(self.answer.plans, 1):
            yield ""
            yield from plan_lines(self, plan, at)

    def _conflict(self) -> Iterator[str]:
        conflict = self.answer.conflict
        if conflict is None:
            return
        yield from (f"  • {reason}" for reason in conflict.reasons)
        for release in conflict.releases:
            stations = ", ".join(t.label for t in release.then_change)
            then = f"then change: {stations}" if stations else "then nothing else must change"
            yield from self.wrap(
                f"Drop “{'” and “'.join(release.drop)}” and it works; {then}.",
                "  ",
                hang=2,
            )
        yield ""


def _money(part: PartRef) -> str:
    return f"{part.price_eur:.2f} EUR each"


def _offer(offer: Offer) -> str:
    parts = [part_text(p) for p in offer.parts[:_MOST_OPTIONS]]
    more = len(offer.parts) - len(parts)
    tail = f" or {more} more" if more else ""
    return f"{offer.station.label} is {' or '.join(parts)}{tail}"


def _headline_of(meeting: MeetingNote) -> str:
    failing = [c.text for c in meeting.comparisons if c.outcome == "clashes"]
    return f"{meeting.joint.label} ({'; '.join(failing)})"
