"""The fewest changes by sets of parts are those of a solver over every part; reasons against hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from knockon.benchmarks.catalogues import Size, questions, write
from knockon.reasoner.build import stock_build
from knockon.reasoner.fewest import fewest, why_not, why_not_like
from knockon.reasoner.least_change import least_change
from knockon.reasoner.load import load_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Reason, ReasonKind, Wishes
from knockon.reasoner.verdicts import Search
from knockon.reasoner.where_fits import Fits, where_fits

from .small import SmallCase, small_cases
from .test_neighbourhood import looks_everything_up as looks_everything_up


def by_solver(whole: Problem) -> tuple[frozenset[str] | None, ...]:
    found = []
    for strict in (False, True):
        with Search(whole, strict=strict) as search:
            found.append(least_change(search))
    return tuple(found)


def leave_none(whole: Problem, reasons: Sequence[Reason]) -> bool:
    """Whether reasons leave no plan; that something is unproven says that it must surely fit."""
    with Search(whole, strict=True) as search:
        oracle, atoms = search.oracle, 0
        for reason in reasons:
            atoms |= oracle.reason(reason)
            if reason.kind is ReasonKind.UNPROVEN:
                atoms |= oracle.reason(Reason(ReasonKind.JOINT, reason.subject))
        return oracle.find(atoms) is None


def assert_same(mating: Mating, whole: Problem) -> tuple[Reason, ...]:
    """The fewest are the same, and all reasons against it hold and are needed; those of a kindly
    reading."""
    build, wishes = whole.build, whole.wishes
    found = fewest(mating, build, wishes)
    assert found == by_solver(whole)
    against: tuple[Reason, ...] = ()
    for strict, least in enumerate(found):
        if least is not None or wishes.only_proven:
            continue
        reasons = why_not(mating, build, wishes, strict=bool(strict))
        assert leave_none(whole, reasons)
        for reason in reasons:
            assert not leave_none(whole, [other for other in reasons if other != reason])
        against = against or (reasons if not strict else ())
    return against


@pytest.mark.usefixtures("looks_everything_up")
@given(case=small_cases())
@settings(
    max_examples=200,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_the_fewest_of_small_cars_are_those_of_a_solver(case: SmallCase) -> None:
    mating = Mating(case.catalogue)
    wishes = replace(case.wishes, budget=None, hours=None)
    assert_same(mating, Problem(mating, case.build, wishes, whole=True))


def test_the_fewest_over_a_catalogue_are_those_of_a_solver(tmp_path: Path) -> None:
    size = Size(600, 10)
    write(size, tmp_path / "data")
    catalogue = load_catalogue(tmp_path / "data", tmp_path / "cache")
    mating, unworkable = Mating(catalogue), 0
    for question in questions(size, 30):
        part, station, car = question.iris
        build, wishes = stock_build(catalogue, catalogue.cars[car]), Wishes({station: part})
        against = assert_same(mating, Problem(mating, build, wishes, whole=True))
        if against:
            unworkable += 1
            more = (*against, Reason(ReasonKind.JOINT, next(iter(catalogue.joints))))
            assert why_not_like(mating, build, wishes, more) == against
    assert unworkable > 3


def test_reasons_told_car_by_car_hold_of_each(tmp_path: Path) -> None:
    size = Size(600, 10)
    write(size, tmp_path / "data")
    catalogue = load_catalogue(tmp_path / "data", tmp_path / "cache")
    mating, told = Mating(catalogue), 0
    for question in questions(size, 3):
        part, _, _ = question.iris
        for fitment in where_fits(mating, part):
            if fitment.fits is not Fits.NOT_AT_ALL:
                continue
            build = stock_build(catalogue, catalogue.cars[fitment.car])
            whole = Problem(mating, build, Wishes({fitment.station: part}), whole=True)
            assert leave_none(whole, fitment.why_not)
            told += 1
            for reason in fitment.why_not:
                left = [other for other in fitment.why_not if other != reason]
                assert not leave_none(whole, left)
    assert told > 10
