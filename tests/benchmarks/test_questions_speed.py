"""How long questions take, warm, in process. Run with --benchmark-enable --benchmark-only."""

from __future__ import annotations

import pytest
from knockon.query.desk import Desk
from knockon.reasoner.cascade import find_cascade
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.plans import find_plans
from knockon.reasoner.problem import Problem, Wishes
from knockon.reasoner.verdicts import find_verdicts
from pytest_benchmark.fixture import BenchmarkFixture

from .synthetic import synthetic

HEADLINE = "what else must change if I fit HD rear hub to Wether W2 late?"
SIZES = [(60, 40), (100, 100)]


@pytest.fixture(scope="module")
def desk(demo: Catalogue) -> Desk:
    desk = Desk(demo)
    desk.ask(HEADLINE)
    return desk


def test_headline_verdicts_with_reasons(benchmark: BenchmarkFixture, desk: Desk) -> None:
    assert benchmark(desk.ask, HEADLINE, plans=0).workable


def test_headline_with_five_plans(benchmark: BenchmarkFixture, desk: Desk) -> None:
    assert benchmark(desk.ask, HEADLINE, plans=5).plans


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_verdicts_on_a_synthetic_car(benchmark: BenchmarkFixture, size: tuple[int, int]) -> None:
    catalogue, build = synthetic(*size)
    mating = Mating(catalogue)
    wishes = Wishes({"s010": "s010-p001"})

    def verdicts() -> bool:
        return find_verdicts(Problem(mating, build, wishes)).workable

    assert benchmark(verdicts)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_cascade_on_a_synthetic_car(benchmark: BenchmarkFixture, size: tuple[int, int]) -> None:
    catalogue, build = synthetic(*size)
    mating = Mating(catalogue)
    wishes = Wishes({"s010": "s010-p001"})
    assert benchmark(find_cascade, mating, build, wishes).workable


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_best_plan_on_a_synthetic_car(benchmark: BenchmarkFixture, size: tuple[int, int]) -> None:
    catalogue, build = synthetic(*size)
    mating = Mating(catalogue)
    wishes = Wishes({"s010": "s010-p001"})

    def best() -> bool:
        return bool(find_plans(Problem(mating, build, wishes), most=1))

    assert benchmark.pedantic(best, rounds=3)
