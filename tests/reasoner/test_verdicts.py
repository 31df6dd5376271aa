"""Verdicts are exactly what the definitions say, on every small catalogue that is drawn."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from knockon.reasoner.cascade import find_cascade
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Wishes
from knockon.reasoner.verdicts import Search, Verdict, find_verdicts, reasons_against

from .small import SmallCase, irredundant_ways, small_cases, verdicts_by_definition, workable_builds

calm = settings(
    max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


@pytest.mark.parametrize("strict", [False, True], ids=["kindly", "strictly"])
@calm
@given(case=small_cases())
def test_verdicts_are_those_of_looking_at_every_build(strict: bool, case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    found = find_verdicts(problem, strict=strict)
    expected = verdicts_by_definition(case, strict=strict)
    assert found.workable == (expected is not None)
    assert found.verdicts == (expected or {})
    if expected is not None:
        assert set(found.ways) == irredundant_ways(case, strict=strict)


@calm
@given(case=small_cases())
def test_verdicts_do_not_depend_on_how_many_ways_are_listed(case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    assert find_verdicts(problem, most_ways=1).verdicts == find_verdicts(problem).verdicts


@calm
@given(case=small_cases())
def test_options_are_what_some_irredundant_plan_holds(case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    found = find_verdicts(problem)
    ways = irredundant_ways(case, strict=False)
    expected: dict[str, set[str | None]] = {}
    for plan in workable_builds(case, strict=False):
        changed = frozenset(s for s, p in plan.items() if p != case.build.fits[s])
        if changed in ways:
            for station in changed:
                expected.setdefault(station, set()).add(plan[station])
    assert {s: set(o) for s, o in (found.options or {}).items()} == expected


@calm
@given(case=small_cases())
def test_a_wish_dropped_never_loses_a_plan(case: SmallCase) -> None:
    freer = SmallCase(case.catalogue, case.build, Wishes(case.wishes.fits, ()))
    bound = [tuple(sorted(p.items(), key=str)) for p in workable_builds(case, strict=False)]
    free = [tuple(sorted(p.items(), key=str)) for p in workable_builds(freer, strict=False)]
    assert set(bound) <= set(free)
    mating = Mating(case.catalogue)
    if find_verdicts(Problem(mating, case.build, case.wishes)).workable:
        assert find_verdicts(Problem(mating, case.build, freer.wishes)).workable


@calm
@given(case=small_cases())
def test_reasons_for_a_must_are_enough_and_none_can_be_spared(case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    verdicts = find_verdicts(problem).verdicts
    with Search(problem, strict=False) as search:
        for station, verdict in verdicts.items():
            if verdict is not Verdict.MUST:
                continue
            keep = [problem.kept(station)]
            switches = [problem.groups[r] for r in reasons_against(search, keep)]
            assert not search.feasible(switches, keep)
            for spared in switches:
                assert search.feasible([s for s in switches if s != spared], keep)


@calm
@given(case=small_cases())
def test_every_must_and_choice_has_a_chain(case: SmallCase) -> None:
    cascade = find_cascade(Mating(case.catalogue), case.build, case.wishes)
    for knock_on in cascade.knock_ons:
        if knock_on.verdict is Verdict.KEEPS:
            assert not knock_on.chains
        else:
            assert knock_on.chains
            assert all(chain.steps for chain in knock_on.chains)
    if not cascade.workable:
        assert cascade.conflict


@calm
@given(case=small_cases())
def test_a_check_tells_exactly_which_verdicts_turn_if_it_comes_out_badly(case: SmallCase) -> None:
    cascade = find_cascade(Mating(case.catalogue), case.build, case.wishes)
    kindly = verdicts_by_definition(case, strict=False)
    for check in cascade.checks:
        badly = verdicts_by_definition(case, strict=False, refuted=frozenset({check.joint}))
        assert check.ends_it == (badly is None)
        assert kindly is not None
        turned = {s: v for s, v in (badly or {}).items() if v is not kindly[s]}
        assert {turn.station: turn.then for turn in check.turns} == turned


@calm
@given(case=small_cases())
def test_every_unproven_joint_that_turns_a_verdict_is_a_check(case: SmallCase) -> None:
    cascade = find_cascade(Mating(case.catalogue), case.build, case.wishes)
    if not cascade.workable:
        return
    kindly = verdicts_by_definition(case, strict=False)
    for joint in case.catalogue.joints:
        badly = verdicts_by_definition(case, strict=False, refuted=frozenset({joint}))
        if badly != kindly:
            assert joint in {check.joint for check in cascade.checks}
