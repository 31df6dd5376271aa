"""A generation started from the one before it states the differences and inherits the rest."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from knockon.reasoner.build import clashes, stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.differences import Change, builds_of, find_differences
from knockon.reasoner.files import fingerprint
from knockon.reasoner.load import build_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.changes import ChangeSet
from knockon.reasoner.upkeep.copy_generation import (
    CopyRefused,
    NewGeneration,
    copy_generation,
)
from knockon.reasoner.upkeep.findings import find_faults, stops
from knockon.reasoner.upkeep.preview_edit import catalogue_of, facts_after
from knockon.reasoner.upkeep.standing import Signature
from rdflib import URIRef

from tests.conftest import TINY_DATA, TINY_STATIONS, tiny_files

SPACE = "https://knockon.example/"
DRAWINGS = f"{SPACE}source/drawings"
OLD = f"{SPACE}generation/tiny"
SIGNED = Signature("Ann", datetime(2024, 5, 1, tzinfo=UTC), "the maker's bulletin")
NEW = NewGeneration("Tiny T2", DRAWINGS, years=(2025, None), serials=(500, 999))
HD = {
    f"{SPACE}station/{station}": f"{SPACE}part/{number}"
    for station, number in (("hub", "TH-30"), ("shaft", "TS-30"), ("wheel", "TW-120"))
}

SPLIT = (
    TINY_DATA.replace('skos:prefLabel "Tiny T1 light" ;', 'skos:prefLabel "Tiny T1 early" ;'
                      " ko:fromSerial 1 ; ko:toSerial 99 ; ko:body ko:Narrow ;")
    + """src:drawings {
gen:tiny ko:ofLine <https://knockon.example/line/tiny> .
<https://knockon.example/line/tiny> a ko:Line ; skos:prefLabel "Tiny" .
car:tiny-late a ko:Car ; skos:prefLabel "Tiny T1 late" ; ko:basedOn car:tiny ;
    ko:fromSerial 100 ; ko:toSerial 199 .
car:tiny-wide a ko:Car ; skos:prefLabel "Tiny T1 wide" ; ko:basedOn car:tiny ; ko:body ko:Wide ;
    ko:fromSerial 200 ; ko:toSerial 299 ; ko:market "Tarnside" .
}
"""
)  # fmt: skip


def read(data: str, stations: str = TINY_STATIONS) -> tuple[Facts, Catalogue]:
    files = tiny_files(data, stations)
    return read_facts(files), build_catalogue(fingerprint(files), files)


@pytest.fixture(scope="module")
def split() -> tuple[Facts, Catalogue]:
    """A generation of an early, a late and a wide car."""
    return read(SPLIT)


def copied(made: tuple[Facts, Catalogue], new: NewGeneration) -> tuple[Catalogue, ChangeSet]:
    facts, catalogue = made
    change = copy_generation(facts, catalogue, OLD, new, SIGNED)
    assert not change.removed
    return catalogue_of(facts_after(facts, [change])), change


def test_only_what_differs_is_stated(split: tuple[Facts, Catalogue]) -> None:
    wheel = {f"{SPACE}station/wheel": f"{SPACE}part/TW-120"}
    _, change = copied(split, replace(NEW, fits=wheel))
    stated = [q for q in change.added if q[1] == URIRef(f"{SPACE}ns#has")]
    assert len(stated) == 2, "one fit for each of the two cars"


def test_the_differences_are_exactly_those_that_were_given(split: tuple[Facts, Catalogue]) -> None:
    catalogue, _ = copied(split, replace(NEW, fits=HD))
    old, new = (builds_of(catalogue, f"{SPACE}generation/{g}") for g in ("tiny", "t2"))
    found = find_differences(catalogue, old, new)
    assert {d.station for d in found if d.change is not Change.SAME} == set(HD)
    assert {d.station: set(d.second) for d in found} == {s: {p} for s, p in HD.items()}


def test_without_differences_nothing_differs(split: tuple[Facts, Catalogue]) -> None:
    catalogue, _ = copied(split, NEW)
    old, new = (builds_of(catalogue, f"{SPACE}generation/{g}") for g in ("tiny", "t2"))
    assert {d.change for d in find_differences(catalogue, old, new)} == {Change.SAME}


def test_a_part_that_the_old_car_has_already_is_no_difference(
    split: tuple[Facts, Catalogue],
) -> None:
    same = {f"{SPACE}station/wheel": f"{SPACE}part/TW-100"}
    _, change = copied(split, replace(NEW, fits=same))
    _, bare = copied(split, NEW)
    assert change.added == bare.added


def test_the_last_build_of_each_body_and_market_is_followed(
    split: tuple[Facts, Catalogue],
) -> None:
    catalogue, _ = copied(split, NEW)
    cars = {c.label: c for c in catalogue.cars.values() if c.generation == f"{SPACE}generation/t2"}
    assert set(cars) == {"Tiny T2", "Tiny T2 wide"}
    wide = cars["Tiny T2 wide"]
    assert (wide.body, wide.market, wide.line) == ("wide", "Tarnside", f"{SPACE}line/tiny")
    assert (wide.years, wide.serials) == ((2025, None), (500, 999))


def test_a_correction_of_the_old_generation_reaches_the_new_one(
    split: tuple[Facts, Catalogue],
) -> None:
    facts, catalogue = split
    change = copy_generation(facts, catalogue, OLD, NEW, SIGNED)
    corrected, _ = read(SPLIT.replace("part part:TW-100", "part part:TW-120"))
    after = catalogue_of(facts_after(corrected, [change]))
    car = after.cars[f"{SPACE}car/t2-wide"]
    assert car.fits[f"{SPACE}station/wheel"].part == f"{SPACE}part/TW-120"


def test_a_station_can_be_left_empty(split: tuple[Facts, Catalogue]) -> None:
    catalogue, _ = copied(split, replace(NEW, fits={f"{SPACE}station/wheel": None}))
    assert catalogue.cars[f"{SPACE}car/t2-wide"].fits[f"{SPACE}station/wheel"].part is None


def test_a_joint_that_holds_only_on_the_old_generation_holds_on_the_new_one() -> None:
    made = read(
        TINY_DATA,
        TINY_STATIONS.replace('"hub face ↔ wheel" ;', '"hub face ↔ wheel" ; ko:onlyOn gen:tiny ;'),
    )
    catalogue, _ = copied(made, replace(NEW, fits={f"{SPACE}station/hub": f"{SPACE}part/TH-30"}))
    joint = catalogue.joints[f"{SPACE}joint/hub-to-wheel"]
    assert joint.only_on == {OLD, f"{SPACE}generation/t2"}
    car = next(c for c in catalogue.cars.values() if c.generation.endswith("t2"))
    met = {mate.joint for mate in clashes(Mating(catalogue), stock_build(catalogue, car))}
    assert joint.iri in met


REFUSED = {
    "a year that ends before it begins": (replace(NEW, years=(2030, 2025)), "comes before"),
    "serials the wrong way round": (replace(NEW, serials=(9, 1)), "serial number 1 comes before"),
    "a generation that is there": (replace(NEW, label="Tiny T1"), "there is a generation “Tiny T1”"),
    "a station that nobody states": (
        replace(NEW, fits={f"{SPACE}station/mast": None}), "there is no station mast",
    ),
    "a part that nobody states": (
        replace(NEW, fits={f"{SPACE}station/hub": f"{SPACE}part/TH-99"}), "there is no part TH-99",
    ),
    "a part where it does not sit": (
        replace(NEW, fits={f"{SPACE}station/hub": f"{SPACE}part/TW-100"}),
        "TW-100 sits at the wheel, not the hub",
    ),
    "a label without a letter": (replace(NEW, label="Tiny …"), "has no letter or digit"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_refused_is(what: str, split: tuple[Facts, Catalogue]) -> None:
    new, words = REFUSED[what]
    with pytest.raises(CopyRefused, match=words):
        copy_generation(*split, OLD, new, SIGNED)


def test_a_generation_without_a_car_cannot_be_followed(split: tuple[Facts, Catalogue]) -> None:
    with pytest.raises(CopyRefused, match="no car is stated"):
        copy_generation(*split, f"{SPACE}generation/none", NEW, SIGNED)


def test_what_the_check_says_of_the_new_generation(split: tuple[Facts, Catalogue]) -> None:
    facts, catalogue = split
    half = replace(NEW, fits={f"{SPACE}station/hub": f"{SPACE}part/TH-30"})
    for new, sound in ((replace(NEW, fits=HD), True), (half, False)):
        after = facts_after(facts, [copy_generation(facts, catalogue, OLD, new, SIGNED)])
        made = catalogue_of(after)
        assert stops(find_faults(after, made, Mating(made))) is not sound
