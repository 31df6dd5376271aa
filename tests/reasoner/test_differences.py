"""What differs between cars, and where a part fits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from knockon.reasoner.build import modified, stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.differences import (
    Change,
    StationDifference,
    builds_of,
    compare_parts,
    find_differences,
)
from knockon.reasoner.least_change import least_change
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Problem, ReasonKind, Wishes
from knockon.reasoner.verdicts import Search
from knockon.reasoner.where_fits import Fitment, Fits, fit_at, where_fits

from ..conftest import TINY_DATA, part
from .small import SmallCase, irredundant_ways, small_cases

PART, CAR = "https://knockon.example/part/", "https://knockon.example/car/"
GEN, STATION = "https://knockon.example/generation/", "https://knockon.example/station/"
ROLE = "https://knockon.example/role/"

TWO_CARS = (
    TINY_DATA
    + """
src:drawings {
gen:tiny-2 a ko:Generation ; skos:prefLabel "Tiny T2" .
car:heavy a ko:Car ; skos:prefLabel "Tiny T2 heavy" ; ko:ofGeneration gen:tiny-2 ;
    ko:body ko:Wide ; ko:has [ ko:atStation st:hub ; ko:part part:TH-30 ] ,
           [ ko:atStation st:shaft ; ko:part part:TS-30 ] ,
           [ ko:atStation st:wheel ; ko:part part:TW-120 ] .
car:plain a ko:Car ; skos:prefLabel "Tiny T2 plain" ; ko:ofGeneration gen:tiny-2 ;
    ko:body ko:Narrow ;
    ko:basedOn car:tiny ; ko:has [ ko:atStation st:wheel ; ko:part part:TW-101 ] .
car:stub a ko:Car ; skos:prefLabel "Tiny T2 stub" ; ko:ofGeneration gen:tiny-2 ;
    ko:body ko:Narrow ;
    ko:has [ ko:atStation st:shaft ; ko:part part:TS-27 ] .
"""
    + part("TW-101", "wheel-100", "small wheel, painted")
    + "}\n"
)  # fmt: skip


@pytest.fixture(scope="module")
def two(build_tiny: Callable[..., Catalogue]) -> Catalogue:
    """The tiny car, and a second generation with a heavy and a plain build."""
    return build_tiny(TWO_CARS)


def by_station(found: tuple[StationDifference, ...]) -> dict[str, StationDifference]:
    return {d.station.removeprefix(STATION): d for d in found}


def test_two_cars_differ_in_the_ends_and_values_of_each_station(two: Catalogue) -> None:
    light, heavy = (builds_of(two, CAR + name) for name in ("tiny", "heavy"))
    found = by_station(find_differences(two, light, heavy))
    assert {d.change for d in found.values()} == {Change.DIFFERENT}
    [hub] = found["hub"].parts
    face, spline = hub.ends
    assert (face.role, spline.role) == (ROLE + "hub-face", ROLE + "hub-spline")
    assert [v.quantity for v in face.values] == ["circleDiameter", "pilot"]
    [teeth] = spline.values
    assert (teeth.first[0].value, teeth.second[0].value) == (27, 30)
    assert teeth.first[0].sources == ("https://knockon.example/source/drawings",)
    assert not hub.fits_alike


def test_a_car_does_not_differ_from_itself(two: Catalogue) -> None:
    light = builds_of(two, CAR + "tiny")
    found = find_differences(two, light, light)
    assert {d.change for d in found} == {Change.SAME}
    assert not any(d.parts for d in found)


def test_another_number_with_the_same_ends_fits_alike(two: Catalogue) -> None:
    found = by_station(
        find_differences(two, builds_of(two, CAR + "tiny"), builds_of(two, CAR + "plain"))
    )
    assert found["hub"].change is Change.SAME
    assert found["wheel"].change is Change.DIFFERENT
    [wheels] = found["wheel"].parts
    assert wheels.ends == ()
    assert wheels.fits_alike


def test_a_generation_of_several_builds_may_keep_a_part_on_some(two: Catalogue) -> None:
    found = by_station(
        find_differences(two, builds_of(two, GEN + "tiny"), builds_of(two, GEN + "tiny-2"))
    )
    assert found["hub"].change is Change.PARTLY
    assert found["hub"].second == {
        PART + "TH-27": ("Tiny T2 plain",),
        PART + "TH-30": ("Tiny T2 heavy",),
    }
    narrow = builds_of(two, GEN + "tiny-2", "narrow")
    assert [build.name for build in narrow] == ["Tiny T2 plain", "Tiny T2 stub"]


def test_a_station_on_one_car_alone_is_said_so(two: Catalogue) -> None:
    stub = builds_of(two, CAR + "stub")
    found = by_station(find_differences(two, builds_of(two, CAR + "tiny"), stub))
    assert found["hub"].change is Change.ONLY_FIRST
    back = by_station(find_differences(two, stub, builds_of(two, CAR + "tiny")))
    assert back["hub"].change is Change.ONLY_SECOND


def test_a_modified_car_differs_from_stock_where_it_was_modified(two: Catalogue) -> None:
    stock = stock_build(two, two.cars[CAR + "tiny"])
    mine = modified(stock, {STATION + "wheel": PART + "TW-101"}, "mine")
    found = find_differences(two, [stock], [mine])
    assert [d.station for d in found if d.change is not Change.SAME] == [STATION + "wheel"]


def test_values_within_the_house_tolerance_are_told_from_those_beyond(
    build_tiny: Callable[..., Catalogue],
) -> None:
    nearly = "ko:circleDiameter 100.1 ; ko:pilot 56.1"
    data = build_tiny(TINY_DATA.replace("ko:circleDiameter 120.0 ; ko:pilot 72.5", nearly))
    hubs = compare_parts(data, PART + "TH-27", PART + "TH-30")
    [circle] = hubs.ends[0].values
    assert circle.quantity == "circleDiameter"
    assert circle.within
    assert not hubs.fits_alike  # the spline still differs


def test_nothing_of_that_name_is_an_error(two: Catalogue) -> None:
    with pytest.raises(KeyError):
        builds_of(two, GEN + "tiny-2", "wider still")


# ---------------------------------------------------------------- where a part fits


def fitments(two: Catalogue, number: str) -> dict[str, Fitment]:
    found = where_fits(Mating(two), PART + number)
    return {f.build: f for f in found}


def test_the_stronger_half_shaft_wants_the_stronger_hub_and_its_wheel(two: Catalogue) -> None:
    """Fact of the trade no. 8 (common practice)."""
    found = fitments(two, "TS-30")
    light, heavy = found["Tiny T1 light"], found["Tiny T2 heavy"]
    assert heavy.fits is Fits.STOCK
    assert light.fits is Fits.WITH_CHANGES
    assert light.least == {STATION + "hub", STATION + "wheel"}
    assert light.proven


def test_the_cars_on_which_it_is_easiest_come_first(two: Catalogue) -> None:
    found = where_fits(Mating(two), PART + "TW-101")
    assert [(f.build, f.fits) for f in found] == [
        ("Tiny T2 plain", Fits.STOCK),
        ("Tiny T1 light", Fits.AS_IS),
        ("Tiny T2 heavy", Fits.WITH_CHANGES),
        ("Tiny T2 stub", Fits.NO_STATION),
    ]


def test_what_does_not_fit_at_all_says_why(two: Catalogue) -> None:
    only_light = replace(two, parts={i: p for i, p in two.parts.items() if i != PART + "TH-30"})
    cars = {CAR + "tiny": two.cars[CAR + "tiny"]}
    [light] = where_fits(Mating(replace(only_light, cars=cars)), PART + "TS-30")
    assert light.fits is Fits.NOT_AT_ALL
    assert {r.kind for r in light.why_not} == {ReasonKind.FIT, ReasonKind.JOINT}


def test_a_part_of_unknown_size_fits_until_somebody_measures(
    build_tiny: Callable[..., Catalogue],
) -> None:
    data = build_tiny(
        TWO_CARS.replace("ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.6", "ko:bolts 5")
    )
    found = fitments(data, "TW-120")
    light = found["Tiny T1 light"]
    assert light.fits is Fits.AS_IS
    assert light.strictly is not Fits.AS_IS
    assert not light.proven


calm = settings(
    max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


@pytest.mark.parametrize("strict", [False, True], ids=["kindly", "strictly"])
@calm
@given(case=small_cases())
def test_the_least_change_is_the_smallest_of_all_ways(strict: bool, case: SmallCase) -> None:
    fitted = set(case.wishes.fits)
    ways = {way - fitted for way in irredundant_ways(case, strict=strict)}
    problem = Problem(Mating(case.catalogue), case.build, case.wishes)
    with Search(problem, strict=strict) as search:
        least = least_change(search)
    if not ways:
        assert least is None
    else:
        assert least in ways
        assert len(least) == min(len(way) for way in ways)


@calm
@given(case=small_cases())
def test_where_a_part_fits_agrees_with_looking_at_every_build(case: SmallCase) -> None:
    [(station, wanted)] = case.wishes.fits.items()
    free = SmallCase(case.catalogue, case.build, Wishes({station: wanted}))
    found = fit_at(Mating(case.catalogue), wanted, case.build, station)
    for strict, fits in ((False, found.fits), (True, found.strictly)):
        ways = irredundant_ways(free, strict=strict)
        expected = (
            Fits.NOT_AT_ALL if not ways
            else Fits.AS_IS if frozenset({station}) in ways else Fits.WITH_CHANGES
        )  # fmt: skip
        assert fits is expected
    assert bool(found.why_not) == (found.fits is Fits.NOT_AT_ALL)
    assert bool(found.doubts) == (
        found.strictly is Fits.NOT_AT_ALL and found.fits is not Fits.NOT_AT_ALL
    )
