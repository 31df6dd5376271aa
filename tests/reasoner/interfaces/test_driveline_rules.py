"""Splines, flanges, mounts, seats, lengths, ratios and capacities of a driveline."""

from __future__ import annotations

from decimal import Decimal

import pytest
from knockon.reasoner.interfaces.kind import EndValues, Outcome, overall
from knockon.reasoner.interfaces.length import closing_length
from knockon.reasoner.interfaces.registry import compare

from .house import by_quantity, end, of

MATES, CLASHES, UNPROVEN = Outcome.MATES, Outcome.CLASHES, Outcome.UNPROVEN


def spline(side: str, **values: object) -> EndValues:
    base = {"teeth": 27, "module": 1, "pressureAngle": 30}
    return end(side, **{**base, **values})  # type: ignore[arg-type]


def meet(kind: str, *ends: EndValues) -> Outcome:
    return overall(compare(kind, ends, of(kind)))


def test_the_same_spline_slides_together() -> None:
    assert meet("Spline", spline("external"), spline("internal")) is MATES


@pytest.mark.parametrize("teeth", [26, 28, 30])
def test_hubs_one_tooth_apart_never_mate(teeth: int) -> None:
    found = compare("Spline", [spline("external"), spline("internal", teeth=teeth)], of("Spline"))
    assert by_quantity(found)["teeth"].outcome is CLASHES


def test_a_24_pitch_spline_is_not_a_module_one_spline_although_the_count_is_the_same() -> None:
    assert meet("Spline", spline("external"), spline("internal", module=1.0583)) is CLASHES


def test_a_diametral_pitch_rounded_in_a_list_still_mates_with_the_exact_one() -> None:
    shaft, hub = spline("external", module=1.0583333), spline("internal", module=1.058)
    assert meet("Spline", shaft, hub) is MATES


def test_a_spline_whose_module_nobody_measured_is_unproven_and_says_what_to_measure() -> None:
    hub = end("internal", teeth=27, pressureAngle=30)
    found = compare("Spline", [spline("external"), hub], of("Spline"))
    assert overall(found) is UNPROVEN
    assert [f.needs for f in found if f.needs] == ["module"]


def test_a_wrong_tooth_count_clashes_whatever_else_is_unknown() -> None:
    assert meet("Spline", end("external", teeth=27), end("internal", teeth=30)) is CLASHES


def test_a_fillet_root_hub_is_larger_than_the_shaft_and_that_is_right() -> None:
    shaft, hub = spline("external", majorDiameter=28.0), spline("internal", majorDiameter=28.8)
    assert meet("Spline", shaft, hub) is MATES
    assert meet("Spline", spline("external", majorDiameter=28.8), hub) is MATES
    assert meet("Spline", spline("external", majorDiameter=29.2), hub) is CLASHES


def test_a_straight_sided_shaft_does_not_go_into_an_involute_hub() -> None:
    assert meet("Spline", spline("external", splineForm="straight"), spline("internal")) is CLASHES


def test_straight_sided_splines_are_told_by_their_diameters() -> None:
    size = {"teeth": 10, "splineForm": "straight", "majorDiameter": 38.1, "minorDiameter": 30.9}
    shaft, hub = end("external", **size), end("internal", **size)  # type: ignore[arg-type]
    assert meet("Spline", shaft, hub) is MATES
    loose = end("internal", **{**size, "minorDiameter": 32.8})  # type: ignore[arg-type]
    assert meet("Spline", shaft, loose) is CLASHES
    assert meet("Spline", shaft, end("internal", teeth=10, splineForm="straight")) is UNPROVEN


def test_the_shorter_part_limits_the_engagement() -> None:
    shaft = spline("external", engagement=40, engagementNeeded=30)
    assert meet("Spline", shaft, spline("internal", engagement=32)) is MATES
    found = compare("Spline", [shaft, spline("internal", engagement=24)], of("Spline"))
    assert by_quantity(found)["engagement"].margin == -6


def test_an_engagement_that_is_needed_and_nowhere_stated_is_unproven() -> None:
    assert meet("Spline", spline("external", engagementNeeded=30), spline("internal")) is UNPROVEN


def test_fit_classes_of_different_grade_go_together_and_are_remarked_on() -> None:
    found = compare(
        "Spline",
        [spline("external", fitClass="7h"), spline("internal", fitClass="5H")],
        {**of("Spline")},
    )
    finding = by_quantity(found)["fitClass"]
    assert finding.outcome is MATES
    assert "grades 7 and 5" in finding.note
    tight = compare(
        "Spline",
        [spline("external", fitClass="6k"), spline("internal", fitClass="6H")],
        of("Spline"),
    )
    assert "press" in by_quantity(tight)["fitClass"].note


def flange(side: str, **values: object) -> EndValues:
    base = {"pattern": "square", "bolts": 4, "spacing": 68, "boltSize": 10, "register": 60}
    return end(side, **{**base, **values})  # type: ignore[arg-type]


def test_flanges_need_pattern_spacing_bolts_and_register_alike() -> None:
    assert meet("FlangeSpacing", flange("external"), flange("internal")) is MATES
    for wrong in (
        {"pattern": "circle"},
        {"spacing": 75},
        {"bolts": 6},
        {"boltSize": 11},
        {"register": 59.9},
        {"register": 62},
    ):
        assert meet("FlangeSpacing", flange("external"), flange("internal", **wrong)) is CLASHES


def test_a_rectangle_is_measured_both_ways() -> None:
    long = {"pattern": "rectangle", "spacing": 75}
    whole = flange("external", **long, secondSpacing=60)
    assert meet("FlangeSpacing", whole, flange("internal", **long, secondSpacing=60)) is MATES
    assert meet("FlangeSpacing", whole, flange("internal", **long, secondSpacing=55)) is CLASHES
    assert meet("FlangeSpacing", whole, flange("internal", **long)) is UNPROVEN


def mount(side: str, **values: object) -> EndValues:
    return end(side, **{"centreDistance": 300, "boltDiameter": 12, **values})  # type: ignore[arg-type]


def test_slots_in_a_mount_give_half_their_length_each_way() -> None:
    slotted = mount("internal", slotLength=8)
    assert meet("MountSpacing", mount("external", centreDistance=304.5), slotted) is MATES
    assert meet("MountSpacing", mount("external", centreDistance=304.6), slotted) is CLASHES
    assert meet("MountSpacing", mount("external", centreDistance=304), mount("internal")) is CLASHES


def test_an_eye_wider_than_its_clevis_does_not_go_in_and_a_narrow_one_wants_shims() -> None:
    clevis = mount("internal", eyeWidth=40)
    assert meet("MountSpacing", mount("external", eyeWidth=40.2), clevis) is CLASHES
    assert meet("MountSpacing", mount("external", eyeWidth=39.5), clevis) is MATES
    assert meet("MountSpacing", mount("external", eyeWidth=36), clevis) is CLASHES


def test_a_bearing_is_told_as_clearance_transition_or_interference() -> None:
    def note(hole: str, shaft: str) -> str:
        pair = [
            end("internal", diameter=40, fitCode=hole),
            end("external", diameter=40, fitCode=shaft),
        ]
        return compare("BoreSeat", pair, of("BoreSeat"))[-1].note

    assert note("H7", "g6").startswith("clearance fit: 0.009 to 0.05 ")
    assert note("H7", "k6").startswith("transition fit")
    assert note("H7", "p6").startswith("interference fit: 0.001 to 0.042 ")


def test_a_seat_of_another_nominal_size_clashes_and_an_unknown_code_is_unproven() -> None:
    shaft = end("external", diameter=35, fitCode="k6")
    assert meet("BoreSeat", shaft, end("internal", diameter=36, fitCode="H7")) is CLASHES
    assert meet("BoreSeat", shaft, end("internal", diameter=35)) is UNPROVEN
    unread = compare(
        "BoreSeat", [shaft, end("internal", diameter=35, fitCode="Q7")], of("BoreSeat")
    )
    assert overall(unread) is UNPROVEN
    assert "no ISO 286 code" in unread[-1].note


def test_a_seat_too_loose_for_the_house_clashes() -> None:
    pair = [
        end("external", diameter=40, fitCode="f9"),
        end("internal", diameter=40, fitCode="H11"),
    ]
    assert meet("BoreSeat", *pair) is CLASHES


def chain(
    *lengths: tuple[int, object], plunge_in: int = 25, plunge_out: int = 20
) -> list[EndValues]:
    made = [end("", sign, length=value) for sign, value in lengths]  # type: ignore[arg-type]
    last = made[-1]
    made[-1] = EndValues(
        "", {**last.values, "plungeIn": plunge_in, "plungeOut": plunge_out}, last.sign
    )
    return made


def test_a_shorter_propshaft_follows_a_longer_gearbox() -> None:
    # 60 mm more gearbox takes 60 mm from the space of an axle that stays where it is.
    stock = chain((1, 2000), (-1, 700), (-1, 1300))
    swapped = chain((1, 2000), (-1, 760), (-1, 1300))
    assert meet("Length", *stock) is MATES
    found = compare("Length", swapped, of("Length"))[0]
    assert found.outcome is CLASHES
    assert found.margin == Decimal(-34)
    assert closing_length(swapped, 2) == 1240


def test_plunge_closes_a_chain_up_to_its_end_and_not_beyond() -> None:
    for space, outcome in (
        (1995, MATES),
        (1974, MATES),
        (1973, CLASHES),
        (2021, MATES),
        (2022, CLASHES),
    ):
        assert meet("Length", *chain((1, space), (-1, 700), (-1, 1300))) is outcome, space


def test_a_chain_with_an_unknown_length_is_unproven() -> None:
    ends = [end("", 1, length=2000), end("", -1), end("", -1, length=1300)]
    found = compare("Length", ends, of("Length"))[0]
    assert (found.outcome, found.needs) == (UNPROVEN, "length")
    assert closing_length(ends, 1) == 700
    assert closing_length([*ends, end("", -1)], 1) is None


def test_axles_of_unequal_ratio_wind_up_and_by_how_much_is_shown() -> None:
    found = compare("Ratio", [end("", 1, ratio=4.10), end("", -1, ratio=4.30)], of("Ratio"))[0]
    assert found.outcome is CLASHES
    assert "4.88 %" in found.note


def test_a_ratio_on_a_tag_and_the_counted_teeth_behind_it_agree() -> None:
    tag, counted = end("", 1, ratio=4.11), end("", -1, drivenTeeth=37, drivingTeeth=9)
    assert meet("Ratio", tag, counted) is MATES


def test_a_front_drive_through_a_transfer_box_multiplies_along_its_path() -> None:
    rear = end("", 1, ratio=4.10)
    front = [end("", -1, ratio=2.05), end("", -1, ratio=2.0)]
    assert meet("Ratio", rear, *front) is MATES
    assert meet("Ratio", rear, front[0], end("", -1)) is UNPROVEN


def test_a_car_that_drives_one_axle_only_has_no_ratios_to_agree() -> None:
    assert meet("Ratio", end("", 1, ratio=4.10), end("", 1, ratio=1.0)) is MATES


def test_a_half_shaft_must_bear_what_the_low_range_makes_of_the_engine() -> None:
    path = [end("demand", torque=180), end("demand", factor=3.8), end("demand", factor=2.0)]
    assert meet("Capacity", *path, end("capability", torque=1400)) is MATES
    assert meet("Capacity", *path, end("capability", torque=1300)) is CLASHES


def test_a_gear_that_multiplies_torque_divides_speed() -> None:
    path = [end("demand", speed=6000), end("demand", factor=0.8)]
    found = compare("Capacity", [*path, end("capability", speed=7000)], {})[0]
    assert (found.outcome, found.second) == (CLASHES, 7500)


def test_every_part_in_the_way_must_bear_it() -> None:
    parts = [end("capability", torque=900), end("capability", torque=400)]
    assert meet("Capacity", end("demand", torque=500), *parts) is CLASHES
    assert meet("Capacity", end("demand", torque=500), parts[0], end("capability")) is UNPROVEN
