"""What the scout learns of stations that stand in the way holds of the whole catalogue.

A wall is a set of stations, and of joints at which nothing unproven will do: while all of these
stations keep their parts, nothing works. Each is put to a problem of every part there is.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from hypothesis import given, seed, settings
from knockon.reasoner import neighbourhood
from knockon.reasoner.build import stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, Reason, ReasonKind, Wishes
from knockon.reasoner.scouting import Scout
from knockon.reasoner.trial import Trial
from knockon.reasoner.verdicts import Search

from .small import SmallCase, small_cases
from .test_neighbourhood import looks_everything_up as looks_everything_up
from .test_neighbourhood import questions

Told = list[tuple[Trial, int]]


@contextmanager
def walls_told() -> Iterator[Told]:
    """The walls of all scouts that are closed meanwhile."""
    told: Told = []

    class Telling(Scout):
        def close(self) -> None:
            told.extend((self.trial, wall) for wall in self.walls)
            super().close()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(neighbourhood, "Scout", Telling)
        yield told


def assert_all_stand(told: Told, whole: Problem) -> tuple[int, int]:
    """How many walls there are, and how many rest on mistrust."""
    count = mistrusting = 0
    with Search(whole, strict=False) as search:
        oracle = search.oracle
        if oracle.find(oracle.kindly) is None:
            return 0, 0  # then the scouts ask what fewer wishes would do
        for trial, wall in dict.fromkeys(told):
            atoms = oracle.kindly | oracle.keeping(trial.named(wall & trial.every))
            for joint, bit in trial.trust.items():
                if wall & bit:
                    atoms |= oracle.reason(Reason(ReasonKind.UNPROVEN, joint))
                    mistrusting += 1
            assert oracle.find(atoms) is None
            count += 1
    return count, mistrusting


@pytest.mark.usefixtures("looks_everything_up")
def test_walls_of_random_small_cars_stand() -> None:
    walls: list[tuple[int, int]] = []

    @seed(5)
    @settings(max_examples=200, database=None, deadline=None)
    @given(case=small_cases())
    def each(case: SmallCase) -> None:
        mating = Mating(case.catalogue)
        with walls_told() as told:
            Problem(mating, case.build, case.wishes)
        whole = Problem(mating, case.build, case.wishes, whole=True)
        walls.append(assert_all_stand(told, whole))

    each()
    assert sum(count for count, _ in walls) > 100
    assert sum(mistrusting for _, mistrusting in walls) > 30


@pytest.mark.usefixtures("looks_everything_up")
def test_walls_of_the_demo_stand(demo: Catalogue) -> None:
    mating, walls = Mating(demo), 0
    for car, station, part in questions(demo, 83):
        build, wishes = stock_build(demo, demo.cars[car]), Wishes({station: part})
        with walls_told() as told:
            Problem(mating, build, wishes)
        walls += assert_all_stand(told, Problem(mating, build, wishes, whole=True))[0]
    assert walls > 50
