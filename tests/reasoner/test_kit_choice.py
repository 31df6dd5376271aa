"""Which part needs least change across several cars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from itertools import islice

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner.build import Build, modified
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.differences import builds_of
from knockon.reasoner.kit_choice import KitAim, KitChoice, choose_kit, kit_parts
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Wishes

from .small import SmallCase, irredundant_ways, small_cases, workable_builds
from .test_differences import CAR, GEN, PART, STATION, TWO_CARS

HUBS = (PART + "TH-27", PART + "TH-30")


@pytest.fixture(scope="module")
def two(build_tiny: Callable[..., Catalogue]) -> Catalogue:
    """The tiny car, and a second generation with a heavy and a plain build."""
    return build_tiny(TWO_CARS)


def counts(choice: KitChoice) -> dict[str, list[int | None]]:
    return {r.part.removeprefix(PART): [cell.count for cell in r.row] for r in choice.ranking}


def test_the_matrix_says_how_many_stations_change_on_each_car(two: Catalogue) -> None:
    builds = [*builds_of(two, CAR + "tiny"), *builds_of(two, CAR + "heavy")]
    choice = choose_kit(Mating(two), HUBS, builds)
    assert choice.builds == ("Tiny T1 light", "Tiny T2 heavy")
    assert counts(choice) == {"TH-27": [0, 2], "TH-30": [2, 0]}
    assert choice.best is not None
    assert choice.best.part == PART + "TH-27"  # a tie, so the lower number


def test_two_light_cars_against_one_heavy_choose_the_light_hub(two: Catalogue) -> None:
    names = (GEN + "tiny", CAR + "plain", CAR + "heavy")
    builds = [build for name in names for build in builds_of(two, name)]
    choice = choose_kit(Mating(two), HUBS, builds)
    assert [(r.part.removeprefix(PART), r.total, r.worst) for r in choice.ranking] == [
        ("TH-27", 2, 2),
        ("TH-30", 4, 2),
    ]


def test_a_tie_goes_to_the_cheaper_part_and_an_unknown_price_comes_last(two: Catalogue) -> None:
    builds = [*builds_of(two, CAR + "tiny"), *builds_of(two, CAR + "heavy")]
    priced = {HUBS[1]: replace(two.parts[HUBS[1]], price=Decimal(90))}
    choice = choose_kit(Mating(replace(two, parts={**two.parts, **priced})), HUBS, builds)
    assert [r.part for r in choice.ranking] == [HUBS[1], HUBS[0]]


def test_a_car_without_the_station_cannot_take_the_part(two: Catalogue) -> None:
    choice = choose_kit(Mating(two), HUBS, builds_of(two, CAR + "stub"))
    assert counts(choice) == {"TH-27": [None], "TH-30": [None]}
    assert choice.best is None


def test_the_parts_of_a_station_are_the_ones_to_choose_from(two: Catalogue) -> None:
    assert kit_parts(Mating(two), station=STATION + "hub") == HUBS
    family = two.parts[HUBS[1]].family
    assert kit_parts(Mating(two), family=family) == HUBS[1:]


def _by_hand(case: SmallCase, build: Build, part: str, *, strict: bool) -> int | None:
    [station] = case.wishes.fits
    if build.fits[station] == part:
        return 0
    tried = SmallCase(case.catalogue, build, Wishes({station: part}))
    ways = irredundant_ways(tried, strict=strict)
    return min((len(way) - 1 for way in ways), default=None)


@settings(
    max_examples=80, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
@given(case=small_cases(stations=4), strict=st.booleans(), aim=st.sampled_from(KitAim))
def test_the_choice_is_that_of_counting_every_build_by_hand(
    case: SmallCase, strict: bool, aim: KitAim
) -> None:
    [station] = case.wishes.fits
    builds = [case.build]
    for plan in islice(workable_builds(case, strict=False), 1):
        builds.append(modified(case.build, plan, "changed before"))
    parts = kit_parts(Mating(case.catalogue), station=station)
    choice = choose_kit(
        Mating(case.catalogue), parts, builds, station=station, aim=aim, strict=strict
    )
    expected = {part: [_by_hand(case, b, part, strict=strict) for b in builds] for part in parts}
    found = {
        r.part: [cell.strict_count if strict else cell.count for cell in r.row]
        for r in choice.ranking
    }
    assert found == expected

    def worth(part: str) -> tuple[int, int, str]:
        counted = [n for n in expected[part] if n is not None]
        merged = sum(counted) if aim is KitAim.TOTAL else max(counted, default=0)
        return len(builds) - len(counted), merged, part

    assert [r.part for r in choice.ranking] == sorted(parts, key=worth)
