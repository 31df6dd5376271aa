"""The synthetic catalogues that the benchmarks measure: the same every time, sound, and alive."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest
from knockon.benchmarks.catalogues import Size, line_of, one_more_generation, questions, write
from knockon.benchmarks.trig import generation_text
from knockon.reasoner.build import clashes, modified, stock_build
from knockon.reasoner.cascade import find_cascade
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.load import load_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Wishes

TINY = Size(120, 2)


@pytest.fixture(scope="module")
def tiny_synthetic(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    folder: Path = tmp_path_factory.mktemp("synthetic")
    write(TINY, folder / "data")
    return load_catalogue(folder / "data", folder / "cache")


def _digest(number: int) -> str:
    grown = [gen for _, gen in line_of(Size(1000, 10), number)]
    text = "".join(piece for gen in grown for piece in generation_text(gen))
    return sha256(text.encode()).hexdigest()[:16]


def test_the_same_numbers_give_the_same_text_on_every_machine() -> None:
    assert (_digest(1), _digest(2)) == ("7516d08e8eeb09de", "f21aa7f7cea1f3a0")


def test_a_small_catalogue_has_its_parts_and_every_stock_build_is_sound(
    tiny_synthetic: Catalogue,
) -> None:
    assert len(tiny_synthetic.parts) == TINY.parts
    assert len(tiny_synthetic.generations) == TINY.generations
    mating = Mating(tiny_synthetic)
    for car in tiny_synthetic.cars.values():
        assert not clashes(mating, stock_build(tiny_synthetic, car)), car.label


def test_all_twelve_kinds_of_interface_occur(tiny_synthetic: Catalogue) -> None:
    assert len({end.kind for end in tiny_synthetic.ends.values()}) == 12


def test_parts_of_a_sister_generation_do_not_all_just_go_on(tiny_synthetic: Catalogue) -> None:
    mating = Mating(tiny_synthetic)
    asked = questions(TINY, 6)
    assert len(asked) == 6
    knocked = 0
    for question in asked:
        part, station, car = question.iris
        build = modified(stock_build(tiny_synthetic, tiny_synthetic.cars[car]), {station: part})
        knocked += bool(clashes(mating, build))
    assert knocked >= 4


def test_one_more_generation_adds_to_its_line_and_says_nothing_twice() -> None:
    name, text = one_more_generation(TINY)
    assert name == "l001-g3.trig"
    assert "gen:l001-g3 a ko:Generation" in text
    assert "gen:l001-g2 a ko:Generation" not in text


def test_what_another_house_makes_changes_no_answer(tmp_path: Path) -> None:
    alone, beside = Size(600, 10), Size(1200, 20, houses=2)
    answers = []
    for size in (alone, beside):
        folder = tmp_path / str(size.parts)
        write(size, folder)
        catalogue = load_catalogue(folder, tmp_path / "cache")
        assert len(catalogue.parts) == size.parts
        mating, found = Mating(catalogue), []
        for car in catalogue.cars.values():
            assert not clashes(mating, stock_build(catalogue, car)), car.label
        for question in questions(alone, 25):
            part, station, car_iri = question.iris
            build = stock_build(catalogue, catalogue.cars[car_iri])
            cascade = find_cascade(mating, build, Wishes({station: part}))
            # Why nothing else would do speaks of all parts there are, of any house.
            verdicts = tuple(replace(k, chains=()) for k in cascade.knock_ons)
            found.append(replace(cascade, conflict=None, knock_ons=verdicts))
        answers.append(found)
    assert answers[0] == answers[1]
    assert sum(cascade.workable for cascade in answers[0]) > 12
