"""What is answered depends on the question alone: not on the solver, nor on what was asked before."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner import engine, oracle
from knockon.reasoner.build import stock_build
from knockon.reasoner.cascade import Cascade, cascade_of
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Wishes

from .small import SmallCase, priced, small_cases

calm = settings(
    max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


def answered(case: SmallCase, mating: Mating | None = None) -> Cascade:
    """The answer to a case, by a problem of its own if no mating is given."""
    return cascade_of(Problem(mating or Mating(case.catalogue), case.build, case.wishes))


@calm
@given(case=small_cases(stations=6))
def test_another_solver_gives_the_same_reasons(case: SmallCase) -> None:
    found = answered(case)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "SOLVER", "cadical153")
        assert answered(case) == found


@calm
@given(case=small_cases(), data=st.data())
def test_questions_before_leave_no_trace(case: SmallCase, data: st.DataObject) -> None:
    mating = Mating(case.catalogue)
    for part in data.draw(st.lists(st.sampled_from(sorted(case.catalogue.parts)), max_size=4)):
        (station,) = case.catalogue.parts[part].stations
        answered(replace(case, wishes=Wishes({station: part})), mating)
    assert answered(case, mating) == answered(case)


@calm
@given(case=small_cases(stations=4), budget=st.integers(10, 120))
def test_a_budget_is_kept_alike_by_cuts_and_by_the_sum(case: SmallCase, budget: int) -> None:
    case = priced(case)
    case = replace(case, wishes=replace(case.wishes, budget=Decimal(budget)))
    found = answered(case)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(oracle, "_MOST_CUTS", 0)
        assert answered(case) == found


def test_a_demo_question_is_answered_alike_by_two_solvers(demo: Catalogue) -> None:
    build = stock_build(demo, next(c for c in demo.cars.values() if c.label == "Wether W2 late"))
    part = next(p for p in demo.parts.values() if p.number == "OW-42310")
    wishes = Wishes({part.stations[0]: part.iri})
    found = cascade_of(Problem(Mating(demo), build, wishes))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "SOLVER", "glucose4")
        assert cascade_of(Problem(Mating(demo), build, wishes)) == found
    assert found.knock_ons
