"""Used parts of the Ostrel cars identified, cars compared, and parts placed: the trade's facts."""

from __future__ import annotations

from itertools import combinations

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.differences import Change, builds_of, find_differences
from knockon.reasoner.identify import (
    Identification,
    Remains,
    WarningKind,
    identify,
    identify_car,
    lookalikes,
)
from knockon.reasoner.kit_choice import choose_kit
from knockon.reasoner.looks import tell_apart
from knockon.reasoner.mating import Mating
from knockon.reasoner.readings import read
from knockon.reasoner.serial_ranges import RangeFaultKind, check_ranges
from knockon.reasoner.where_fits import Fits, where_fits
from knockon.reasoner.witness import CHASSIS_NUMBER, MODEL_YEAR, Witness

BASE = "https://knockon.example/"
PART, OBS, STATION = BASE + "part/", BASE + "observation/", BASE + "station/"
GEN, CAR, ROLE = BASE + "generation/", BASE + "car/", BASE + "role/"
FAMILY = BASE + "family/"


@pytest.fixture(scope="module")
def known(demo: Catalogue) -> Witness:
    """What the demo says of its lookalikes."""
    return Witness(demo)


def look(known: Witness, station: str, on: str = "", **seen: str) -> Identification:
    """Identify what sits at a station; `year` and `chassis` are the car's."""
    names = {"year": MODEL_YEAR, "chassis": CHASSIS_NUMBER}
    readings = [
        read(known.observation(names.get(name, OBS + name.replace("_", "-"))), said)
        for name, said in seen.items()
    ]
    parts = lookalikes(known.catalogue, station=STATION + station, on=on and GEN + on)
    return identify(known, parts, readings)


def remaining(found: Identification) -> set[str]:
    return {c.subject.removeprefix(PART) for c in found.of(Remains.POSSIBLE)}


def surely(known: Witness, first: str, second: str) -> list[str]:
    return [s.observation.label for s in tell_apart(known, PART + first, PART + second) if s.sure]


# ---------------------------------------------------------------- fact 4: only the serial tells


def test_the_year_2006_leaves_both_five_speeds(known: Witness) -> None:
    found = look(known, "gearbox", "w2", year="2006")
    assert remaining(found) == {"OW-31205", "OW-31210"}
    assert found.looks[0].observation.label == "gearbox serial"


def test_a_first_car_of_2006_left_the_works_with_last_years_gearbox(known: Witness) -> None:
    found = look(known, "gearbox", "w2", year="2006", chassis="231500")
    assert found.settled == PART + "OW-31205"
    assert not found.warnings
    assert look(known, "gearbox", "w2", chassis="232500").settled == PART + "OW-31210"


def test_the_gearbox_serial_decides_over_a_year_that_says_otherwise(known: Witness) -> None:
    found = look(known, "gearbox", "w2", year="2007", gearbox_serial="GB61999")
    assert found.settled == PART + "OW-31205"
    assert [w.kind for w in found.warnings] == [WarningKind.YEAR_AND_SERIAL_DISAGREE]


def test_the_gearbox_serial_decides_over_the_cars_own_number(known: Witness) -> None:
    """A used gearbox has been put in since."""
    found = look(known, "gearbox", "w2", chassis="231500", gearbox_serial="GB62000")
    assert found.settled == PART + "OW-31210"
    assert [w.kind for w in found.warnings] == [WarningKind.CAR_NUMBER_SET_ASIDE]


def test_the_hire_car_batch_sits_in_the_midst_of_the_run(known: Witness) -> None:
    for serial, number in (("74999", "OW-31210"), ("75000", "OW-31212"), ("75400", "OW-31210")):
        assert look(known, "gearbox", gearbox_serial=serial).settled == PART + number
    assert "speed port of the gearbox" in surely(known, "OW-31210", "OW-31212")


def test_a_disputed_number_leaves_both_six_speeds_and_says_so(known: Witness) -> None:
    found = look(known, "gearbox", gearbox_serial="GB620400")
    assert remaining(found) == {"OW-31610", "OW-31620"}
    disputed = [c for c in found.candidates if c.disputed]
    assert [c.subject for c in disputed] == [PART + "OW-31610"]
    sources = {s.sources[0].rsplit("/", 1)[-1] for s in disputed[0].disputed[0].statements}
    assert sources == {"maker-drawings", "customer-reports"}


# ---------------------------------------------------------------- the W2's change in mid-run


@pytest.mark.parametrize(
    ("chassis", "car", "axle"),
    [
        ("214999", "w2-early", "OW-43110"),
        ("215000", "w2-late", "OW-43160"),
        ("231000", "w2-first-2006", "OW-43160"),
        ("232500", "w2-late", "OW-43160"),
    ],
)
def test_the_w2_rear_axle_changes_by_serial_and_not_by_year(
    known: Witness, chassis: str, car: str, axle: str
) -> None:
    assert identify_car(known, GEN + "w2", serial=chassis).settled == CAR + car
    found = look(known, "rear-final-drive", "w2", chassis=chassis)
    assert found.settled == PART + axle


def test_a_2005_car_can_have_either_rear_axle(known: Witness) -> None:
    found = look(known, "rear-final-drive", "w2", year="2005")
    assert remaining(found) == {"OW-43110", "OW-43160"}
    labels = [each.observation.label for each in found.looks]
    assert labels.index("chassis serial") < len(labels)
    assert "model year" not in labels


def test_the_serial_ranges_of_the_demo_overlap_only_where_they_are_disputed(known: Witness) -> None:
    overlaps = [f for f in check_ranges(known) if f.kind is RangeFaultKind.OVERLAP]
    assert [f.subjects for f in overlaps] == [(FAMILY + "w2-six-speed", FAMILY + "w3-six-speed")]
    assert (overlaps[0].least, overlaps[0].most) == (620000, 620400)


# ---------------------------------------------------------------- fact 8 and other looks


def test_front_bearing_style_tells_the_2005_hd_knuckle_from_later_ones(known: Witness) -> None:
    separations = tell_apart(known, PART + "OW-41205", PART + "OW-41231")
    assert separations[0].observation.label == "front bearing style"
    labels = surely(known, "OW-41205", "OW-41231")
    assert "strut bolt spacing" in labels


@pytest.mark.parametrize(
    ("first", "second", "look_at"),
    [
        ("OW-41110", "OW-41310", "front bearing style"),
        ("OW-44120", "OW-44140", "number of pistons"),
        ("OW-43716", "OW-43718", "number of teeth of the half-shaft outer spline"),
        ("OW-43716", "OW-43718", "outer spline over 1.92 mm pins"),
        ("OW-42110", "OW-42112", "rear hub casting mark"),
        ("OW-42112", "OW-42330", "chord between studs"),
        ("OL-43150", "OL-43151", "how the far wheel turns"),
        ("OW-43110", "OW-43160", "axle serial"),
    ],
)
def test_lookalikes_have_something_to_look_at(
    known: Witness, first: str, second: str, look_at: str
) -> None:
    assert look_at in surely(known, first, second)


def test_a_calliper_nobody_has_looked_into_is_doubted_and_not_ruled_out(known: Witness) -> None:
    found = look(known, "rear-calliper", pistons="4")
    assert {"OW-44140", "BR-4416"} <= remaining(found)
    assert PART + "OW-44150" in {c.subject for c in found.of(Remains.DOUBTED)}


@pytest.mark.parametrize(
    "station",
    [
        *("gearbox", "rear-final-drive", "front-half-shaft", "rear-half-shaft", "front-hub"),
        *("rear-hub", "front-knuckle", "front-calliper", "rear-calliper", "rear-rotor"),
        "master-cylinder",
    ],
)
def test_any_two_that_left_the_works_at_one_station_can_be_told_apart(
    known: Witness, station: str
) -> None:
    stock = {f.part for car in known.catalogue.cars.values() for f in car.fits.values()}
    parts = [p for p in lookalikes(known.catalogue, station=STATION + station) if p in stock]
    for first, second in combinations(parts, 2):
        assert any(s.sure for s in tell_apart(known, first, second)), (first, second)


# ---------------------------------------------------------------- cars compared, parts placed


def test_the_wide_body_differs_in_shafts_arms_and_knuckles_and_keeps_the_links(
    demo: Catalogue,
) -> None:
    """Fact of the trade no. 10 (common practice)."""
    narrow, wide = (builds_of(demo, GEN + "w3", body) for body in ("narrow", "wide"))
    found = {d.station.removeprefix(STATION): d for d in find_differences(demo, narrow, wide)}
    for station in ("front-half-shaft", "rear-half-shaft", "front-control-arm", "rear-knuckle"):
        assert found[station].change is Change.DIFFERENT, station
    for station in ("rear-links", "rear-hub", "front-hub", "front-knuckle"):
        assert found[station].change is Change.SAME, station
    [shafts] = found["rear-half-shaft"].parts
    assert [end.role for end in shafts.ends] == [ROLE + "shaft-length"]


def test_within_the_w2_the_rear_axle_is_what_changed(demo: Catalogue) -> None:
    early, late = (builds_of(demo, CAR + name) for name in ("w2-early", "w2-late"))
    changed = {
        d.station.removeprefix(STATION)
        for d in find_differences(demo, early, late)
        if d.change is not Change.SAME
    }
    assert {"rear-final-drive", "rear-companion-flange", "rear-half-shaft", "gearbox"} <= changed
    assert "front-hub" not in changed


def test_the_hd_rear_hub_is_stock_on_hd_cars_and_wants_changes_on_light_ones(
    demo_mating: Mating,
) -> None:
    builds = [b for gen in ("w2", "w2-hd") for b in builds_of(demo_mating.catalogue, GEN + gen)]
    found = {f.build: f for f in where_fits(demo_mating, PART + "OW-42310", builds)}
    assert found["Wether W2 HD"].fits is Fits.STOCK
    late = found["Wether W2 late"]
    assert late.fits is Fits.WITH_CHANGES
    assert late.least is not None
    assert STATION + "rear-half-shaft" in late.least


def test_of_two_gearboxes_the_one_that_drags_less_along_is_chosen(demo_mating: Mating) -> None:
    """A W3 narrow car takes the W2's five-speed more easily than the HD's longer six-speed."""
    builds = builds_of(demo_mating.catalogue, CAR + "w3-narrow")
    choice = choose_kit(demo_mating, [PART + "OW-31610", PART + "OW-31210"], builds)
    assert choice.best is not None
    assert choice.best.part == PART + "OW-31210"
    assert choice.ranking[1].unworkable or choice.ranking[0].total < choice.ranking[1].total
