"""Plans are the best there are, differ in kind, and say what a workshop must know."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner.mating import Mating
from knockon.reasoner.plans import USUAL_ORDER, Aim, Plan, complete_plan, find_plans
from knockon.reasoner.problem import Problem

from .small import SmallCase, priced, small_cases, workable_builds

calm = settings(
    max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


def _all_figures(case: SmallCase, problem: Problem) -> list[Plan]:
    """Every workable build as a plan, with the cheapest set of operations found by trial."""
    return [
        complete_plan(problem, plan, (), optimal=True)
        for plan in workable_builds(case, strict=False)
    ]


@calm
@given(case=small_cases(stations=4), order=st.permutations(list(Aim)))
def test_the_first_plan_is_the_best_of_all_in_the_stated_order(
    case: SmallCase, order: list[Aim]
) -> None:
    case = priced(case)
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    plans = find_plans(problem, most=1, order=order)
    every = _all_figures(case, problem)
    assert bool(plans) == bool(every)
    if plans:
        best = min(tuple(p.figure(aim) for aim in order) for p in every)
        assert tuple(plans[0].figure(aim) for aim in order) == best
        assert plans[0].optimal


@calm
@given(case=small_cases(stations=4))
def test_plans_are_workable_and_get_no_better_further_down(case: SmallCase) -> None:
    case = priced(case)
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    plans = find_plans(problem)
    workable = list(workable_builds(case, strict=False))
    assert all(plan.fits in workable for plan in plans)
    figures = [tuple(plan.figure(aim) for aim in USUAL_ORDER) for plan in plans]
    assert figures == sorted(figures)


@calm
@given(case=small_cases(stations=4))
def test_no_plan_contains_all_an_earlier_plan_newly_fits(case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    fitted = [
        {(p.station, p.part) for p in plan.parts if p.station not in case.wishes.fits}
        for plan in find_plans(problem)
    ]
    for at, later in enumerate(fitted):
        assert not any(earlier <= later for earlier in fitted[:at])


@calm
@given(case=small_cases(stations=4))
def test_the_same_question_gets_the_same_plans(case: SmallCase) -> None:
    first = find_plans(Problem(Mating(case.catalogue), case.build, case.wishes))
    again = find_plans(Problem(Mating(case.catalogue), case.build, case.wishes))
    assert first == again
