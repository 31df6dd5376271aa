"""What may be taken, and what is left after a choice, is what looking at every build finds."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner.mating import Mating
from knockon.reasoner.network import Network
from knockon.reasoner.options import Options
from knockon.reasoner.problem import Problem
from knockon.reasoner.verdicts import Search, read_verdicts

from .small import SmallCase, priced, small_cases, workable_builds

calm = settings(
    max_examples=80, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
Clause = dict[str, int]


@st.composite
def networks(draw: st.DrawFn) -> tuple[dict[str, int], list[Clause]]:
    """A few stations, what each may take, and clauses on one to three of them."""
    domains = {
        f"s{at}": (1 << draw(st.integers(1, 4))) - 1 for at in range(draw(st.integers(1, 5)))
    }
    clause = st.dictionaries(
        st.sampled_from(sorted(domains)), st.integers(0, 15), min_size=1, max_size=3
    )
    return domains, draw(st.lists(clause, max_size=8))


def solutions(domains: dict[str, int], clauses: list[Clause]) -> list[dict[str, int]]:
    """Every choice of one part each that fulfils all clauses."""
    parts = [[1 << at for at in range(4) if d >> at & 1] for d in domains.values()]
    choices = (dict(zip(domains, choice, strict=True)) for choice in product(*parts))
    return [c for c in choices if all(any(c[s] & p for s, p in each.items()) for each in clauses)]


def together(domains: dict[str, int], found: list[dict[str, int]]) -> dict[str, int]:
    """What each station takes in some of the solutions."""
    return {s: sum({solution[s] for solution in found}) for s in domains}


@settings(max_examples=150, deadline=None, derandomize=True)
@given(drawn=networks())
def test_a_network_leaves_exactly_what_some_solution_takes(
    drawn: tuple[dict[str, int], list[Clause]],
) -> None:
    domains, clauses = drawn
    all_of_them = solutions(domains, clauses)
    if not all_of_them:
        return
    network = Network(domains, clauses)
    assert network.domains == together(domains, all_of_them)
    for station, parts in network.domains.items():
        for part in (1 << at for at in range(4) if parts >> at & 1):
            with_it = [s for s in all_of_them if s[station] == part]
            assert network.left(station, part) == together(domains, with_it)


@st.composite
def cases(draw: st.DrawFn) -> SmallCase:
    """With prices; some customers have a purse."""
    case = priced(draw(small_cases(stations=4)))
    budget = draw(st.none() | st.integers(20, 120).map(Decimal))
    return replace(case, wishes=replace(case.wishes, budget=budget))


@calm
@given(case=cases())
def test_what_a_choice_leaves_is_what_the_builds_with_it_have(case: SmallCase) -> None:
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    fits = case.build.fits
    with Search(problem, strict=False) as search:
        found = read_verdicts(search.oracle, search.reading)
        options = Options(search.oracle, search.reading, found.ways)
        for way in found.ways:
            builds = [
                plan
                for plan in workable_builds(case, strict=False)
                if {s for s, p in plan.items() if p != fits[s]} == way
            ]
            within = options.within(way)
            for station, parts in options.of(way).items():
                assert set(parts) == {plan[station] for plan in builds}
                for part in parts:
                    chosen = [plan for plan in builds if plan[station] == part]
                    bit = 1 << problem.domains[station].index(part)
                    left = options.named(within.left(station, bit))
                    assert {s: set(p) for s, p in left.items()} == {
                        s: {plan[s] for plan in chosen} for s in way
                    }
