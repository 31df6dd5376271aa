"""Does it fit, what fits, where does it fit, which needs least: yes, no and nobody knows."""

from __future__ import annotations

import pytest
from knockon.query.desk import Desk
from knockon.query.errors import NotOnCar, QueryError

from .desks import asking, told


def cells(desk: Desk, question: str, section: int = 0) -> list[tuple[object, ...]]:
    table = asking(desk)(question).sections[section].table
    assert table is not None
    return [row.cells for row in table.rows]


def test_a_part_that_drags_others_fits_with_changes_and_says_which(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("does HD hub fit Tiny T1 light?")
    assert report.holds is True
    assert "at least 2 other stations change" in report.summary
    rows = cells(tiny_desk, "does HD hub fit Tiny T1 light?")
    assert [row[0] for row in rows] == ["half-shaft", "wheel"]
    assert {row[1] for row in rows} == {"must"}


def test_a_part_that_is_there_already_fits(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("does light hub fit Tiny T1 light?")
    assert report.holds is True
    assert "already" in report.summary


def test_a_kept_wheel_makes_it_no_and_the_smallest_conflict_is_named(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("does HD hub fit Tiny T1 light keeping the wheel?")
    assert report.holds is False
    lines = report.sections[0].lines
    assert [line for line in lines if line.startswith("•")] == [
        "• fit HD hub as hub",
        "• hub face ↔ wheel must mate",
        "• keep the wheel (small wheel)",
    ]
    assert any("drop “keep the wheel" in line for line in lines)


def test_a_wheel_nobody_measured_is_a_perhaps_with_what_to_measure(doubtful_desk: Desk) -> None:
    # The HD hub can take the big wheel instead, so the question is of the unmeasured one.
    report = asking(doubtful_desk)("does unmeasured wheel fit Tiny T1 light?")
    assert report.holds is None
    assert report.summary.startswith("Perhaps")
    assert any("pilot" in line for section in report.sections for line in section.lines)


def test_what_fits_is_in_order_of_what_it_takes(doubtful_desk: Desk) -> None:
    rows = cells(doubtful_desk, "what fits wheel on Tiny T1 light?")
    found = [(row[0], row[2]) for row in rows]
    assert found[0] == ("TW-100", "there now")
    assert found[1] == ("TW-120", "with 2 changes")
    assert {number for number, how in found[2:]} == {"TW-121", "TW-122"}
    assert all(str(how).startswith("unproven") for _, how in found[2:])


def test_a_superseded_part_is_not_offered(doubtful_desk: Desk) -> None:
    assert "TW-90" not in told(asking(doubtful_desk)("what fits wheel on Tiny T1 light?"))


def test_what_fits_leaves_out_what_the_customer_refuses(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("what fits hub on Tiny T1 light without HD hub?")
    assert "TH-30" not in told(report)


def test_where_a_part_fits_is_told_car_by_car(tiny_desk: Desk) -> None:
    assert cells(tiny_desk, "where does HD hub fit?") == [
        ("Tiny T1 light", "hub", "with changes", "half-shaft and wheel")
    ]


def test_the_part_that_changes_least_comes_first(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("which hub needs the least change across Tiny T1 light?")
    assert report.holds is True
    table = report.sections[0].table
    assert table is not None
    assert [(row.cells[0], row.cells[2], row.marked) for row in table.rows] == [
        ("TH-27", "0", True),
        ("TH-30", "2", False),
    ]


def test_a_part_of_many_is_asked_which(doubtful_desk: Desk) -> None:
    with pytest.raises(QueryError):
        doubtful_desk.ask("does wheel fit Tiny T1 light?")


def test_a_station_the_part_does_not_sit_at_is_refused(tiny_desk: Desk) -> None:
    with pytest.raises(NotOnCar):
        tiny_desk.ask("does HD hub fit Tiny T1 light at wheel?")


def test_a_family_stands_for_its_only_part_that_is_still_made(doubtful_desk: Desk) -> None:
    report = asking(doubtful_desk)("where does wheel-100 fit?")
    assert "small wheel (TW-100)" in report.summary
