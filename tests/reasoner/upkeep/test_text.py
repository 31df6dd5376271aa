"""A catalogue as text: what is exported is read back the same, and the same facts are the same bytes."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueFileError
from knockon.reasoner.files import TextFile, fingerprint
from knockon.reasoner.load import build_catalogue, demo_folder
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.changes import ChangeConflicts, ChangeRefused
from knockon.reasoner.upkeep.quads import NotAStatement, Quad, named, quads_of, version_of
from knockon.reasoner.upkeep.text import (
    FolderRefused,
    edit_text,
    quads_in,
    statements_in,
    text_files,
    write_edit,
    write_folder,
)

from ...conftest import TINY_DATA, tiny_files, tolerances
from .edits import PREFIXES, TWO_ENDS, bench, edit, facts, quad_sets, store_of


@given(quad_sets)
def test_what_is_exported_is_read_back_the_same(quads: frozenset[Quad]) -> None:
    assert quads_of(read_facts(text_files(quads))) == quads


@given(quad_sets)
def test_an_export_of_an_export_is_the_same_bytes(quads: frozenset[Quad]) -> None:
    files = text_files(quads)
    assert text_files(quads_of(read_facts(files))) == files
    assert text_files(sorted(quads, reverse=True)) == files


def test_the_demo_is_exported_and_read_back_the_same(tmp_path: Path) -> None:
    quads = quads_in(demo_folder())
    write_folder(quads, tmp_path)
    assert quads_in(tmp_path) == quads


def test_the_exported_text_makes_the_same_catalogue(tiny: Catalogue) -> None:
    data = (tolerances(), TextFile("data/tiny.trig", TINY_DATA, ontology=False))
    vocabulary = tuple(file for file in tiny_files() if file.ontology)
    exported = text_files(quads_of(read_facts(data)))
    files = (*vocabulary, *exported)
    again = build_catalogue(tiny.version, files)
    assert fingerprint(files) != tiny.version
    assert again == tiny


def test_an_export_reads_as_a_person_would_write_it() -> None:
    envelope, spline, drawn = text_files(facts(TWO_ENDS + "src:bench { src:bench ko:x true . }"))[
        :3
    ]
    assert envelope.name == "data/bench/end.trig"
    assert envelope.text == (
        "# Written by knockon. What bench states, by kind: end.\n"
        "@prefix end: <https://knockon.example/end/> .\n"
        "@prefix ko: <https://knockon.example/ns#> .\n"
        "@prefix src: <https://knockon.example/source/> .\n"
        "src:bench {\n"
        "\n"
        "end:hat a ko:Envelope ;\n"
        "    ko:step [ ko:from 0 ; ko:radius 110.50 ; ko:to 42 ] .\n"
        "\n"
        "end:spline a ko:Spline ;\n"
        "    ko:module 1.0 ;\n"
        "    ko:teeth 27 .\n"
        "\n"
        "}\n"
    )
    assert spline.name == "data/bench/source.trig"
    assert drawn.name == "data/drawings/end.trig"


def test_a_long_list_is_written_as_a_list() -> None:
    numbers = " ".join(map(str, range(3000)))
    quads = bench(f"end:a ko:mayRead ( {numbers} ) .")
    (file,) = text_files(quads)
    assert f"ko:mayRead ( {numbers} )" in file.text
    assert quads_of(read_facts([file])) == quads


def test_names_from_elsewhere_get_files_of_their_own() -> None:
    odd = "<https://elsewhere.example/x> { <urn:a:b> ko:note 'x' . [] ko:note 'y' . }"
    assert [file.name for file in text_files(facts(odd))] == [
        "data/source-71bf1508dd8e/other.trig",
        "data/source-71bf1508dd8e/record.trig",
    ]


def test_a_second_export_takes_away_what_is_no_longer_stated(tmp_path: Path) -> None:
    write_folder(facts(TWO_ENDS), tmp_path)
    assert (tmp_path / "drawings" / "end.trig").exists()
    write_folder(bench("end:a ko:teeth 3 ."), tmp_path)
    assert not (tmp_path / "drawings").exists()
    assert quads_in(tmp_path) == bench("end:a ko:teeth 3 .")


def test_an_export_leaves_hand_written_text_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.trig").write_text(PREFIXES + TWO_ENDS)
    with pytest.raises(FolderRefused, match="not written by an export"):
        write_folder(facts(TWO_ENDS), tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["mine.trig"]


def test_an_export_does_not_go_into_a_store(tmp_path: Path) -> None:
    store = store_of(tmp_path / "shop")
    with pytest.raises(FolderRefused, match="is a store"):
        write_folder(facts(TWO_ENDS), store)


def test_facts_without_a_source_do_not_enter_a_store(tmp_path: Path) -> None:
    (tmp_path / "loose.trig").write_text(PREFIXES + "end:a ko:teeth 3 .")
    with pytest.raises(NotAStatement, match=r"loose\.trig states a outside the graph"):
        quads_in(tmp_path)
    with pytest.raises(CatalogueFileError, match="no such folder"):
        quads_in(tmp_path / "nowhere")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "mine.trig").write_text(f"# by hand\n{PREFIXES}{TWO_ENDS}")
    return tmp_path


def test_an_edit_of_text_is_one_new_file_and_nothing_is_rewritten(folder: Path) -> None:
    before = (folder / "mine.trig").read_text()
    change = edit(quads_in(folder), "end:spline ko:pressureAngle 30.0 .", why="on\nthe bench")
    path = write_edit(folder, change.id, edit_text(folder, change))
    assert path.name == f"0001-{change.id}.trig"
    assert path.read_text().startswith(
        f"# Edit {change.id}, accepted 2024-05-01T12:00:00Z by Ann: on the bench\n"
    )
    assert (folder / "mine.trig").read_text() == before
    assert quads_in(folder) == facts(TWO_ENDS) | set(change.added)
    assert write_edit(folder, "next", "").name == "0002-next.trig"


def test_an_edit_of_text_that_takes_away_says_where_to_do_it_by_hand(folder: Path) -> None:
    change = edit(quads_in(folder), "end:spline ko:teeth 28 .", "end:spline ko:teeth 27 .")
    with pytest.raises(ChangeRefused, match=r"mine\.trig, line 9"):
        edit_text(folder, change)


def test_an_edit_of_other_text_than_it_was_made_on_is_compared_with_what_is_there(
    folder: Path,
) -> None:
    older = bench("end:other ko:teeth 3 .")
    with pytest.raises(ChangeConflicts, match="another version"):
        edit_text(folder, edit(older, "end:spline ko:teeth 29 ."))
    assert "pressureAngle" in edit_text(folder, edit(older, "end:spline ko:pressureAngle 30.0 ."))
    with pytest.raises(ChangeRefused, match="stated already"):
        edit_text(folder, edit(quads_in(folder), "end:spline ko:teeth 27 ."))


@pytest.mark.parametrize(
    ("name", "text", "what"),
    [
        ("edit.docx", "", r"to end in \.trig"),
        ("edit.trig", "src:bench {", "line 1"),
        ("edit.jsonld", '{"@context": "https://elsewhere.example/c", "a": 1}', "context"),
        ("edit.ttl", "\udcff", "not UTF-8"),
    ],
)
def test_a_file_that_is_not_what_its_name_says_is_refused(
    tmp_path: Path, name: str, text: str, what: str
) -> None:
    file = tmp_path / name
    file.write_bytes(text.encode(errors="surrogateescape"))
    with pytest.raises(ChangeRefused, match=what):
        statements_in(file, "https://knockon.example/source/bench")


def test_plain_turtle_is_stated_by_the_source_that_is_named(tmp_path: Path) -> None:
    file = tmp_path / "edit.ttl"
    file.write_text(f"{PREFIXES} end:hat ko:step [ ko:radius 110 ] .")
    found = named(statements_in(file, "https://knockon.example/source/bench"))
    assert version_of(found) == version_of(bench("end:hat ko:step [ ko:radius 110 ] ."))
