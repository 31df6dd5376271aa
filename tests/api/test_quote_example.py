"""What README shows: a shop's quote line asks knockon for parts, prices, hours and cautions."""

from __future__ import annotations

from dataclasses import dataclass

from knockon.api.client import Knockon

from .conftest import Shopfront


@dataclass(frozen=True)
class QuoteLine:
    """One line of a quote: what it is, how many, and what all of them cost."""

    text: str
    count: int
    price_eur: float | None


def quote(knockon: Knockon, car: str, fit: list[str]) -> tuple[list[QuoteLine], float, list[str]]:
    """Lines of the best plan, its hours, and what the customer must hear before ordering."""
    answer = knockon.plans(car, fit, plans=1)
    if not answer.plans:
        return [], 0, [answer.summary]
    plan = answer.plans[0]
    lines = [
        QuoteLine(f"{p.part.number} {p.part.label}", p.quantity, p.price_eur) for p in plan.parts
    ]
    checks = [f"check first: {'; '.join(check.measure)}" for check in answer.checks]
    return lines, plan.hours, [*checks, *plan.irreversible, *answer.cautions]


def test_a_quote_has_the_part_asked_for_and_everything_that_follows(keyed: Shopfront) -> None:
    with Knockon(key=keyed.keys["asker"], http=keyed.client()) as knockon:
        lines, hours, notes = quote(knockon, "Tiny T1 light", ["HD hub"])
    assert [line.text for line in lines] == [
        "TH-30 HD hub",
        "TS-30 HD half-shaft",
        "TW-120 big wheel",
    ]
    assert hours >= 0
    assert any("licensed technician" in note for note in notes)


def test_a_quote_for_what_cannot_be_done_says_so(keyed: Shopfront) -> None:
    with Knockon(key=keyed.keys["asker"], http=keyed.client()) as knockon:
        answer = knockon.ask(
            "what else must change if I fit HD hub to Tiny T1 light keeping the wheel?"
        )
    assert "No workable plan" in answer.summary
