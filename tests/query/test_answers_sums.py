"""What it works out to, worked out again on paper; and what is said where a fact is missing."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import pi

import pytest
from knockon.query.answer import Answer
from knockon.query.desk import Desk
from knockon.reasoner.build import stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.effects import find_effects
from knockon.reasoner.errors import CatalogueRefused

from . import driveline
from .desks import asking, told

CIRCUMFERENCE = 3.05 * (15 * 25.4 + 2 * 205 * 0.70)
LARGER = 3.05 * (15 * 25.4 + 2 * 235 * 0.75)
WHEEL_PER_KMH = 1e6 / 60 / CIRCUMFERENCE


def first_number(text: str) -> float:
    found = re.search(r"\d+(?:\.\d+)?", text)
    assert found is not None
    return float(found[0])


def test_engine_speed_is_wheel_speed_times_final_drive_times_gear(sums_desk: Desk) -> None:
    question = "how fast does the engine turn in fifth at 110 km/h on Sum S1 light?"
    expected = 110 * WHEEL_PER_KMH * 39 / 11 * 0.8
    assert first_number(asking(sums_desk)(question).summary) == pytest.approx(expected, abs=0.5)


def test_road_speed_undoes_engine_speed(sums_desk: Desk) -> None:
    question = "what road speed is 3000 rpm in fourth on Sum S1 light?"
    expected = 3000 / (WHEEL_PER_KMH * 39 / 11)
    assert first_number(asking(sums_desk)(question).summary) == pytest.approx(expected, abs=0.05)


def test_a_fitted_gearbox_is_compared_with_the_car_as_it_stands(sums_desk: Desk) -> None:
    question = "how fast does the engine turn in fifth at 100 km/h on Sum S1 light if I fit GB-6?"
    report = asking(sums_desk)(question)
    before = next(s for s in report.sections if "as it stands" in s.title)
    ratio = first_number(report.summary) / first_number(before.lines[0])
    assert ratio == pytest.approx(0.9 / 0.8, abs=0.001)


def test_a_shorter_final_drive_makes_the_speedometer_read_high(sums_desk: Desk) -> None:
    question = "what will the speedometer read at 100 km/h on Sum S1 light if I fit RF-39?"
    report = asking(sums_desk)(question)
    assert first_number(report.summary) == 110.0
    assert "10.0 % high" in told(report)


def test_larger_tyres_make_it_read_low_which_no_approval_allows(sums_desk: Desk) -> None:
    question = "what will the speedometer read at 100 km/h on Sum S1 light if I fit RW-235?"
    report = asking(sums_desk)(question)
    expected = 100 * CIRCUMFERENCE / LARGER
    assert first_number(report.summary) == pytest.approx(expected, abs=0.05)
    assert "outside what UN Regulation 39 allows" in told(report)


def test_a_speedometer_is_given_in_the_unit_that_was_asked(sums_desk: Desk) -> None:
    question = "what will the speedometer read at 62 mph on Sum S1 light?"
    assert asking(sums_desk)(question).summary.startswith("62.0 mph")


def test_a_converter_decides_what_is_shown(sums_desk: Desk) -> None:
    question = "what will the speedometer read at 100 km/h on Sum S1 light if I fit SC-1?"
    assert "decides what is shown" in asking(sums_desk)(question).summary


def test_track_is_twice_position_and_reach_less_offset_plus_spacer(sums_desk: Desk) -> None:
    asked = "what is the track width on Sum S1 light"
    plain = asking(sums_desk)(f"{asked}?").summary
    assert "ront track 1400 mm" in plain  # 2 × (665 + 75 − 40)
    assert "rear track 1404 mm" in plain  # 2 × (680 + 62 − 40)
    spaced = asking(sums_desk)(f"{asked} if I fit SP-20?").summary
    assert "rear track 1444 mm" in spaced


def test_rolling_circumference_comes_from_the_tyre_size(sums_desk: Desk) -> None:
    report = asking(sums_desk)("what is the rolling circumference on Sum S1 light?")
    assert f"{CIRCUMFERENCE:.0f} mm" in report.summary


def test_a_clutch_holds_friction_times_load_times_radius_times_faces(sums_desk: Desk) -> None:
    report = asking(sums_desk)("what is the clutch torque capacity on Sum S1 light?")
    assert "330 N·m" in report.summary  # 2 × 0.3 × 5500 N × 0.1 m
    assert "1.65 times" in told(report)


def test_a_weak_clutch_is_a_no(sums_desk: Desk) -> None:
    asked = "what is the clutch torque capacity on Sum S1 light if I fit CC-2?"
    report = asking(sums_desk)(asked)
    assert report.holds is False
    assert "it will slip" in told(report)


def test_brakes_split_by_piston_area_where_rotors_are_alike(sums_desk: Desk) -> None:
    report = asking(sums_desk)("what is the brake torque split on Sum S1 light?")
    expected = 100 * 54**2 / (54**2 + 38**2)
    assert first_number(report.summary) == pytest.approx(expected, abs=0.05)
    assert any("Brakes" in caution for caution in report.cautions)


def test_unequal_final_drives_slip_by_ten_per_cent(sums_desk: Desk) -> None:
    asked = "what is the centre differential slip on Sum S1 light"
    assert asking(sums_desk)(f"{asked}?").holds is True
    report = asking(sums_desk)(f"{asked} if I fit RF-39?")
    assert report.holds is False
    assert report.summary.startswith("10.0 %")


def test_a_propshaft_has_its_critical_speed_and_a_road_speed_to_stay_below(sums_desk: Desk) -> None:
    report = asking(sums_desk)("what is the propshaft critical speed on Sum S1 light?")
    outer, inner = 0.0762, 0.0762 - 2 * 0.0021
    stiffness = 206e9 * pi / 64 * (outer**4 - inner**4)
    mass = 7850 * pi / 4 * (outer**2 - inner**2)
    expected = pi / 2 / 1.4**2 * (stiffness / mass) ** 0.5 * 60
    assert first_number(report.summary.split("propshaft")[1]) == pytest.approx(expected, rel=1e-3)
    assert any("km/h" in line for line in report.sections[0].lines)


@pytest.mark.parametrize(
    ("question", "missing", "how"),
    [
        ("what is the propshaft joint angle on Sum S1 light?", "height of the output", "level"),
        ("what is the clutch torque capacity on Sum S1 light if I fit CC-3?", "clamp", "spring"),
        ("how fast does the engine turn in sixth at 90 km/h on Sum S1 light?", "sixth", "turn the"),
    ],
)
def test_a_missing_fact_is_named_with_how_to_measure_it(
    sums_desk: Desk, question: str, missing: str, how: str
) -> None:
    report = asking(sums_desk)(question)
    assert report.holds is None
    assert missing in report.summary
    assert any(how in line for section in report.sections for line in section.lines)


def test_a_car_without_the_stations_says_so(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("what is the track width on Tiny T1 light?")
    assert report.holds is None
    assert "has no" in report.summary


def test_every_fact_a_sum_rests_on_is_listed_with_its_source(sums_desk: Desk) -> None:
    report = asking(sums_desk)("what is the clutch torque capacity on Sum S1 light?")
    table = report.sections[-1].table
    assert table is not None
    assert {row.cells[2] for row in table.rows} >= {"clamp load", "facing outer diameter"}
    assert {row.cells[4] for row in table.rows} == {"sum drawings, documented"}


@pytest.mark.parametrize(
    ("question", "circles"),
    [
        ("what bolt circle gives a chord of 67.2 mm with 5 bolts?", "That is 5 × 114.3."),
        ("what bolt circle gives a chord of 67.4 mm with 5 bolts?", "5 × 115"),
        ("what bolt circle gives a chord of 20 mm with 5 bolts?", "measure again"),
    ],
)
def test_a_chord_gives_the_circles_it_could_be(
    tiny_desk: Desk, question: str, circles: str
) -> None:
    assert circles in asking(tiny_desk)(question).summary


def test_a_plan_says_what_it_changes_in_how_the_car_drives(sums_desk: Desk) -> None:
    answer = sums_desk.ask("what else must change if I fit RF-39 to Sum S1 light?")
    assert isinstance(answer, Answer)
    effects = answer.plans[0].effects
    assert "the speedometer will read 10.0 % high" in effects
    assert any(e.startswith("in top gear at 100 km/h the engine turns") for e in effects)
    assert any("across the centre differential" in e for e in effects)
    assert not any("track" in e or "clutch" in e or "braking" in e for e in effects)


def test_larger_pistons_behind_shift_the_split_rearward(sums_desk: Desk) -> None:
    answer = sums_desk.ask("what else must change if I fit RC-2 to Sum S1 light?")
    assert isinstance(answer, Answer)
    assert any("rearward: the rear wheels may lock sooner" in e for e in answer.plans[0].effects)


def test_a_plan_that_changes_nothing_known_says_nothing(tiny_desk: Desk) -> None:
    answer = tiny_desk.ask("what else must change if I fit HD hub to Tiny T1 light?")
    assert isinstance(answer, Answer)
    assert all(plan.effects == () for plan in answer.plans)


def test_a_build_does_not_differ_from_itself(sums_desk: Desk) -> None:
    for car in sums_desk.catalogue.cars.values():
        build = stock_build(sums_desk.catalogue, car)
        assert find_effects(sums_desk.catalogue, build, build) == ()


@pytest.mark.parametrize(
    ("stated", "wrong", "words"),
    [
        ("ko:gear5 0.8", "ko:gear5 80", "Fifth gear ratio: one number from 0.3 to 12."),
        (
            "ko:wheelOffset 40",
            "ko:wheelOffset 400",
            "Wheel offset: one number from -150 to 150 mm.",
        ),
        ('"205/70R15"', '"205"', "Tyre size: one text such as 205/70R15."),
        ("ko:pistonsPerSide 1", "ko:pistonsPerSide 1.5", "Pistons on one side of the rotor"),
    ],
)
def test_a_value_no_part_has_is_refused(
    build_tiny: Callable[..., Catalogue], stated: str, wrong: str, words: str
) -> None:
    with pytest.raises(CatalogueRefused, match=re.escape(words)):
        build_tiny(driveline.DATA.replace(stated, wrong, 1), driveline.STATIONS)
