"""A conflict is as small as can be, and what to drop is as little as can be."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from knockon.reasoner.conflict import find_conflict
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, ReasonKind
from knockon.reasoner.verdicts import Search

from .small import SmallCase, small_cases

calm = settings(
    max_examples=100,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
WISHES = (ReasonKind.FIT, ReasonKind.KEEP, ReasonKind.LIMIT)


@st.composite
def stubborn_cases(draw: st.DrawFn) -> SmallCase:
    """A customer who wants to keep a good deal."""
    case = draw(small_cases(stations=4))
    others = [s for s in case.build.fits if s not in case.wishes.fits]
    keeps = draw(st.sets(st.sampled_from(others), min_size=1))
    return replace(case, wishes=replace(case.wishes, keeps=tuple(sorted(keeps))))


def _hopeless(case: SmallCase) -> Problem:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    with Search(problem, strict=False) as search:
        assume(search.solve() is None)
    return problem


@calm
@given(case=stubborn_cases())
def test_no_smaller_set_of_reasons_is_a_conflict(case: SmallCase) -> None:
    problem = _hopeless(case)
    conflict = find_conflict(problem)
    assert conflict.smallest
    with Search(problem, strict=False) as search:
        assert not search.feasible([problem.groups[r] for r in conflict.reasons], ())
        for smaller in combinations(search.base, len(conflict.reasons) - 1):
            assert search.feasible(smaller, ())


@calm
@given(case=stubborn_cases())
def test_releases_are_all_the_smallest_sets_of_wishes_to_drop(case: SmallCase) -> None:
    problem = _hopeless(case)
    found = {frozenset(r.wishes) for r in find_conflict(problem, most_releases=100).releases}
    wishes = [r for r in problem.groups if r.kind in WISHES]
    with Search(problem, strict=False) as search:

        def opens(dropped: frozenset[object]) -> bool:
            kept = [s for s in search.base if problem.reason_of(s) not in dropped]
            return search.feasible(kept, ())

        every = [frozenset(d) for n in range(1, len(wishes) + 1) for d in combinations(wishes, n)]
        opening = [d for d in every if opens(d)]
    assert found == {d for d in opening if not any(o < d for o in opening)}


@calm
@given(case=stubborn_cases())
def test_what_a_release_opens_keeps_every_other_wish(case: SmallCase) -> None:
    problem = _hopeless(case)
    for release in find_conflict(problem).releases:
        dropped = {r.subject for r in release.wishes if r.kind is ReasonKind.KEEP}
        assert not release.way & (set(case.wishes.keeps) - dropped)
