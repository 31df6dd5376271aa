"""One plan as text: what it costs, what it takes, what it gives up, and the order of work."""

from __future__ import annotations

from collections.abc import Iterator

from .answer import Answer, PlanNote
from .page import Page, Paint, part_text, unpainted


def render_plan(answer: Answer, number: int, *, width: int = 80, paint: Paint = unpainted) -> str:
    """Plan `number` (from 1) of an answer that has it, as lines no longer than `width`."""
    page = Page(width, paint, full=False)
    return "\n".join(plan_lines(page, answer.plans[number - 1], number)) + "\n"


def plan_lines(page: Page, plan: PlanNote, number: int) -> Iterator[str]:
    """The lines of one plan on a page."""
    proven = "" if plan.optimal else " (best found, not proven best)"
    missing = f" ({len(plan.unpriced)} not priced)" if plan.unpriced else ""
    title = (
        f"Plan {number}: {plan.cost_eur:.2f} EUR in parts{missing}, {plan.hours:g} hours{proven}"
    )
    yield from page.wrap(title, "", paint="title")
    if plan.compared_with_best:
        differs = ", ".join(plan.compared_with_best)
        yield from page.wrap(f"against plan 1: {differs}", "  ", hang=2)
    for lost in plan.lost:
        yield from page.wrap(f"! no longer works: {lost.label}", "  ", paint="caution")
    for advice in plan.advice:
        yield from page.wrap(f"! {advice}", "  ", hang=2, paint="caution")
    for step in plan.irreversible:
        yield from page.wrap(f"! cannot be undone: {step}", "  ", paint="caution")
    for changed in plan.parts:
        times = f"{changed.quantity} × "
        price = "price not known" if changed.price_eur is None else (f"{changed.price_eur:.2f} EUR")
        made = f", made to {'; '.join(changed.made_to)}" if changed.made_to else ""
        text = f"{changed.station.label}: {times}{part_text(changed.part)}{made}"
        if changed.part.iri is None:
            text = f"{changed.station.label}: {changed.origin}"
        else:
            text += f"; {changed.origin}, {price}"
        yield from page.wrap(text, "  ", hang=4)
    for donor in plan.donors:
        taken = ", ".join(part_text(part) for part in donor.parts)
        yield from page.wrap(f"see that the donor {donor.donor} still has: {taken}", "  ", hang=4)
    if plan.work:
        work = "; ".join(f"{w.operation.label} {w.hours:g} h" for w in plan.work)
        yield from page.wrap(f"order of work: {work}", "  ", hang=4, paint="quiet")
    for also in plan.consumables:
        yield from page.wrap(
            f"also renew: {also.label}, {also.count} ({also.because.label} opened)", "  "
        )
    for effect in plan.effects:
        yield from page.wrap(f"~ {effect}", "  ", hang=2)
    for blank in plan.blanks:
        yield from page.wrap(f"blank the opening: {blank.label}", "  ")
    for joint in plan.unproven:
        yield from page.wrap(f"? rests on unproven: {joint.label}", "  ", paint="check")
