"""Reasons for everything: those found among the parts in question hold against all others too."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from knockon.benchmarks.catalogues import Size, questions, write
from knockon.reasoner.build import stock_build
from knockon.reasoner.cascade import cascade_of, explain_fully
from knockon.reasoner.load import load_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Reason, Wishes
from knockon.reasoner.verdicts import Search, Verdict

from .small import SmallCase, small_cases
from .test_neighbourhood import looks_everything_up as looks_everything_up


def holds(whole: Problem, reasons: Iterable[Reason], keeping: Iterable[str] = ()) -> bool:
    """Whether nothing at all works where all the reasons count and some stations keep theirs."""
    with Search(whole, strict=False) as search:
        oracle = search.oracle
        atoms = sum({oracle.reason(reason) for reason in reasons})
        return oracle.find(atoms | oracle.keeping(keeping)) is None


def assert_all_hold(near: Problem, whole: Problem) -> tuple[int, int]:
    """All full chains and the conflict hold of all parts; how many of the quick chains do not."""
    cascade, false, count = cascade_of(near), 0, 0
    if cascade.conflict is not None:
        reasons = cascade.conflict.reasons
        if near.is_told_of_all:
            assert holds(whole, reasons)
            for reason in reasons:
                assert not holds(whole, [other for other in reasons if other != reason])
        return 0, 0
    for knock_on in cascade.knock_ons:
        if not knock_on.chains:
            continue
        held: list[str] = []
        if knock_on.verdict is Verdict.CHOICE:
            way = next(w.stations for w in cascade.ways if knock_on.station in w.stations)
            held = [s for s in near.build.fits if s not in way]
        keeping = [knock_on.station, *held]
        for chain in knock_on.chains:
            count += 1
            false += not holds(whole, (step.reason for step in chain.steps), keeping)
        for chain in explain_fully(near, cascade, knock_on.station):
            assert holds(whole, (step.reason for step in chain.steps), keeping)
    return false, count


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


def test_reasons_told_quickly_say_so_and_full_ones_hold_against_every_part(tmp_path: Path) -> None:
    size = Size(600, 10)
    write(size, tmp_path / "data")
    catalogue = load_catalogue(tmp_path / "data", tmp_path / "cache")
    mating = Mating(catalogue)
    told = []
    for question in questions(size, 16):
        part, station, car = question.iris
        build, wishes = stock_build(catalogue, catalogue.cars[car]), Wishes({station: part})
        near = Problem(mating, build, wishes)
        cascade = cascade_of(near)
        # Where nothing works, the reasons are those of all parts; else they say that they are not.
        assert cascade.workable == (0 < cascade.reasons_among < len(catalogue.parts))
        told.append(assert_all_hold(near, Problem(mating, build, wishes, whole=True)))
    false, count = map(sum, zip(*told, strict=True))
    assert 0 < false < count / 2  # this is why they say so
