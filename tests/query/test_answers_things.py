"""Show, compare, what differs, what is unproven, which one is it."""

from __future__ import annotations

import pytest
from knockon.query.answers.ground import NoAnswer
from knockon.query.conversation import Conversation
from knockon.query.desk import Desk
from knockon.query.report import Report

from .desks import asking, told


def test_a_part_is_shown_with_ends_values_sources_and_standings(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("show TH-30")
    table = report.sections[-1].table
    assert table is not None
    assert ("", "circle diameter", "120 mm", "tiny drawings, documented") in [
        row.cells for row in table.rows
    ]
    assert all(row.about is not None for row in table.rows)


@pytest.mark.parametrize(
    ("question", "words"),
    [
        ("show hub", "TH-27"),
        ("show Tiny T1 light", "half-shaft"),
        ("show Tiny T1", "Tiny T1 light"),
        ("show light-hub", "TH-27"),
        ("show hub on Tiny T1 light", "light hub (TH-27)"),
        ("show TH-30 on Tiny T1 light", "light hub (TH-27) sits there now"),
    ],
)
def test_whatever_has_a_name_can_be_shown(tiny_desk: Desk, question: str, words: str) -> None:
    assert words in told(asking(tiny_desk)(question))


def test_both_values_of_a_dispute_are_shown_and_marked(doubtful_desk: Desk) -> None:
    table = asking(doubtful_desk)("show TW-122").sections[-1].table
    assert table is not None
    disputed = [row for row in table.rows if row.marked]
    assert {row.cells[2] for row in disputed} == {"72.6 mm", "70 mm"}


def test_compared_values_are_marked_where_they_differ(tiny_desk: Desk) -> None:
    table = asking(tiny_desk)("compare TH-27 with TH-30").sections[0].table
    assert table is not None
    marked = {row.cells[1]: row.marked for row in table.rows}
    assert marked["number of teeth"]
    assert marked["circle diameter"]
    assert not marked["module"]


def test_cars_are_compared_station_by_station(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("compare Tiny T1 light with Tiny T1 light")
    assert "differ at 0 of 3 stations" in report.summary


def test_things_of_different_sorts_are_not_compared(tiny_desk: Desk) -> None:
    with pytest.raises(NoAnswer):
        tiny_desk.ask("compare TH-27 with Tiny T1 light")


def test_what_differs_names_the_end_and_both_values(tiny_desk: Desk) -> None:
    talk = Conversation()
    tiny_desk.ask("let other be Tiny T1 light with HD hub", talk=talk)
    report = tiny_desk.ask("what differs between Tiny T1 light and other?", talk=talk)
    assert isinstance(report, Report)
    assert "differ at 1 station" in report.summary
    assert any("100 mm against 120 mm" in line for line in report.sections[1].lines)


def test_the_same_car_twice_does_not_differ(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("what differs between Tiny T1 light and Tiny T1?")
    assert "the same parts" in report.summary


def test_what_is_unproven_says_what_to_measure_and_what_hangs_on_it(doubtful_desk: Desk) -> None:
    report = asking(doubtful_desk)("what is unproven about TW-121?")
    assert report.holds is None
    table = report.sections[0].table
    assert table is not None
    part, value, why, how, questions, builds, pairings = table.rows[0].cells
    assert part == "TW-121"
    assert "pilot" in str(value)
    assert why == "not stated"
    assert how
    assert (questions, builds, pairings) == (0, 0, 1)


def test_a_dispute_is_unproven_with_both_values(doubtful_desk: Desk) -> None:
    report = asking(doubtful_desk)("what is unproven about disputed wheel?")
    assert "sources differ: 72.6 mm or 70 mm" in told(report) or "70 mm or 72.6 mm" in told(report)


def test_nothing_is_unproven_about_a_car_as_it_left_the_works(doubtful_desk: Desk) -> None:
    assert asking(doubtful_desk)("what is unproven about Tiny T1 light?").holds is True


@pytest.mark.parametrize("thing", ["wheel", "wheel-121", "Tiny T1"])
def test_stations_families_and_generations_can_be_unproven_too(
    doubtful_desk: Desk, thing: str
) -> None:
    assert asking(doubtful_desk)(f"what is unproven about {thing}?").kind == "unproven"


def test_lookalikes_are_told_apart_by_what_is_counted(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("how do I tell TH-27 from TH-30?")
    assert report.holds is True
    table = report.sections[0].table
    assert table is not None
    assert table.rows[0].cells[1:3] == ("27", "30")


def test_a_part_and_itself_cannot_be_told_apart(tiny_desk: Desk) -> None:
    assert asking(tiny_desk)("how do I tell TH-27 from TH-27?").holds is False


def test_a_count_identifies_the_hub(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("identify hub with 27 teeth")
    assert report.holds is True
    assert "light hub (TH-27)" in report.summary


def test_a_measure_that_nothing_has_leaves_nothing_and_says_why(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("identify hub with 28 teeth")
    assert report.holds is False
    assert "nearest" in told(report)


def test_what_does_not_tell_them_apart_leaves_both_and_says_where_to_look(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("identify hub with 5 bolts")
    assert report.holds is None
    assert "Look next at" in report.summary


def test_a_feature_nobody_knows_gets_the_nearest(tiny_desk: Desk) -> None:
    with pytest.raises(NoAnswer) as caught:
        tiny_desk.ask("identify hub with 27 teath")
    assert caught.value.problem.nearest


def test_words_that_only_one_name_has_are_enough(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("identify hub with circle 120 mm")
    assert report.holds is True
    assert "circle diameter of the hub-face" in told(report)


def test_words_that_several_names_have_are_asked_back(tiny_desk: Desk) -> None:
    with pytest.raises(NoAnswer) as caught:
        tiny_desk.ask("identify hub with number 5")
    assert caught.value.problem.nearest
