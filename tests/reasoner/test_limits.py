"""Limits on money and refusals of parts hold exactly, and can be given up."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import count, product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner.conflict import find_conflict
from knockon.reasoner.mating import Mating
from knockon.reasoner.plans import find_plans
from knockon.reasoner.problem import Ban, Problem, ReasonKind
from knockon.reasoner.sums import at_most
from knockon.reasoner.verdicts import find_verdicts
from pysat.solvers import Solver

from .small import SmallCase, irredundant_ways, priced, small_cases, verdicts_by_definition

calm = settings(
    max_examples=100, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


@st.composite
def limited_cases(draw: st.DrawFn) -> SmallCase:
    """A customer with a purse, who will not have some parts."""
    case = priced(draw(small_cases(stations=4)))
    others = sorted(set(case.catalogue.parts) - set(case.wishes.fits.values()))
    refused = draw(st.sets(st.sampled_from(others), max_size=2))
    budget = Decimal(draw(st.integers(0, 120)))
    bans = (Ban("none of those", frozenset(refused)),)
    return replace(case, wishes=replace(case.wishes, budget=budget, bans=bans))


@calm
@given(case=limited_cases())
def test_verdicts_within_a_budget_are_those_of_looking_at_every_build(case: SmallCase) -> None:
    found = find_verdicts(Problem(Mating(case.catalogue), case.build, case.wishes))
    expected = verdicts_by_definition(case, strict=False)
    assert found.workable == (expected is not None)
    assert found.verdicts == (expected or {})
    if expected is not None:
        assert set(found.ways) == irredundant_ways(case, strict=False)


@calm
@given(case=limited_cases())
def test_no_plan_costs_more_than_the_budget(case: SmallCase) -> None:
    plans = find_plans(Problem(Mating(case.catalogue), case.build, case.wishes), most=3)
    assert case.wishes.budget is not None
    assert all(plan.cost <= case.wishes.budget for plan in plans)


@calm
@given(case=limited_cases())
def test_a_limit_that_rules_everything_out_is_among_what_to_drop(case: SmallCase) -> None:
    mating = Mating(case.catalogue)
    free = replace(case.wishes, budget=None, bans=())
    if not find_verdicts(Problem(mating, case.build, free)).workable:
        return
    problem = Problem(mating, case.build, case.wishes)
    if find_verdicts(problem).workable:
        return
    releases = find_conflict(problem).releases
    assert any(r.kind is ReasonKind.LIMIT for release in releases for r in release.wishes)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    weights=st.lists(st.lists(st.integers(1, 40), min_size=1, max_size=3), min_size=1, max_size=4),
    most=st.integers(0, 90),
)
def test_a_sum_as_clauses_is_the_sum(weights: list[list[int]], most: int) -> None:
    fresh = count(1)
    numbers = [[(next(fresh), weight) for weight in number] for number in weights]
    clauses = list(at_most(numbers, most, lambda: next(fresh)))
    with Solver(name="glucose4", bootstrap_with=clauses) as solver:
        for choice in product(*([None, *number] for number in numbers)):
            chosen = {term[0] for term in choice if term}
            total = sum(term[1] for term in choice if term)
            literals = [v if v in chosen else -v for number in numbers for v, _ in number]
            assert solver.solve(assumptions=literals) == (total <= most)
