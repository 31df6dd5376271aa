"""Reasons for everything: those found among the parts in question hold against all others too."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from knockon.benchmarks.catalogues import Size, questions, write
from knockon.reasoner import neighbourhood, scouting
from knockon.reasoner.build import stock_build
from knockon.reasoner.cascade import cascade_of
from knockon.reasoner.load import load_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Reason, Wishes
from knockon.reasoner.telling import Chain
from knockon.reasoner.verdicts import Search, Verdict

from .small import SmallCase, small_cases
from .test_neighbourhood import looks_everything_up as looks_everything_up


def holds(whole: Problem, reasons: Iterable[Reason], keeping: Iterable[str] = ()) -> bool:
    """Whether nothing at all works where all the reasons count and some stations keep theirs."""
    with Search(whole, strict=False) as search:
        oracle = search.oracle
        atoms = sum({oracle.reason(reason) for reason in reasons})
        return oracle.find(atoms | oracle.keeping(keeping)) is None


def assert_all_hold(near: Problem, whole: Problem) -> list[Chain]:
    """All chains and the conflict hold of all parts; the chains."""
    cascade, chains = cascade_of(near), list[Chain]()
    if cascade.conflict is not None:
        reasons = cascade.conflict.reasons
        if near.is_told_of_all:
            assert holds(whole, reasons)
            for reason in reasons:
                assert not holds(whole, [other for other in reasons if other != reason])
        return []
    for knock_on in cascade.knock_ons:
        held: list[str] = []
        if knock_on.verdict is Verdict.CHOICE:
            way = next(w.stations for w in cascade.ways if knock_on.station in w.stations)
            held = [s for s in near.build.fits if s not in way]
        for chain in knock_on.chains:
            assert cascade.reasons_among or chain.is_of_all
            keeping = [knock_on.station, *(chain.held if chain.closed else held)]
            if chain.is_of_all:
                assert holds(whole, (step.reason for step in chain.steps), keeping)
            chains.append(chain)
    return chains


@pytest.mark.usefixtures("looks_everything_up")
@given(case=small_cases())
@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_reasons_of_small_cars_hold_against_every_part(case: SmallCase) -> None:
    mating = Mating(case.catalogue)
    near = Problem(mating, case.build, case.wishes)
    assert_all_hold(near, Problem(mating, case.build, case.wishes, whole=True))


@pytest.mark.usefixtures("looks_everything_up")
@given(case=small_cases())
@settings(
    max_examples=100,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_reasons_hold_where_not_all_ways_are_known(case: SmallCase) -> None:
    mating = Mating(case.catalogue)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scouting, "MOST_WAYS", 1)
        patch.setattr(neighbourhood, "MOST_WAYS", 1)
        near = Problem(mating, case.build, case.wishes)
        assert_all_hold(near, Problem(mating, case.build, case.wishes, whole=True))


def test_reasons_over_a_catalogue_hold_against_every_part(tmp_path: Path) -> None:
    size = Size(600, 10)
    write(size, tmp_path / "data")
    catalogue = load_catalogue(tmp_path / "data", tmp_path / "cache")
    mating = Mating(catalogue)
    told: list[Chain] = []
    for question in questions(size, 16):
        part, station, car = question.iris
        build, wishes = stock_build(catalogue, catalogue.cars[car]), Wishes({station: part})
        near = Problem(mating, build, wishes)
        assert near.in_question < len(catalogue.parts) / 2
        assert not cascade_of(near).reasons_among
        told += assert_all_hold(near, Problem(mating, build, wishes, whole=True))
    assert len(told) > 30
    # Nearly all are told step by step.
    assert sum(chain.closed for chain in told) > 0.8 * len(told)


def test_with_a_limit_it_is_said_among_what_reasons_are_told(tmp_path: Path) -> None:
    size = Size(600, 10)
    write(size, tmp_path / "data")
    catalogue = load_catalogue(tmp_path / "data", tmp_path / "cache")
    mating, among = Mating(catalogue), set[int]()
    for question in questions(size, 16):
        part, station, car = question.iris
        build = stock_build(catalogue, catalogue.cars[car])
        wishes = Wishes({station: part}, budget=Decimal(100_000))
        near = Problem(mating, build, wishes)
        cascade = cascade_of(near)
        among.add(cascade.reasons_among)
        assert cascade.reasons_among in (0, near.in_question)
        if cascade.workable:
            assert_all_hold(near, Problem(mating, build, wishes, whole=True))
    assert among > {0}
