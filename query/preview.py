"""Which answers an edit changes before it goes live: each saved question put to both catalogues.

A question about a change to a car that the edit cannot reach is passed over; a test holds that
this loses nothing. All other sentences are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from ..reasoner.build import Build
from ..reasoner.upkeep.at_hand import AtHand
from ..reasoner.upkeep.changes import ChangeSet
from ..reasoner.upkeep.findings import find_faults
from ..reasoner.upkeep.findings_note import FindingNote
from ..reasoner.upkeep.preview import (
    BuildDifference,
    Edit,
    Progress,
    no_progress,
    preview_builds,
    stock_builds,
)
from .answer import Answer
from .desk import Desk
from .errors import QueryError
from .finding_out import finding_out
from .hanging import meant
from .preview_answers import (
    Mentions,
    Reply,
    mention_all,
    other_changes,
    reasons,
    report_changes,
    verdict_changes,
)
from .preview_note import BuildChange, Preview, QuestionChange
from .preview_words import PreviewWords
from .report import Report
from .shop import rebuilt


@dataclass(frozen=True, slots=True)
class Sides:
    """The desk as it is and as it would be, and the edit between them."""

    before: Desk
    after: Desk
    edit: Edit
    lost: Mapping[str, str]
    """Saved builds that can no longer be, with the reason."""

    @classmethod
    def of(cls, before: Desk, edit: Edit) -> Sides:
        """Both sides of an edit of the catalogue of `before`."""
        builds: dict[str, Build] = {}
        lost: dict[str, str] = {}
        for key, build in before.builds.items():
            again = rebuilt(build, edit.after.catalogue)
            if isinstance(again, Build):
                builds[key] = again
            else:
                lost[key] = again
        catalogue = edit.after.catalogue
        after = Desk(catalogue, before.stock, builds, before.questions, edit.after)
        return cls(before, after, edit, lost)


def preview_edit(
    hand: AtHand,
    desk: Desk,
    changes: Iterable[ChangeSet],
    questions: Iterable[str],
    *,
    whole: bool = False,
    progress: Progress = no_progress,
    step: Callable[[str], None] = lambda _: None,
) -> Preview:
    """What edits of the catalogue at hand change, which is that of the desk.

    `step` is told what is being done.

    Raises:
        CatalogueRefused: the catalogue could not be served with them.
    """
    step("the catalogue with the edit")
    with hand.edited(changes) as (facts, after):
        edit = Edit.between(desk.catalogue, after, desk.mating)
        step("what the check says")
        newly = find_faults(facts, after, edit.after)
    findings = hand.findings(desk.mating), newly
    step("builds and saved questions")
    return preview(Sides.of(desk, edit), questions, findings, whole=whole, progress=progress)


def preview(
    sides: Sides,
    questions: Iterable[str],
    findings: tuple[tuple[FindingNote, ...], tuple[FindingNote, ...]] = ((), ()),
    *,
    whole: bool = False,
    progress: Progress = no_progress,
) -> Preview:
    """What the edit changes: facts, builds, saved questions, and what the check says of it.

    `findings` are the check's before and after. With `whole` nothing is passed over.
    """
    words = PreviewWords(sides.edit)
    builds, looked_at, passed_over = _builds(sides, words, whole, progress)
    asked = _Asked(sides, words, whole)
    todo = list(dict.fromkeys(q.strip() for q in questions if q.strip()))
    for done, question in enumerate(todo):
        progress(done, len(todo), question)
        asked.question(question)
    told = [{_alike(note): note for note in notes} for notes in findings]
    newly = [note for key, note in told[1].items() if key not in told[0]]
    cured = [note for key, note in told[0].items() if key not in told[1]]
    return Preview(
        before=sides.before.catalogue.version,
        after=sides.after.catalogue.version,
        summary=_summary(len(sides.edit.facts), builds, asked),
        facts=tuple(map(words.fact, sides.edit.facts)),
        builds=builds,
        questions=tuple(asked.changes),
        other_reasons=tuple(asked.other_reasons),
        unanswered=tuple(asked.unanswered),
        findings=tuple(finding_out(n, sides.after.catalogue) for n in newly),
        cured=tuple(finding_out(n, sides.before.catalogue) for n in cured),
        builds_looked_at=looked_at,
        builds_passed_over=passed_over,
        questions_asked=len(todo) - asked.passed_over,
        questions_passed_over=asked.passed_over,
    )


def _alike(note: FindingNote) -> tuple[str, str, str]:
    return note.rule, note.subject or note.place, note.reason


def _builds(
    sides: Sides, words: PreviewWords, whole: bool, progress: Progress
) -> tuple[tuple[BuildChange, ...], int, int]:
    edit = sides.edit
    catalogues = edit.before.catalogue, edit.after.catalogue
    before, after = ({("", k): b for k, b in stock_builds(c).items()} for c in catalogues)
    before |= {("saved", k): b for k, b in sides.before.builds.items()}
    after |= {("saved", k): b for k, b in sides.after.builds.items()}
    keys = {" ".join(key): key for key in (*before, *after)}
    found = preview_builds(
        edit,
        {" ".join(k): b for k, b in before.items()},
        {" ".join(k): b for k, b in after.items()},
        whole=whole,
        progress=progress,
    )
    saved = {b.name for k, b in {**before, **after}.items() if k[0] == "saved"}
    told = tuple(
        words.build(each, each.name in saved, _note(sides, each)) for each in found.differences
    )
    assert len(keys) == found.looked_at + found.passed_over, "every build is accounted for"
    return told, found.looked_at, found.passed_over


def _note(sides: Sides, difference: BuildDifference) -> str:
    return sides.lost.get(difference.name.casefold(), "") if not difference.there[1] else ""


class _Asked:
    """What came of the saved questions so far."""

    def __init__(self, sides: Sides, words: PreviewWords, whole: bool) -> None:
        self.sides, self.words, self.whole = sides, words, whole
        self.changes: list[QuestionChange] = []
        self.other_reasons: list[str] = []
        self.unanswered: list[str] = []
        self.passed_over = 0

    def question(self, text: str) -> None:
        """Put one question to both desks."""
        if not self.whole and self._out_of_reach(text):
            self.passed_over += 1
            return
        before, after = (_reply(desk, text) for desk in (self.sides.before, self.sides.after))
        if isinstance(before, QueryError) and isinstance(after, QueryError):
            self.unanswered.append(f"{text}: {after.problem.message}")
        elif isinstance(before, QueryError) or isinstance(after, QueryError):
            mentions = Mentions()
            for reply in (before, after):
                if not isinstance(reply, QueryError):
                    mention_all(reply, mentions)
            self._changed(text, before, after, mentions)
        elif isinstance(before, Answer) and isinstance(after, Answer):
            self._answers(text, before, after)
        elif isinstance(before, Report) and isinstance(after, Report):
            mentions = Mentions()
            lines = report_changes(before, after, mentions)
            if lines or (before.holds, before.summary) != (after.holds, after.summary):
                self._changed(text, before, after, mentions, lines=lines)

    def _answers(self, text: str, before: Answer, after: Answer) -> None:
        mentions = Mentions()
        verdicts = verdict_changes(before, after, mentions)
        lines = other_changes(before, after, mentions)
        turned = before.workable != after.workable
        if verdicts or lines or turned:
            if turned:
                mention_all(before, mentions)
                mention_all(after, mentions)
            mentions.things.add(after.car.iri)
            mentions.things |= {part for fit in after.fitted if (part := fit.part.iri)}
            change = QuestionChange(
                question=text,
                before=before.summary,
                after=after.summary,
                verdicts=verdicts,
                lines=lines,
                why=self.words.why(mentions),
            )
            self.changes.append(change)
        elif reasons(before) != reasons(after):
            self.other_reasons.append(text)

    def _changed(
        self,
        text: str,
        before: Reply | QueryError,
        after: Reply | QueryError,
        mentions: Mentions,
        lines: tuple[str, ...] = (),
    ) -> None:
        self.changes.append(
            QuestionChange(
                question=text,
                before=_said(before),
                after=_said(after),
                lines=lines,
                why=self.words.why(mentions),
            )
        )

    def _out_of_reach(self, text: str) -> bool:
        """Whether a question means the same on both sides, about a car that is out of reach."""
        before = meant(self.sides.before.resolver, text)
        if before is None or before != meant(self.sides.after.resolver, text):
            return False
        return not self.sides.edit.reach.touches(before.build)


def _reply(desk: Desk, text: str) -> Reply | QueryError:
    try:
        return desk.ask(text, plans=0)
    except QueryError as error:
        return error


def _said(reply: Reply | QueryError) -> str:
    if isinstance(reply, QueryError):
        return f"no answer: {reply.problem.message}"
    return reply.summary


def _summary(facts: int, builds: tuple[BuildChange, ...], asked: _Asked) -> str:
    def count(number: int, one: str) -> str:
        return f"{number} {one}{'' if number == 1 else 's'}"

    broken = sum(build.status == "breaks" for build in builds)
    breaks = f", {broken} of them for the worse" if broken else ""
    return (
        f"{count(facts, 'changed fact')}; {count(len(builds), 'build')} "
        f"{'changes' if len(builds) == 1 else 'change'}{breaks}; "
        f"{count(len(asked.changes), 'saved question')} "
        f"{'is' if len(asked.changes) == 1 else 'are'} answered otherwise."
    )
