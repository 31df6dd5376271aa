"""How long reading and checking take, and the screen against the SHACL engine on many more cases.

Ten thousand parts in 200 generations.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from knockon.benchmarks.catalogues import Size, one_more_generation, write
from knockon.reasoner.closure import close
from knockon.reasoner.files import TextFile, catalogue_files
from knockon.reasoner.grouped import by_property
from knockon.reasoner.load import ontology_folder
from knockon.reasoner.reading import Facts, Triple, read_facts
from knockon.reasoner.screen import find_suspects, shape_book
from knockon.reasoner.sense import check_sense
from knockon.reasoner.standing_check import StandingCheck
from knockon.reasoner.statements import check_statements
from pytest_benchmark.fixture import BenchmarkFixture

from ..reasoner.mutations import closed, full_little_files, spoilt
from ..reasoner.test_screen import SPOILT, assert_as_the_engine

SIZE = Size(10_000, 200)
Made = tuple[tuple[TextFile, ...], Facts, frozenset[Triple]]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A catalogue's files, its facts and what follows from them."""
    folder: Path = tmp_path_factory.mktemp("catalogue")
    write(SIZE, folder)
    files = catalogue_files(ontology_folder(), folder)
    facts = read_facts(files)
    return files, facts, close(facts)


def test_reading(benchmark: BenchmarkFixture, made: Made) -> None:
    facts = benchmark.pedantic(read_facts, args=(made[0],), rounds=3)
    assert len(facts.sources) == len(made[1].sources)


def test_screening_by_shapes(benchmark: BenchmarkFixture, made: Made) -> None:
    _, facts, derived = made

    def screen() -> bool:
        book = shape_book(facts)
        links = book.links(by_property(facts.sources), by_property(derived))
        return bool(find_suspects(book, links))

    assert not benchmark.pedantic(screen, rounds=3)


def test_statements_and_sense(benchmark: BenchmarkFixture, made: Made) -> None:
    _, facts, derived = made

    def check() -> list[object]:
        return [*check_statements(facts), *check_sense(facts, derived)]

    assert benchmark.pedantic(check, rounds=3) == []


def test_one_more_generation(benchmark: BenchmarkFixture, made: Made) -> None:
    files, facts, derived = made
    name, text = one_more_generation(SIZE, 1)
    after = read_facts((*files, TextFile(f"more/{name}", text, ontology=False)))
    follows = close(after)
    added = [t for t in after.sources if t not in facts.sources]
    new, gone = follows - derived, derived - follows
    check = StandingCheck(facts, derived)

    def there_and_back() -> None:
        check.change(after, added, (), new, gone)
        check.change(facts, (), added, gone, new)

    benchmark.pedantic(there_and_back, rounds=5)


def test_catalogues_spoilt_at_random_are_refused_as_by_the_engine(
    benchmark: BenchmarkFixture,
) -> None:
    sound = closed(full_little_files())

    def compare(seeds: range) -> int:
        times = (3, 60, 150)
        return sum(
            assert_as_the_engine(spoilt(sound, Random(seed), times[seed % 3], SPOILT))
            for seed in seeds
        )

    assert benchmark.pedantic(compare, args=(range(1000, 1060),), rounds=1) > 1000
