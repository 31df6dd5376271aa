"""What is looked up is what walking through the whole catalogue would find."""

from __future__ import annotations

import pickle
from dataclasses import replace
from pathlib import Path

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.compiled import open_compiled, write_compiled
from knockon.reasoner.lookups import LOOKUPS, Lookups
from knockon.reasoner.shelf import Shelf


@pytest.mark.parametrize("name", LOOKUPS)
def test_a_compiled_lookup_says_what_is_found_by_walking(demo: Catalogue, name: str) -> None:
    kept = demo.lookups.table(name)
    assert isinstance(kept, Shelf)
    assert dict(kept) == dict(Lookups(demo).table(name))
    assert len(kept)


def test_a_changed_catalogue_is_looked_up_anew(demo: Catalogue) -> None:
    fewer = replace(demo, cars={iri: demo.cars[iri] for iri in list(demo.cars)[:1]})
    (car,) = fewer.cars.values()
    assert fewer.cars_of(car.generation) == fewer.cars_of(car.iri) == (car,)
    assert set(fewer.lookups.cars_with) == {fit.part for fit in car.fits.values() if fit.part}
    assert len(demo.lookups.cars_with) > len(fewer.lookups.cars_with)


def test_the_cars_of_a_line_are_those_of_its_generations(demo: Catalogue) -> None:
    for iri in (*demo.lines, *demo.generations):
        expected = [c for c in demo.cars.values() if iri in (c.generation, c.line)]
        assert list(demo.cars_of(iri)) == expected
    assert demo.cars_of("nobody") == ()


def test_everything_is_called_by_its_label(demo: Catalogue) -> None:
    for table in (demo.parts, demo.stations, demo.cars, demo.families, demo.joints, demo.sources):
        assert all(demo.name(iri) == thing.label for iri, thing in table.items())
    assert demo.name("https://knockon.example/part/nobody") == "nobody"


def test_what_was_worked_out_is_not_sent_along(tiny: Catalogue, tmp_path: Path) -> None:
    write_compiled(tiny, tmp_path / "tiny.catalogue")
    compiled = open_compiled(tmp_path / "tiny.catalogue")
    assert tiny.lookups.places == compiled.lookups.places
    again = pickle.loads(pickle.dumps(compiled))
    assert again.lookups.places is compiled.lookups.places
    assert pickle.loads(pickle.dumps(tiny)).lookups.works == compiled.lookups.works
