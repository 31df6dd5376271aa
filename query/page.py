"""What every page of text is made of: wrapped lines, reasons, meetings of parts, and tables.

A reason that has been given once is referred to by its number. Words and marks carry the meaning;
colour, where the caller paints, only repeats it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeAlias

from .answer import Citation, MeetingNote, PartRef, ReasonStep, Shown
from .report import Row, Table

Paint: TypeAlias = Callable[[str, str], str]
"""Takes a class ("must", "choice", "keeps", "check", "caution", "quiet", "title") and a text."""

_NARROWEST_COLUMN = 8


def unpainted(_: str, text: str) -> str:
    """No colour."""
    return text


class Page:
    """Lines no longer than `width` (names that are longer stand alone).

    `full` adds every comparison that holds, and every claim behind a number.
    """

    def __init__(self, width: int, paint: Paint, *, full: bool) -> None:
        self.width, self.paint, self.full = max(width, 40), paint, full
        self.numbers: dict[str, int] = {}

    def wrap(self, text: str, indent: str, hang: int = 0, paint: str = "") -> Iterator[str]:
        """A paragraph; lines after the first hang by so many columns."""
        wrapped = textwrap.wrap(
            text,
            self.width,
            initial_indent=indent,
            subsequent_indent=indent + " " * hang,
            break_long_words=False,
            break_on_hyphens=False,
        )
        yield from (self.paint(paint, line) if paint else line for line in wrapped)

    def block(self, title: str, texts: Iterable[str], paint: str) -> Iterator[str]:
        """A title with marked lines beneath; nothing at all if there are none."""
        texts = list(texts)
        if texts:
            yield self.paint(paint, title)
            for text in texts:
                yield from self.wrap(f"! {text}", "  ", hang=2)

    # ------------------------------------------------------------------ reasons

    def chain(self, steps: Sequence[ReasonStep], station: str) -> Iterator[str]:
        """A chain of reasons that ends at `station`: links given before are only referred to."""
        before: list[int] = []
        for step in steps:
            known = self.numbers.get(_key(step))
            if known is not None and step.station.iri != station:
                before.append(known)
                continue
            yield from self.step(step, before)
            if step.kind not in ("fit", "keep"):
                before = [self.numbers[_key(step)]]

    def step(self, step: ReasonStep, after: Sequence[int] = ()) -> Iterator[str]:
        """One link of a chain; a link given before is only referred to."""
        if step.kind in ("fit", "keep"):
            return
        key = _key(step)
        if key in self.numbers:
            yield from self.wrap(
                f"as [{self.numbers[key]}]: {step.text}", "    ", hang=4, paint="quiet"
            )
            return
        number = self.numbers[key] = len(self.numbers) + 1
        then = f" (after {', '.join(f'[{n}]' for n in after)})" if after else ""
        yield from self.wrap(f"[{number}] {step.text}{then}", "    ", hang=4)
        for meeting in step.meetings:
            yield from self.meeting(meeting, "        ")
        if step.leaves:
            leaves = " or ".join(p.number or p.label for p in step.leaves)
            yield from self.wrap(
                f"leaves {leaves} as {step.station.label}", "        ", hang=2, paint="quiet"
            )

    def meeting(self, meeting: MeetingNote, indent: str) -> Iterator[str]:
        """Parts at a joint: what fails (in full, everything), and on whose word."""
        pair = {"clashes": " ✕ ", "unproven": " ? ", "mates": " ✓ "}[meeting.outcome]
        parts = pair.join(short_part(p) for p in meeting.parts)
        yield from self.wrap(parts, indent, hang=2)
        for comparison in meeting.comparisons:
            # Beside a clash, what is unproven in the same joint no longer matters.
            if self.full or comparison.outcome == meeting.outcome != "mates":
                sign = {"mates": "✓", "clashes": "✕", "unproven": "?"}[comparison.outcome]
                yield from self.wrap(f"{sign} {comparison.text}", indent + "  ", hang=2)
        if self.full:
            yield from self.wrap(f"rule: {meeting.rule}", indent + "  ", hang=2)
            for claim in meeting.claims:
                unit = f" {claim.unit}" if claim.unit else ""
                yield from self.wrap(
                    f"{claim.part}, {claim.quantity}: {claim.value}{unit} "
                    f"({'; '.join(cited(c) for c in claim.cited)})",
                    indent + "  ",
                    hang=2,
                    paint="quiet",
                )
        else:
            sources = dict.fromkeys(cited(c) for claim in meeting.claims for c in claim.cited)
            said = f" by {'; '.join(sources)}" if sources else ""
            yield from self.wrap(f"{meeting.kind}{said}", indent + "  ", hang=2, paint="quiet")

    # ------------------------------------------------------------------ tables

    def table(self, table: Table, indent: str) -> Iterator[str]:
        """Values side by side, or one below the other where the page is too narrow."""
        heads = [c.label + (f", {c.unit}" if c.unit else "") for c in table.columns]
        marked = any(row.marked for row in table.rows)
        body = [[_mark(row) if marked else "", *map(shown_text, row.cells)] for row in table.rows]
        rows = [["", *heads], *body]
        if not marked:
            rows = [row[1:] for row in rows]
        room = self.width - len(indent)
        widths = _column_widths(rows, room)
        if widths is None:
            yield from self._stacked(heads, table.rows, indent)
            return
        for at, row in enumerate(rows):
            if at == 0 and not any(heads):
                continue
            for line in _table_lines(row, widths):
                yield indent + (self.paint("quiet", line) if at == 0 else line)

    def _stacked(self, heads: Sequence[str], rows: Sequence[Row], indent: str) -> Iterator[str]:
        for row in rows:
            first, *rest = map(shown_text, row.cells)
            yield from self.wrap(f"{_mark(row)} {first}", indent, hang=2)
            for head, cell in zip(heads[1:], rest, strict=True):
                if cell:
                    yield from self.wrap(f"{head}: {cell}", indent + "    ", hang=2)


def _mark(row: Row) -> str:
    return "▸" if row.marked else " "


def _column_widths(rows: Sequence[Sequence[str]], room: int) -> list[int] | None:
    """Widths that use at most `room`, two columns between; None where words would break."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    least = [
        max((len(word) for cell in column for word in cell.split()), default=0)
        for column in zip(*rows, strict=True)
    ]
    gaps = 2 * (len(widths) - 1)
    while sum(widths) + gaps > room:
        spare = [w - max(n, _NARROWEST_COLUMN) for w, n in zip(widths, least, strict=True)]
        if max(spare) <= 0:
            return None
        widths[spare.index(max(spare))] -= 1
    return widths


def _table_lines(row: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    cells = [
        textwrap.wrap(cell, max(width, 1), break_on_hyphens=False) or [""]
        for cell, width in zip(row, widths, strict=True)
    ]
    for at in range(max(map(len, cells))):
        pieces = [
            (cell[at] if at < len(cell) else "").ljust(width)
            for cell, width in zip(cells, widths, strict=True)
        ]
        yield "  ".join(pieces).rstrip()


def shown_text(value: Shown) -> str:
    """A cell as people read it; nothing where nothing is known."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def part_text(part: PartRef) -> str:
    """Number first, as on an order."""
    return part.label if part.number is None else f"{part.number} {part.label}"


def short_part(part: PartRef) -> str:
    """Label first, as in a sentence."""
    return part.label if part.number is None else f"{part.label} ({part.number})"


def cited(citation: Citation) -> str:
    """Who says so, and its standing."""
    return f"{citation.source}, {citation.standing}"


def _key(step: ReasonStep) -> str:
    return f"{step.text}|{step.station.iri}|{[m.joint.iri for m in step.meetings]}"
