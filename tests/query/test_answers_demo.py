"""Questions of the counter on the invented Ostrel cars, worked out from the drawings by hand."""

from __future__ import annotations

import pytest
from knockon.query.answer import Answer
from knockon.query.conversation import Conversation
from knockon.query.desk import Desk
from knockon.query.report import Report

from .desks import asking, told


def column(report: Report, at: int = 0, section: int = 0) -> list[object]:
    table = report.sections[section].table
    assert table is not None
    return [row.cells[at] for row in table.rows]


def test_the_hd_hub_fits_a_light_car_with_the_whole_corner(demo_desk: Desk) -> None:
    report = asking(demo_desk)("does HD rear hub fit Wether W2 late?")
    assert report.holds is True
    assert set(column(report)) >= {
        "rear backing plate", "parking brake", "parking brake shoes", "rear half-shaft",
        "rear rotor", "rear calliper", "rear wheel",
    }  # fmt: skip


def test_the_hd_hub_and_the_later_narrow_car_share_a_spline(demo_desk: Desk) -> None:
    # From W3 on the light hub has the 30-tooth spline and the 114.3 circle too.
    report = asking(demo_desk)("does OW-42310 fit Wether W3 narrow?")
    assert report.holds is True
    assert "as it is" in report.summary


def test_the_large_calliper_does_not_go_under_fifteen_inch_wheels(demo_desk: Desk) -> None:
    report = asking(demo_desk)("does OW-44140 fit Wether W2 late with at most 15-inch wheels?")
    assert report.holds is False
    assert any("15 in" in line for line in report.sections[0].lines)


def test_a_wide_half_shaft_is_too_long_for_the_narrow_car(demo_desk: Desk) -> None:
    report = asking(demo_desk)("does OW-43748 fit Wether W3 narrow?")
    assert column(report) == ["rear knuckle"]


def test_what_looks_the_same_but_has_not_been_tried_is_a_perhaps(demo_desk: Desk) -> None:
    report = asking(demo_desk)("does BR-29011 fit Wether W2 late?")
    assert report.holds is None
    assert any(section.title == "Check before ordering" for section in report.sections)


def test_the_old_rotor_is_ruled_out_by_hub_face_and_parking_brake(demo_desk: Desk) -> None:
    asked = "why not OW-44210 if I fit OW-42310 to Wether W2 late?"
    report = asking(demo_desk)(asked)
    assert report.holds is False
    joints = {m.joint.label for step in report.sections[0].steps for m in step.meetings}
    assert "rear hub face ↔ rear rotor bolt circle" in joints


def test_unequal_final_drives_are_ten_per_cent_apart(demo_desk: Desk) -> None:
    asked = (
        "what is the centre differential slip on Wether W2 late if I fit HD rear final drive 3.9?"
    )
    report = asking(demo_desk)(asked)
    assert report.holds is False
    assert report.summary.startswith("10.0 %")
    plain = asking(demo_desk)("what is the centre differential slip on Wether W2 late?")
    assert plain.holds is True


def test_a_rear_drive_car_has_no_slip_to_work_out(demo_desk: Desk) -> None:
    report = asking(demo_desk)("what is the centre differential slip on Lanner L1?")
    assert report.holds is None
    assert "has no front final drive" in report.summary


@pytest.mark.parametrize(
    ("question", "answer"),
    [
        # 110 km/h ÷ (3.05 × 668 mm) × 39/11 × 0.78
        ("how fast does the engine turn in fifth at 110 km/h on Wether W2 late?", "2488 rev/min"),
        # 2 × (680 + 62 − 40)
        ("what is the track width on Wether W2 late?", "rear track 1404 mm"),
        # 2 × 0.35 × 4660 N × 95 mm
        ("what is the clutch torque capacity on Wether W2 late?", "310 N·m"),
        # 57.2² × 113 against 38.1² × 120
        ("what is the brake torque split on Wether W2 late?", "68.0 % front"),
    ],
)
def test_sums_come_out_as_on_paper(demo_desk: Desk, question: str, answer: str) -> None:
    assert answer in asking(demo_desk)(question).summary


def test_a_gearbox_is_known_by_its_own_serial_even_against_the_year(demo_desk: Desk) -> None:
    report = asking(demo_desk)("identify gearbox on Wether W2 with serial 45000 and built 2007")
    assert report.holds is True
    assert "early W2 five-speed gearbox (OW-31205)" in report.summary
    assert report.sections[0].title == "Take care"
    assert "set aside" in report.sections[0].lines[0]


def test_hubs_are_told_apart_by_a_chord_with_the_wheel_off(demo_desk: Desk) -> None:
    report = asking(demo_desk)("how do I tell OW-42310 from OW-42112?")
    assert report.holds is True
    assert "chord between studs" in column(report)


def test_disputed_drawings_say_both_values_and_how_to_measure(demo_desk: Desk) -> None:
    report = asking(demo_desk)("what is unproven about BR-4416?")
    assert report.holds is None
    assert "sources differ" in told(report)
    assert "188" in told(report)
    assert "184" in told(report)


def test_other_final_drives_make_the_speedometer_wrong_and_the_plan_says_so(
    demo_desk: Desk,
) -> None:
    answer = demo_desk.ask("what else must change if I fit OW-43182 to Wether W2 early?", plans=1)
    assert isinstance(answer, Answer)
    # 3.545 for 3.9 with the sender at the gearbox: 39/11 ÷ 39/10 = 10/11.
    assert "the speedometer will read 9.1 % low" in answer.plans[0].effects


def test_the_six_speed_goes_further_in_top(demo_desk: Desk) -> None:
    talk = Conversation()
    answer = demo_desk.ask("what else must change if I fit OW-31610 to Wether W2 late?", talk=talk)
    assert isinstance(answer, Answer)
    # 0.74 for 0.78 in top: 2262 × 0.74 / 0.78 rev/min.
    assert any("2146 rev/min (now 2262)" in effect for effect in answer.plans[0].effects)
    kept = demo_desk.ask("and keeping the rear propshaft", talk=talk)
    assert isinstance(kept, Answer)
    assert not kept.workable


@pytest.mark.parametrize(
    "question",
    [
        "show Wether W2",
        "show gearbox on Lanner L1",
        "show HD rear hubs",
        "compare Wether W2 late with Wether W2 HD",
        "what differs between Wether W2 and Wether W2 HD?",
        "what is unproven about Wether W2?",
        "where does OW-43830 fit on Wether W3?",
        "which rear hub needs the least change across Wether W2 late and Wether W3 narrow?",
        "what fits rear hub on Wether W2 late using donor Wether W2 HD?",
    ],
)
def test_the_question_of_a_report_is_the_question_in_full(demo_desk: Desk, question: str) -> None:
    report = asking(demo_desk)(question)
    assert demo_desk.ask(report.question) == report
