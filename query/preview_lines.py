"""A preview in lines, for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from .check import finding_lines
from .preview_note import BuildChange, FactNote, Preview, QuestionChange

_MOST_FACTS = 20


def preview_lines(preview: Preview, *, full: bool = False) -> Iterator[tuple[str, str]]:
    """Lines to print, each with the class it is painted in. `full` lists every changed fact."""
    yield preview.summary, "title"
    if preview.made_on_another:
        text = "It was made on another version of the data; accepting it looks for conflicts."
        yield text, "caution"
    most = len(preview.facts) if full else _MOST_FACTS
    if preview.facts:
        yield "", ""
        yield "What is stated otherwise", "title"
        yield from ((f"  {fact.text}", "") for fact in preview.facts[:most])
        if len(preview.facts) > most:
            yield f"  … and {len(preview.facts) - most} more (--full lists them)", "quiet"
    if preview.builds:
        yield "", ""
        yield "Builds that change", "title"
        for build in preview.builds:
            yield from _build(build)
    if preview.questions:
        yield "", ""
        yield "Saved questions that are answered otherwise", "title"
        for question in preview.questions:
            yield from _question(question)
    yield from _group("The same verdicts, for reasons that read otherwise", preview.other_reasons)
    yield from _group("Understood neither before nor after", preview.unanswered)
    for title, findings in (
        ("What the check says newly", preview.findings),
        ("What the check says no longer", preview.cured),
    ):
        if findings:
            yield "", ""
            yield title, "title"
            for finding in findings:
                yield from finding_lines(finding)
    yield "", ""
    passed = preview.builds_passed_over, preview.questions_passed_over
    yield (
        f"Looked at {preview.builds_looked_at} builds and {preview.questions_asked} questions; "
        f"{passed[0]} and {passed[1]} are out of the edit's reach.",
        "quiet",
    )


def _group(title: str, texts: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    if texts:
        yield "", ""
        yield title, "title"
        yield from ((f"  {text}", "") for text in texts)


def _build(build: BuildChange) -> Iterator[tuple[str, str]]:
    kind = " (saved)" if build.saved else ""
    note = f": {build.note}" if build.note else ""
    yield f"  {build.name}{kind} {build.status}{note}", "must" if build.status == "breaks" else ""
    for fit in build.fits:
        parts = [p.number or p.label if p else "nothing" for p in (fit.before, fit.after)]
        yield f"    {fit.station.label}: {parts[0]} → {parts[1]}", ""
        yield from _why(fit.why)
    for joint in build.joints:
        outcomes = f"{joint.before or 'no joint'} → {joint.after or 'no joint'}"
        yield f"    {joint.joint.label}: {outcomes}", "must" if joint.after == "clashes" else ""
        yield from ((f"      {text}", "") for text in joint.because)
        yield from _why(joint.why)


def _question(change: QuestionChange) -> Iterator[tuple[str, str]]:
    yield f"  {change.question}", ""
    if change.before != change.after:
        yield f"    was: {change.before}", "quiet"
        yield f"    now: {change.after}", ""
    for verdict in change.verdicts:
        yield f"    {verdict.text}", verdict.after or ""
    yield from ((f"    {line}", "") for line in change.lines)
    yield from _why(change.why)


def _why(facts: Iterable[FactNote]) -> Iterator[tuple[str, str]]:
    told = list(facts)
    yield from ((f"      because {fact.text}", "quiet") for fact in told[:4])
    if len(told) > 4:
        yield f"      and {len(told) - 4} more facts", "quiet"
