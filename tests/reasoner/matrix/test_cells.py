"""Every cell of the matrix, held against brute force, against one part at a time, and the cascade."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from knockon.reasoner.build import stock_build
from knockon.reasoner.cascade import find_cascade
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.kit_choice import Cell, choose_kit
from knockon.reasoner.mating import Mating
from knockon.reasoner.matrix import cells
from knockon.reasoner.matrix.cells import CarCells
from knockon.reasoner.matrix.remaining import Links
from knockon.reasoner.problem import Wishes

from ..small import SmallCase, small_cases, workable_builds

STATION = "https://knockon.example/station/"
CAR = "https://knockon.example/car/"


@st.composite
def cars(draw: st.DrawFn, *, with_sets: bool) -> SmallCase:
    """Small cars of which some stations are never changed and some parts no longer made.

    Whether that holds for members of matched sets too: trying all builds does not know that a set
    asks for no member where none can come.
    """
    case = draw(small_cases(stations=4))
    catalogue = case.catalogue
    known = sorted(catalogue.parts.values(), key=lambda part: part.iri)
    free = [part for part in known if with_sets or not part.sets]
    tied = {s for part in known if part not in free for s in part.stations}
    fixed = draw(st.sets(st.sampled_from(sorted(catalogue.stations)), max_size=2)) - tied
    gone = draw(st.sets(st.sampled_from([part.iri for part in free]), max_size=3))
    changed = replace(
        catalogue,
        stations={s: replace(v, fixed=s in fixed) for s, v in catalogue.stations.items()},
        parts={
            p: replace(v, superseded_by=("p-new",) if p in gone else ())
            for p, v in catalogue.parts.items()
        },
    )
    return SmallCase(changed, case.build, Wishes())


def smallest(case: SmallCase, station: str, part: str, *, strict: bool) -> frozenset[str] | None:
    """The first of the smallest sets of other stations that change, by trying all builds."""
    fits = case.build.fits
    if fits[station] == part:
        return frozenset()
    asked = replace(case, wishes=Wishes({station: part}))
    changes = [
        sorted(s for s, p in plan.items() if p != fits[s] and s != station)
        for plan in workable_builds(asked, strict=strict)
    ]
    return frozenset(min(changes, key=lambda c: (len(c), c))) if changes else None


def cells_of(case: SmallCase) -> list[Cell]:
    car = CarCells(Links(case.catalogue), case.build)
    return [c for s in case.build.fits for c in car.at(s, case.catalogue.parts_at(s))]


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(cars(with_sets=False))
def test_every_cell_is_what_trying_all_builds_finds(case: SmallCase) -> None:
    for cell in cells_of(case):
        for strict, found in ((False, cell.least), (True, cell.strictly)):
            assert found == smallest(case, cell.station, cell.part, strict=strict), cell


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(cars(with_sets=True))
def test_every_cell_is_what_asking_for_that_part_alone_gives(case: SmallCase) -> None:
    for cell in cells_of(case):
        mating = Mating(case.catalogue)
        choice = choose_kit(mating, [cell.part], [case.build], station=cell.station)
        assert choice.ranking[0].row == (cell,)


def _cells(catalogue: Catalogue, *cars: str) -> list[Cell]:
    links = Links(catalogue)
    found: list[Cell] = []
    for car in cars:
        one = CarCells(links, stock_build(catalogue, catalogue.cars[CAR + car]))
        for station in one.build.fits:
            found.extend(one.at(station, catalogue.parts_at(station)))
    return found


def test_the_matrix_of_a_car_is_what_questions_about_it_are_answered(
    demo: Catalogue, demo_mating: Mating
) -> None:
    build = stock_build(demo, demo.cars[CAR + "w2-late"])
    for at, cell in enumerate(_cells(demo, "w2-late")):
        if at % 7 == 0:
            choice = choose_kit(demo_mating, [cell.part], [build], station=cell.station)
            assert choice.ranking[0].row == (cell,)
        if at % 21 == 0 and build.fits[cell.station] != cell.part:
            cascade = find_cascade(demo_mating, build, Wishes({cell.station: cell.part}))
            assert cascade.workable is (cell.least is not None)
            assert cascade.strictly_workable is (cell.strictly is not None)
            if cell.least is not None:
                assert len(cascade.ways[0].stations - {cell.station}) == cell.count


def test_where_very_many_parts_are_left_each_is_asked_about_by_itself(
    demo: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    stations = [STATION + name for name in ("rear-hub", "body", "gearbox")]
    build = stock_build(demo, demo.cars[CAR + "w2-late"])

    def found() -> list[Cell]:
        car = CarCells(Links(demo), build)
        return [cell for s in stations for cell in car.at(s, demo.parts_at(s))]

    together = found()
    monkeypatch.setattr(cells, "_MOST_WHOLE", 10)
    assert found() == together


def test_a_car_that_nothing_is_left_for_still_keeps_what_it_has(tiny: Catalogue) -> None:
    fixed = {s: replace(station, fixed=True) for s, station in tiny.stations.items()}
    catalogue = replace(tiny, stations=fixed)
    found = {cell.part.rsplit("/", 1)[-1]: cell.count for cell in _cells(catalogue, "tiny")}
    assert found == {
        "TH-27": 0, "TH-30": None, "TS-27": 0, "TS-30": None, "TW-100": 0, "TW-120": None,
    }  # fmt: skip
