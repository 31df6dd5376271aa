"""A value measured at the counter answers the question that hung on it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from knockon.query.answer import Answer
from knockon.query.desk import Desk
from knockon.query.in_hand import MeasuredValue, TriedPair, desk_with
from knockon.reasoner.catalogue import Catalogue, Standing
from knockon.reasoner.measured import (
    MEASURED_HERE,
    Measured,
    NotMeasurable,
    Tried,
    with_findings,
)

from ..conftest import TINY_DATA

SHAFT = "https://knockon.example/end/shaft-30"
HUB = "https://knockon.example/end/hub-30"
QUESTION = "what else must change if I fit HD hub to Tiny T1 light?"


@pytest.fixture(scope="module")
def uncounted(build_tiny: Callable[..., Catalogue]) -> Catalogue:
    """The HD half-shaft, whose teeth nobody has counted."""
    known = (
        "end:shaft-30 a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ; ko:teeth 30 ;"
    )
    assert known in TINY_DATA
    return build_tiny(TINY_DATA.replace(known, known.removesuffix(" ko:teeth 30 ;")))


def asked(desk: Desk) -> Answer:
    answer = desk.ask(QUESTION)
    assert isinstance(answer, Answer)
    return answer


def test_a_check_says_which_end_to_measure_and_how(uncounted: Catalogue) -> None:
    (check,) = asked(Desk(uncounted)).checks
    (wanted,) = check.values
    assert (wanted.end.iri, wanted.part.number) == (SHAFT, "TS-30")
    assert wanted.property.label == "number of teeth"
    assert "chalk" in wanted.how
    assert [end.iri for end in check.offer_up[0].ends] == [SHAFT, HUB]


def test_the_count_that_fits_settles_the_check(uncounted: Catalogue) -> None:
    desk = desk_with(Desk(uncounted), [MeasuredValue(end=SHAFT, quantity="teeth", value="30")], [])
    answer = asked(desk)
    assert answer.strictly_workable
    assert not answer.checks
    assert answer.catalogue != uncounted.version


def test_the_count_that_does_not_fit_leaves_nothing_workable(uncounted: Catalogue) -> None:
    desk = desk_with(Desk(uncounted), [MeasuredValue(end=SHAFT, quantity="teeth", value="29")], [])
    answer = asked(desk)
    assert not answer.workable
    assert answer.conflict is not None


def test_ends_that_were_offered_up_and_fit_settle_the_check(uncounted: Catalogue) -> None:
    answer = asked(desk_with(Desk(uncounted), [], [TriedPair(first=HUB, second=SHAFT)]))
    assert answer.strictly_workable
    assert not answer.checks


def test_the_desk_without_findings_stays_as_it_was(uncounted: Catalogue) -> None:
    desk = Desk(uncounted)
    desk_with(desk, [MeasuredValue(end=SHAFT, quantity="teeth", value="30")], [])
    assert desk_with(desk, [], []) is desk
    assert asked(desk).checks


def test_a_measured_value_says_who_measured_it(tiny: Catalogue) -> None:
    known = with_findings(tiny, [Measured(SHAFT, "teeth", 30)])
    (claim,) = known.ends[SHAFT].claims["teeth"]
    assert claim.sources[0] == MEASURED_HERE
    assert len(claim.sources) == 2, "the drawing says so too"
    assert known.standing(claim.sources) is Standing.MEASURED


def test_the_part_in_hand_sets_the_drawing_aside(tiny: Catalogue) -> None:
    known = with_findings(tiny, [Measured(SHAFT, "teeth", 29)])
    assert [claim.value for claim in known.ends[SHAFT].claims["teeth"]] == [29]
    assert [claim.value for claim in tiny.ends[SHAFT].claims["teeth"]] == [30]


def test_the_same_findings_in_any_order_are_one_version(tiny: Catalogue) -> None:
    one, other = Measured(SHAFT, "teeth", 30), Measured(HUB, "teeth", 30)
    assert with_findings(tiny, [one, other]).version == with_findings(tiny, [other, one]).version
    assert (
        with_findings(tiny, [one]).version != with_findings(tiny, [], [Tried(SHAFT, HUB)]).version
    )


def test_a_length_may_be_measured_in_inches(tiny: Catalogue) -> None:
    wheel = "https://knockon.example/end/wheel-5x120"
    said = MeasuredValue(end=wheel, quantity="circleDiameter", value="4.75", unit="in")
    desk = desk_with(Desk(tiny), [said], [])
    (claim,) = desk.catalogue.ends[wheel].claims["circleDiameter"]
    assert str(claim.value) == "120.650"


@pytest.mark.parametrize(
    ("end", "quantity", "value", "unit", "said"),
    [
        (SHAFT, "teeth", "thirty", "", "is a number"),
        (SHAFT, "teeth", "29.5", "", "whole number"),
        (SHAFT, "module", "NaN", "", "cannot be"),
        (SHAFT, "module", "1", "kg", "told in mm"),
        (SHAFT, "teeths", "30", "", "the nearest is teeth"),
        (SHAFT + "0", "teeth", "30", "", "the nearest is"),
    ],
)
def test_what_cannot_be_measured_is_refused_in_words(
    tiny: Catalogue, end: str, quantity: str, value: str, unit: str, said: str
) -> None:
    found = MeasuredValue(end=end, quantity=quantity, value=value, unit=unit)
    with pytest.raises(NotMeasurable, match=said):
        desk_with(Desk(tiny), [found], [])


def test_two_counts_of_one_spline_are_refused(tiny: Catalogue) -> None:
    with pytest.raises(NotMeasurable, match="two values"):
        with_findings(tiny, [Measured(SHAFT, "teeth", 30), Measured(SHAFT, "teeth", 29)])
