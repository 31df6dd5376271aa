"""A store on a SPARQL 1.1 endpoint, held against the embedded one. A real server answers: Oxigraph's
own (from PyPI), started on a free port of loopback."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from knockon.reasoner.load import demo_folder, load_catalogue
from knockon.reasoner.upkeep.opening import StoreError
from knockon.reasoner.upkeep.shelf import Outrun
from knockon.reasoner.upkeep.store import create, reading, stated_in, writing
from knockon.reasoner.upkeep.text import quads_in, text_files
from rdflib import XSD, Literal, URIRef

from .edits import BENCH, NOON, edit, facts, store_of
from .services import free_port, served

SERVER = Path(sys.executable).with_name("oxigraph")

pytestmark = pytest.mark.skipif(
    not SERVER.exists(), reason="the Oxigraph server is not installed (pip install oxigraph)"
)


@pytest.fixture
def endpoint() -> Iterator[Path]:
    """An empty service."""
    port = free_port()
    words = [SERVER, "serve", "--bind", f"127.0.0.1:{port}"]
    with served(words, f"http://127.0.0.1:{port}/"):
        yield Path(f"http://127.0.0.1:{port}/query")


def hostile() -> list[tuple[URIRef, URIRef, Literal, URIRef]]:
    """Statements whose texts could break out of a request, or be made another's number."""
    said = [
        Literal('"} ; DROP ALL ; #'), Literal("a\\b\n\r\t\"'"), Literal("é ☃", lang="en-GB"),
        Literal("114.30", datatype=XSD.decimal, normalize=False),
        Literal("007", datatype=XSD.integer, normalize=False),
    ]  # fmt: skip
    part = URIRef("https://knockon.example/part/A-1")
    return [
        (part, URIRef(f"https://knockon.example/ns#x{n}"), o, URIRef(BENCH))
        for n, o in enumerate(said)
    ]


def test_the_demo_read_from_an_endpoint_is_the_demo(endpoint: Path, tmp_path: Path) -> None:
    stated = quads_in(demo_folder())
    version = create(endpoint, stated, "Ann", "2024-01-08T09:00:00Z", "the first book")
    read_version, read_quads = stated_in(endpoint)
    assert (read_version, read_quads) == (version, stated)
    found, text = load_catalogue(endpoint, tmp_path), load_catalogue(None, tmp_path)
    assert dict(found.parts) == dict(text.parts)
    assert dict(found.ends) == dict(text.ends)
    assert dict(found.cars) == dict(text.cars)


def test_an_edit_and_its_undoing_are_as_in_the_embedded_store(
    endpoint: Path, tmp_path: Path
) -> None:
    places = (store_of(endpoint), store_of(tmp_path / "store"))
    for place in places:
        with writing(place) as store:
            store.accept(edit(store.version, hostile()))
            store.accept(edit(store.version, "end:hat ko:teeth 30 ."))
            store.undo("2", "Bea", NOON, "the wrong hat")
    one, other = (stated_in(place) for place in places)
    assert one == other
    assert text_files(one[1]) == text_files(other[1])
    told = []
    for place in places:
        with reading(place) as store:
            told.append([(e.number, e.who, e.why, e.state) for e in store.history()])
    assert told[0] == told[1]


def test_of_two_editors_of_one_version_one_wins(endpoint: Path) -> None:
    store_of(endpoint)
    with writing(endpoint) as mine, writing(endpoint) as hers:
        mine.accept(edit(mine.version, "end:hat ko:teeth 30 ."))
        with pytest.raises(Outrun):
            hers.accept(edit(hers.version, "end:hat ko:teeth 31 ."))
    _, quads = stated_in(endpoint)
    assert facts("src:bench { end:hat ko:teeth 30 . }") <= quads
    assert not facts("src:bench { end:hat ko:teeth 31 . }") & quads


def test_a_service_without_a_store_says_so_in_words(endpoint: Path) -> None:
    with pytest.raises(StoreError) as error:
        stated_in(endpoint)
    assert "store" in str(error.value)


def test_a_service_that_is_not_there_is_named() -> None:
    port = free_port()
    with pytest.raises(StoreError) as error:
        stated_in(Path(f"http://127.0.0.1:{port}/query"))
    assert f"127.0.0.1:{port}" in str(error.value)
