"""Compose the notes on plans: parts with origin and price, work in order, and what is given up."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ..reasoner.build import Build, modified
from ..reasoner.effects import find_effects
from ..reasoner.interfaces.kind import Value
from ..reasoner.plans import Aim, Plan, PlanPart
from ..reasoner.supply import Origin, OriginKind
from .answer import ConsumableNote, DonorNote, PlanNote, PlanPartNote, WorkNote
from .compose import Composer, number
from .words import plain, unit_word
from .words_effects import effect_text

_COMPARED = {
    Aim.PARTS: ("part", "parts"),
    Aim.COST: ("EUR", "EUR"),
    Aim.HOURS: ("hour", "hours"),
    Aim.IRREVERSIBLE: ("step that cannot be undone", "steps that cannot be undone"),
    Aim.UNPROVEN: ("unproven joint", "unproven joints"),
}


def plan_notes(composer: Composer, plans: Sequence[Plan], build: Build) -> tuple[PlanNote, ...]:
    """Plans for a build, each but the first with how it differs from the first."""
    return tuple(
        _note(composer, plan, build, plans[0] if at else None) for at, plan in enumerate(plans)
    )


def _note(composer: Composer, plan: Plan, build: Build, best: Plan | None) -> PlanNote:
    operations = composer.catalogue.operations
    effects = find_effects(composer.catalogue, build, modified(build, plan.fits))
    return PlanNote(
        parts=tuple(_part(composer, p) for p in plan.parts),
        cost_eur=number(plan.cost) or 0,
        unpriced=tuple(map(composer.part, plan.unpriced)),
        hours=number(plan.hours) or 0,
        work=tuple(
            WorkNote(
                operation=composer.thing(o),
                hours=number(operations[o].hours) or 0,
                cannot_be_undone=operations[o].irreversible,
            )
            for o in plan.operations
        ),
        irreversible=plan.irreversible,
        unproven=tuple(map(composer.thing, dict.fromkeys(m.mate.joint for m in plan.unproven))),
        blanks=tuple(map(composer.thing, plan.blanks)),
        lost=tuple(map(composer.thing, plan.lost)),
        consumables=tuple(
            ConsumableNote(
                label=c.label,
                count=c.count,
                because=composer.thing(c.because),
                price_eur=number(c.price),
            )
            for c in plan.consumables
        ),
        advice=tuple(a.says for a in plan.advice),
        donors=_donors(composer, plan),
        standing=plan.standing.word,
        optimal=plan.optimal,
        compared_with_best=() if best is None else _compared(plan, best),
        effects=tuple(map(effect_text, effects)),
    )


def _donors(composer: Composer, plan: Plan) -> tuple[DonorNote, ...]:
    """What must still be on each donor when the job begins."""
    taken: dict[str, list[str | None]] = {}
    for changed in plan.parts:
        if changed.origin is not None and changed.origin.kind is OriginKind.DONOR:
            taken.setdefault(changed.origin.name, []).append(changed.part)
    return tuple(
        DonorNote(donor=name, parts=tuple(map(composer.part, parts)))
        for name, parts in sorted(taken.items())
    )


def _part(composer: Composer, changed: PlanPart) -> PlanPartNote:
    origin = changed.origin
    return PlanPartNote(
        station=composer.thing(changed.station),
        quantity=changed.quantity,
        was=composer.part(changed.was),
        part=composer.part(changed.part),
        origin=_origin(composer, origin) if changed.part else "taken off, nothing in its place",
        price_eur=number(origin.price) if origin and origin.priced else None,
        made_to=_made_to(composer, changed),
    )


def _origin(composer: Composer, origin: Origin | None) -> str:
    if origin is None:
        return "to be found: not offered by any allowed source"
    texts = {
        OriginKind.NEW: "new",
        OriginKind.STOCK: f"from stock, {origin.condition}",
        OriginKind.DONOR: f"off the donor {origin.name}",
    }
    if origin.kind is OriginKind.REWORK:
        return f"rework of {composer.part(origin.name).label}"
    return texts[origin.kind]


def _made_to(composer: Composer, changed: PlanPart) -> tuple[str, ...]:
    """One phrase an end, such as “gearbox flange: register diameter 54 mm, bolt size 8 mm”."""
    by_end: dict[str, list[str]] = {}
    for end, quantity, value in changed.made:
        role = composer.catalogue.name(composer.catalogue.ends[end].role)
        by_end.setdefault(role, []).append(_made(composer, quantity, value))
    return tuple(f"{role}: {', '.join(values)}" for role, values in sorted(by_end.items()))


def _made(composer: Composer, quantity: str, value: Value) -> str:
    described = composer.catalogue.quantities.get(quantity)
    label = described.label if described else quantity
    if isinstance(value, tuple):
        return label
    unit = unit_word(described.unit) if described else ""
    return f"{label} {plain(value)} {unit}".strip()


def _compared(plan: Plan, best: Plan) -> tuple[str, ...]:
    found = []
    for aim, (one, many) in _COMPARED.items():
        more = plan.figure(aim) - best.figure(aim)
        if more:
            word = one if abs(more) == 1 else many
            amount = abs(more).quantize(Decimal("0.01")) if aim is Aim.COST else abs(more)
            found.append(f"{plain(amount)} {word} {'more' if more > 0 else 'fewer'}")
    return tuple(found)
