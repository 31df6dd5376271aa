"""Facts of the trade that must come out right, played with the invented Ostrel parts.

Every fact here is common practice: no source is claimed for any of them.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from knockon.query.answer import Answer, Line
from knockon.query.desk import Desk
from knockon.reasoner.calculations.slip import AxlePath, centre_slip
from knockon.reasoner.catalogue import Catalogue

PART = "https://knockon.example/part/"
pytestmark = pytest.mark.common_practice


@pytest.fixture(scope="module")
def desk(demo: Catalogue) -> Desk:
    return Desk(demo)


def fit(
    desk: Desk, *parts: str, car: str = "Wether W2 late", more: str = "", plans: int = 0
) -> Answer:
    """What else must change if these parts are fitted."""
    fits = " and fit ".join(parts)
    answer = desk.ask(f"what else must change if I fit {fits} to {car}{more}?", plans=plans)
    assert isinstance(answer, Answer)
    return answer


def line(answer: Answer, station: str) -> Line:
    """The verdict on one station."""
    return next(found for found in answer.lines if found.station.label == station)


def offered(answer: Answer, station: str) -> set[str | None]:
    """The part numbers a station may take."""
    return {option.number for option in line(answer, station).options}


def kinds_of_reason(found: Line) -> list[str]:
    """The interface kind of the last link of each chain."""
    return [
        meeting.kind for chain in found.chains for meeting in found.because[chain[-1]].meetings[:1]
    ]


def test_a_longer_gearbox_wants_a_shorter_propshaft(desk: Desk) -> None:
    shaft = line(fit(desk, "HD six-speed gearbox"), "rear propshaft")
    assert shaft.verdict == "must"
    assert "length" in kinds_of_reason(shaft)


def test_length_and_flange_are_two_separate_reasons_for_one_propshaft(desk: Desk) -> None:
    answer = fit(
        desk, "HD six-speed gearbox", "HD rear final drive 3.545", "HD rear companion flange"
    )
    assert set(kinds_of_reason(line(answer, "rear propshaft"))) == {"length", "flange spacing"}


def test_moving_the_companion_flange_lets_the_propshaft_stay(desk: Desk) -> None:
    answer = fit(desk, "HD rear final drive 3.545")
    assert line(answer, "rear propshaft").verdict == "keeps"
    assert line(answer, "rear companion flange").verdict == "keeps"


def test_cover_disc_and_flywheel_go_as_a_set_from_one_side_or_the_other(desk: Desk) -> None:
    answer = fit(desk, "HD clutch disc")
    assert line(answer, "clutch cover").verdict == line(answer, "flywheel").verdict == "must"
    with_gearbox = fit(desk, "HD six-speed gearbox")
    assert line(with_gearbox, "clutch disc").verdict == "keeps"


def test_unequal_final_drives_take_out_the_centre_differential(desk: Desk) -> None:
    answer = fit(desk, "HD rear final drive 3.9")
    front = line(answer, "front final drive")
    assert front.verdict == "must"
    assert "ratio" in kinds_of_reason(front)
    slip = centre_slip(AxlePath(3.545, 2000.0), AxlePath(3.9, 2000.0), tolerance_percent=1.0)
    assert round(Decimal(slip.percent), 1) == Decimal("10.0")
    assert not slip.within_tolerance


def test_equal_ratios_agree_whatever_the_housings_sizes(desk: Desk) -> None:
    assert line(fit(desk, "HD rear final drive 3.545"), "front final drive").verdict == "keeps"


def test_a_gearbox_without_speed_port_wants_a_converter(desk: Desk) -> None:
    answer = fit(desk, "W3 five-speed gearbox")
    assert line(answer, "speed signal converter").verdict == "must"
    assert offered(answer, "speed signal converter") == {"BR-4512"}


def test_a_speed_port_nobody_reads_wants_a_blank(desk: Desk) -> None:
    answer = fit(desk, "W2 five-speed gearbox", car="Wether W3 narrow", plans=1)
    assert line(answer, "speed signal converter").verdict == "keeps"
    assert any("speed" in blank.label for blank in answer.plans[0].blanks)


def test_the_other_plug_has_three_remedies_and_cutting_is_marked(desk: Desk) -> None:
    answer = fit(desk, "HD six-speed gearbox", plans=6)
    remedies = offered(answer, "gearbox plug go-between") | offered(
        answer, "gearbox switch harness"
    )
    assert {"BR-4546", "OW-45424", "OW-45420-C"} <= remedies
    for plan in answer.plans:
        cut = any(p.part.number == "OW-45420-C" for p in plan.parts)
        assert bool(plan.irreversible) == cut


def test_an_open_rear_behind_a_controlled_centre_is_cautioned_and_more_without_controller(
    desk: Desk,
) -> None:
    hd = fit(desk, "R160 rear final drive 3.9", car="Wether W2 HD", plans=1)
    assert hd.plans[0].advice
    bare = fit(
        desk, "HD six-speed gearbox", "HD transfer box", "HD front final drive 3.545", plans=1
    )
    assert len(bare.plans[0].advice) > len(hd.plans[0].advice)


def test_the_stronger_half_shaft_needs_the_stronger_hub(desk: Desk) -> None:
    hub = line(fit(desk, "HD rear half-shaft"), "rear hub")
    assert hub.verdict == "must"
    assert "spline" in kinds_of_reason(hub)


def test_in_front_only_one_years_knuckle_keeps_the_old_strut_and_circle(desk: Desk) -> None:
    answer = fit(desk, "HD front half-shaft")
    assert offered(answer, "front knuckle") == {"OW-41205"}
    assert line(answer, "front strut").verdict == line(answer, "front wheel").verdict == "keeps"
    later = fit(desk, "HD front knuckle")
    assert line(later, "front strut").verdict == line(later, "front wheel").verdict == "must"


def test_the_rear_hub_drags_plate_parking_brake_shoes_calliper_and_rotor(desk: Desk) -> None:
    answer = fit(desk, "HD rear hub")
    dragged = ("rear backing plate", "parking brake", "parking brake shoes", "rear calliper",
               "rear rotor", "rear half-shaft", "rear wheel")  # fmt: skip
    assert {line(answer, station).verdict for station in dragged} == {"must"}


def test_the_cars_own_rotor_clears_neither_parking_brake_nor_hub(desk: Desk) -> None:
    rotor = line(fit(desk, "HD rear hub"), "rear rotor")
    assert {"bolt circle", "envelope"} <= set(kinds_of_reason(rotor))


def test_the_small_calliper_stays_under_15_inch_but_wants_a_special_rotor(desk: Desk) -> None:
    answer = fit(
        desk, "HD rear hub", "two-piston rear calliper", more=" with at most 15-inch wheels"
    )
    assert answer.workable
    assert "OW-44230" in offered(answer, "rear rotor")
    assert "OW-44210" not in offered(answer, "rear rotor")
    assert not fit(desk, "HD rear hub", "OW-44140", more=" with at most 15-inch wheels").workable


def test_wide_half_shafts_in_a_narrow_car_want_arm_in_front_and_knuckle_at_the_rear(
    desk: Desk,
) -> None:
    front = fit(desk, "W3 wide front half-shaft", car="Wether W3 narrow")
    assert [k.station.label for k in front.lines if k.verdict == "must"] == ["front control arm"]
    rear = fit(desk, "W3 wide rear half-shaft", car="Wether W3 narrow")
    assert [k.station.label for k in rear.lines if k.verdict == "must"] == ["rear knuckle"]
    assert line(rear, "rear lateral links").verdict == line(rear, "rear hub").verdict == "keeps"


def test_what_looks_the_same_but_was_not_tried_is_never_a_fact(desk: Desk) -> None:
    answer = fit(desk, "HD rear hub", "BR-29011")
    assert answer.workable
    assert not answer.strictly_workable
    assert any("BR-29011" in str(check.meetings) for check in answer.checks)
    assert not fit(
        desk, "HD rear hub", "BR-29011", more=" with nothing weaker than reported"
    ).workable
