"""The job sheet of one plan in plain Markdown: what to order, what to check, what to do, and who
signs. Tables are padded, so that the text can also be read and printed as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from ..reasoner.errors import KnockonError
from .answer import Answer, CheckNote, PartRef, PlanNote

_SPECIAL = re.compile(r"([\\`*_\[\]<>|])")
_TURNED = {"must": "must change", "choice": "becomes a choice", "keeps": "keeps its part"}
_BLANK = "______________"


class NoSuchPlan(KnockonError):
    """There is no plan of that number to make a job sheet of; says which there are."""


def job_sheet(answer: Answer, plan: int = 1) -> str:
    """The job sheet of plan number `plan` (from 1).

    Raises:
        NoSuchPlan: the answer has no such plan.
    """
    if not 1 <= plan <= len(answer.plans):
        raise NoSuchPlan(_no_plan(answer, plan))
    return "\n".join(_lines(answer, answer.plans[plan - 1], plan)) + "\n"


def _no_plan(answer: Answer, plan: int) -> str:
    if not answer.workable:
        return "There is no job sheet: no plan is workable."
    if not answer.plans:
        return "There is no job sheet: no plans were worked out."
    count = len(answer.plans)
    there = "only plan 1" if count == 1 else f"plans 1 to {count}"
    return f"There is no plan {plan}: this answer has {there}."


def _lines(answer: Answer, plan: PlanNote, number: int) -> Iterator[str]:
    fitted = " and ".join(_text(f.part.label) for f in answer.fitted)
    yield f"# Job sheet: {fitted} for {_text(answer.car.label)}"
    yield ""
    yield f"- Car: {_text(answer.car.label)}"
    yield f"- Registration: {_BLANK}  Serial: {_BLANK}  Distance: {_BLANK}"
    yield f"- Job number: {_BLANK}  Date: {_BLANK}"
    yield f"- Plan {number} of {len(answer.plans)}: {_totals(plan)}"
    yield f"- Asked: {_text(answer.question)}"
    yield f"- Catalogue: {answer.catalogue[:12]}; the weakest fact this rests on is {plan.standing}"
    yield from _section("No longer works", (f"- {_text(t.label)}" for t in plan.lost))
    yield from _section("Check before ordering", _checks(answer, plan))
    yield from _section("See that the donor still has", _donors(plan))
    yield from _section("Parts", _parts(plan))
    yield from _section("Made to measure", _made(plan))
    yield from _section("Renew as well (one-use and consumables)", _consumables(plan))
    yield from _section("Order of work", _work(plan))
    yield from _section("Blank off", (f"- ☐ {_text(b.label)}" for b in plan.blanks))
    yield from _section("Cannot be undone", (f"- {_text(i)}" for i in plan.irreversible))
    yield from _section("Tell the customer", (f"- {_text(a)}" for a in plan.advice))
    yield from _section(
        "What changes in how the car drives", (f"- {_text(e)}" for e in plan.effects)
    )
    yield from _section("Cautions", (f"- {_text(c)}" for c in answer.cautions))
    yield from _section("Signed", _signatures())


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    body = list(lines)
    if body:
        yield from ("", f"## {title}", "", *body)


def _totals(plan: PlanNote) -> str:
    proven = "" if plan.optimal else " (best found, not proven best)"
    missing = f", {len(plan.unpriced)} without a price" if plan.unpriced else ""
    return f"{plan.cost_eur:.2f} EUR in parts{missing}; {plan.hours:g} hours{proven}"


def _checks(answer: Answer, plan: PlanNote) -> Iterator[str]:
    known = {check.joint.iri: check for check in answer.checks}
    for joint in plan.unproven:
        yield f"- ☐ {_text(joint.label)}: nobody has proven this"
        check = known.get(joint.iri)
        if check is not None:
            yield from _check(check)


def _check(check: CheckNote) -> Iterator[str]:
    for what in check.measure:
        yield f"    - {_text(what)}  Found: {_BLANK}"
    if check.ends_it:
        yield "    - If it does not fit, nothing else will do: do not order."
    elif check.turns:
        turned = ", ".join(f"{t.station.label} {_TURNED[t.then]}" for t in check.turns)
        yield f"    - If it does not fit: {_text(turned)}. Ask again before ordering."


def _parts(plan: PlanNote) -> Iterator[str]:
    rows = []
    for changed in plan.parts:
        priced = "" if changed.price_eur is None else f"{changed.price_eur:.2f}"
        rows.append(
            (
                "" if changed.part.iri is None else str(changed.quantity),
                changed.part.number or "",
                "none" if changed.part.iri is None else changed.part.label,
                changed.station.label,
                changed.origin,
                priced if changed.part.iri else "",
                _named(changed.was),
            )
        )
    heads = ("Qty", "Number", "Part", "Where on the car", "From", "EUR", "Takes the place of")
    yield from _table(heads, rows)


def _donors(plan: PlanNote) -> Iterator[str]:
    for donor in plan.donors:
        parts = ", ".join(_named(part) for part in donor.parts)
        yield f"- ☐ {_text(donor.donor)}: {parts}"


def _made(plan: PlanNote) -> Iterator[str]:
    for changed in plan.parts:
        if changed.made_to:
            yield f"- {_text(_named(changed.part))}, {_text(changed.station.label)}:"
            yield from (f"    - {_text(measure)}" for measure in changed.made_to)


def _consumables(plan: PlanNote) -> Iterator[str]:
    rows = [
        (
            c.count,
            c.label,
            f"{c.because.label} is opened",
            "" if c.price_eur is None else f"{c.price_eur:.2f}",
        )
        for c in plan.consumables
    ]
    if rows:
        yield from _table(("Count", "What", "Because", "EUR"), rows)


def _work(plan: PlanNote) -> Iterator[str]:
    if not plan.work:
        yield "Hours and order of work are not in the catalogue for this plan."
        return
    rows = [
        (
            str(at),
            work.operation.label + (" (cannot be undone)" if work.cannot_be_undone else ""),
            f"{work.hours:g}",
            "",
            "☐",
        )
        for at, work in enumerate(plan.work, 1)
    ]
    rows.append(("", "Total, shared work counted once", f"{plan.hours:g}", "", ""))
    yield from _table(("No.", "Work", "Hours", "Torque, by the maker's book", "Done"), rows)


def _signatures() -> Iterator[str]:
    people = ("Parts ordered by", "Checks made by", "Work done by", "Road test by", "Customer")
    yield from _table(
        ("Who", "Name", "Signature", "Date"),
        [(who, " " * 20, " " * 24, " " * 12) for who in people],
    )


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    cells = [[_text(cell) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(heads, *cells, strict=True)]

    def line(texts: Sequence[str]) -> str:
        return f"| {' | '.join(t.ljust(w) for t, w in zip(texts, widths, strict=True))} |"

    yield line(heads)
    yield line(["-" * w for w in widths])
    yield from map(line, cells)


def _named(part: PartRef) -> str:
    return part.label if part.number is None else f"{part.number} {part.label}"


def _text(text: str) -> str:
    r"""A text whose signs Markdown leaves alone.

    >>> _text("3|4 *new*")
    '3\\|4 \\*new\\*'
    """
    return _SPECIAL.sub(r"\\\1", text)
