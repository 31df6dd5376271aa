"""What nobody has proven is found by sorts of ends as it is by looking at every choice of parts."""

from __future__ import annotations

from itertools import product

import pytest
from knockon.reasoner import doubts
from knockon.reasoner.build import stock_build
from knockon.reasoner.catalogue import Catalogue, Joint, Standing
from knockon.reasoner.doubts import unproven_meetings
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import Mating
from knockon.reasoner.places import PROVEN
from knockon.reasoner.problem import Problem, Wishes
from knockon.reasoner.reasons import Meeting

MOST = 1_500
"""Choices of parts that are looked at one by one."""


def one_by_one(
    problem: Problem, joint: Joint, there: dict[str, tuple[str | None, ...]]
) -> tuple[Meeting, ...]:
    """As `unproven_meetings`, from the meaning of it."""
    found: dict[tuple[str | None, ...], Meeting] = {}
    for choice in product(*(there.get(s, (None,)) for s in joint.stations)):
        stands = zip(joint.stations, choice, strict=True)
        if all(problem.build.fits.get(s) == part for s, part in stands):
            continue
        for mate in problem.mating.meet(joint, [problem.part_of(part) for part in choice]):
            if mate.under(problem.wishes.floor) is Outcome.UNPROVEN:
                found.setdefault(mate.ends, Meeting(choice, mate))
    return tuple(found.values())


def test_every_unproven_meeting_is_found_once_in_order(demo: Catalogue) -> None:
    mating, found, between = Mating(demo), 0, 0
    cars = list(demo.cars.values())[::3]
    for car, floor in product(cars, (PROVEN, Standing.MEASURED)):
        problem = Problem(mating, stock_build(demo, car), Wishes(floor=floor))
        for joint in problem.joints:
            there = {s: tuple(problem.domains[s]) for s in joint.stations if s in problem.domains}
            choices = 1
            for parts in there.values():
                choices *= len(parts)
            if choices <= MOST:
                told, all_ = (
                    unproven_meetings(problem, joint, there),
                    one_by_one(problem, joint, there),
                )
                assert told.meetings == all_[: doubts.MOST]
                assert told.others == len(all_[doubts.MOST :])
                found += len(told.meetings)
                between += sum(bool(joint.via and m.parts[-1]) for m in told.meetings)
    assert found > 20
    assert between


def test_of_very_many_the_first_are_told_and_the_others_counted(
    demo: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    mating, cut = Mating(demo), 0
    for car in list(demo.cars.values())[::9]:
        problem = Problem(mating, stock_build(demo, car), Wishes())
        for joint in problem.joints:
            there = {s: tuple(problem.domains[s]) for s in joint.stations if s in problem.domains}
            all_ = unproven_meetings(problem, joint, there)
            assert not all_.others
            with monkeypatch.context() as patch:
                patch.setattr(doubts, "MOST", 2)
                few = unproven_meetings(problem, joint, there)
            assert few.meetings == all_.meetings[:2]
            assert few.others == len(all_.meetings[2:])
            cut += bool(few.others)
    assert cut
