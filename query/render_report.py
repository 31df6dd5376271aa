"""A report as text for a person at a counter: the answer first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from .answer import Answer
from .page import Page, Paint, unpainted
from .render_text import render_text
from .report import Report, Section


def render_reply(
    reply: Answer | Report, *, width: int = 80, paint: Paint = unpainted, full: bool = False
) -> str:
    """Whatever the desk answered, as text."""
    if isinstance(reply, Answer):
        return render_text(reply, width=width, paint=paint, full=full)
    return render_report(reply, width=width, paint=paint, full=full)


def render_report(
    report: Report, *, width: int = 80, paint: Paint = unpainted, full: bool = False
) -> str:
    """The report as lines no longer than `width`. `full` adds comparisons that hold and claims."""
    return "\n".join(_lines(report, Page(width, paint, full=full))) + "\n"


def _lines(report: Report, page: Page) -> Iterator[str]:
    yield from page.wrap(report.question, "", paint="title")
    yield ""
    paint = {True: "keeps", False: "must", None: ""}[report.holds]
    yield from page.wrap(report.summary, "", paint=paint)
    for section in report.sections:
        yield ""
        yield from _section(section, page)
    if report.cautions:
        yield ""
        yield from page.block("Cautions", report.cautions, "caution")


def _section(section: Section, page: Page) -> Iterator[str]:
    yield from page.wrap(section.title, "", paint="title")
    for line in section.lines:
        yield from page.wrap(line, "  ", hang=2)
    if section.table is not None:
        yield from page.table(section.table, "  ")
    full, page.full = page.full, page.full or section.in_full
    for step in section.steps:
        yield from page.step(step)
    for meeting in section.meetings:
        yield from page.wrap(meeting.joint.label, "  ", hang=2)
        yield from page.meeting(meeting, "    ")
    page.full = full
