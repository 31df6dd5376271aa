"""Files are read as they are written, or refused with the file, the line and what stands there."""

from __future__ import annotations

import gc
import logging
from pathlib import Path

import pytest
from knockon.reasoner.errors import CatalogueFileError
from knockon.reasoner.files import TextFile, catalogue_files, fingerprint
from knockon.reasoner.places_in_text import line_of
from knockon.reasoner.reading import Facts, read_facts
from rdflib import Literal, URIRef
from rdflib.term import BNode

from ..conftest import PREFIXES, tiny_files

GOOD = PREFIXES + 'src:s { part:a skos:prefLabel "a" . }\n'
LINES = PREFIXES.count("\n")


def _read(text: str, name: str = "data/x.trig") -> Facts:
    return read_facts([TextFile(name, text, False)])


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("src:s { part:a skos:prefLabel ; }", 1, "is not a valid RDF object"),
        ("src:s {\n part:a ko:price 1.2.3 .\n}", 2, "near “.3 .”"),
        ("src:s {\n part:a ko:price 1.2 \n part:b ko:price 1.3 . }", 3, "near “part:b ko:price"),
        ("src:s {\n part:a skos:prefLabel “hub” .\n}", 2, "“hub”"),
        ('src:s {\n part:a skos:prefLabel "hub .\n}\n', 2, "Unexpected end of file"),
        ("src:s {\n\n part:a ko:part [ ko:place 1 .\n}", 3, "should end with a ']'"),
        ("src:s {\n sorce:a ko:price 1.0 .\n}", 2, "The prefix sorce: has not been declared"),
        ("src:s {\n part:a ko:price 1.0 .", 2, "Unexpected end"),
        ('src:s {\n part:a "price" 1.0 .\n}', 2, "is not a valid predicate"),
        ("src:s {\n <part a> ko:price 1.0 .\n}", 2, "Invalid IRI"),
    ],
)
def test_broken_turtle_is_refused_with_file_line_and_what(text: str, line: int, words: str) -> None:
    with pytest.raises(CatalogueFileError) as refused:
        _read(PREFIXES + text)
    error = refused.value
    assert (error.file, error.line) == ("data/x.trig", LINES + line)
    assert words in error.what
    assert str(error).startswith(f"data/x.trig, line {LINES + line}: ")
    assert "Parser error" not in error.what


def test_a_number_with_two_points_is_never_read_as_half_of_it() -> None:
    with pytest.raises(CatalogueFileError, match=r"\.3"):
        _read(PREFIXES + "src:s { end:a ko:pilot 72.5.3 . }")


def test_a_number_that_is_none_is_kept_for_the_checks_and_logs_no_traceback(
    caplog: pytest.LogCaptureFixture,
) -> None:
    with caplog.at_level(logging.WARNING):
        facts = _read(PREFIXES + 'src:s { end:a ko:teeth "many"^^xsd:integer . }')
    assert [str(o) for _, _, o in facts.sources] == ["many"]
    assert caplog.text == ""


def test_numbers_keep_every_digit_they_were_written_with() -> None:
    facts = _read(PREFIXES + "src:s { end:a ko:pilot 72.50 ; ko:circleDiameter 120 . }")
    assert sorted(str(o) for _, _, o in facts.sources) == ["120", "72.50"]


def test_a_fact_remembers_every_source_that_states_it() -> None:
    facts = _read(PREFIXES + "src:b { end:a ko:teeth 27 . } src:a { end:a ko:teeth 27 . }")
    space = "https://knockon.example/source/"
    assert list(facts.sources.values()) == [(f"{space}a", f"{space}b")]


def test_facts_outside_any_graph_are_known_to_have_no_source() -> None:
    facts = _read(PREFIXES + "end:a ko:teeth 27 . _:g { end:b ko:teeth 27 . }")
    assert [str(s).rsplit("/", 1)[1] for (s, _, _), _ in facts.unsourced] == ["a", "b"]


def test_what_the_vocabulary_states_counts_as_its_own_source() -> None:
    facts = read_facts([TextFile("ontology/x.ttl", PREFIXES + "st:a a ko:Station .", True)])
    assert facts.unsourced == []
    assert list(facts.sources.values()) == [("https://knockon.example/ns",)]


def test_records_of_different_files_are_never_mixed_up() -> None:
    text = PREFIXES + "src:s { car:x ko:has _:fit . _:fit ko:atStation st:hub . }"
    facts = read_facts([TextFile(f"data/{n}.trig", text, False) for n in "ab"])
    assert len({s for s, _, _ in facts.sources if isinstance(s, BNode)}) == 2


def test_the_same_text_gives_the_same_facts_down_to_the_records() -> None:
    files = tiny_files()
    assert list(read_facts(files).sources.items()) == list(read_facts(files).sources.items())


def test_texts_and_languages_survive_the_reading() -> None:
    facts = _read(PREFIXES + 'src:s { part:a skos:prefLabel "Bremsscheibe"@de , "rotor" . }')
    assert {o for _, _, o in facts.sources} == {
        Literal("Bremsscheibe", lang="de"),
        Literal("rotor"),
    }


# ---------------------------------------------------------------- where a thing is stated


def test_a_thing_is_found_where_it_is_stated_and_not_where_it_is_mentioned() -> None:
    text = PREFIXES + (
        "src:s {\n"
        "# part:x is stated below\n"
        "part:y ko:supersededBy part:x .\n"
        "end:x ko:teeth 27 .\n"
        "part:x-long ko:price 1.0 .\n"
        'part:x skos:prefLabel "x" .\n'
        "}\n"
    )
    facts = _read(text)
    part = URIRef("https://knockon.example/part/x")
    end = URIRef("https://knockon.example/end/x")
    assert facts.place(part) == f"data/x.trig, line {LINES + 6}"
    assert facts.place(end) == f"data/x.trig, line {LINES + 4}"


def test_a_thing_written_as_a_full_address_is_found_too() -> None:
    facts = _read("<https://a.example/s> {\n<https://a.example/x> <https://a.example/p> 1 .\n}")
    assert facts.place(URIRef("https://a.example/x")) == "data/x.trig, line 2"


def test_a_record_is_found_at_the_thing_it_belongs_to() -> None:
    facts = _read(PREFIXES + "src:s {\ncar:x ko:has [ ko:atStation st:hub ] .\n}")
    record = next(s for s, _, _ in facts.sources if isinstance(s, BNode))
    assert (facts.name(record), facts.place(record)) == ("x", f"data/x.trig, line {LINES + 2}")


def test_a_thing_nobody_states_has_no_place() -> None:
    assert _read(GOOD).place(URIRef("https://knockon.example/part/zz")) == "unknown file"


# ---------------------------------------------------------------- folders


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    ontology, data = tmp_path / "words", tmp_path / "facts"
    for folder in (ontology, data):
        folder.mkdir()
    (ontology / "core.ttl").write_text(PREFIXES, "utf-8")
    (data / "a.trig").write_text(GOOD, "utf-8")
    return ontology, data


def test_a_folder_that_does_not_exist_is_named(folders: tuple[Path, Path]) -> None:
    missing = folders[1] / "nowhere"
    with pytest.raises(CatalogueFileError, match="there is no such folder") as refused:
        catalogue_files(folders[0], missing)
    assert refused.value.file == str(missing)


def test_a_file_in_place_of_a_folder_is_told_as_such(folders: tuple[Path, Path]) -> None:
    with pytest.raises(CatalogueFileError, match="this is a file; name the folder it is in"):
        catalogue_files(folders[0], folders[1] / "a.trig")


def test_an_empty_folder_is_told_as_such(folders: tuple[Path, Path], tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(CatalogueFileError, match=r"no \.ttl or \.trig file in this folder"):
        catalogue_files(folders[0], tmp_path / "empty")


def test_a_file_that_is_not_utf8_is_told_with_its_line(folders: tuple[Path, Path]) -> None:
    (folders[1] / "b.trig").write_bytes(b'# first\n# second\npart:a skos:prefLabel "caf\xe9" .\n')
    with pytest.raises(CatalogueFileError, match="not UTF-8 text; save the file") as refused:
        catalogue_files(*folders)
    assert (Path(refused.value.file).name, refused.value.line) == ("b.trig", 3)


def test_a_file_that_vanishes_while_it_is_read_is_told_by_name(
    folders: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(self: Path, **_: object) -> str:
        raise FileNotFoundError(2, "No such file or directory")

    monkeypatch.setattr(Path, "read_text", gone)
    with pytest.raises(CatalogueFileError, match=r"core\.ttl: No such file"):
        catalogue_files(*folders)


def test_a_byte_order_mark_in_front_of_a_file_does_no_harm(folders: tuple[Path, Path]) -> None:
    (folders[1] / "a.trig").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert len(read_facts(catalogue_files(*folders)).sources) == 1


def test_line_ends_of_another_system_do_no_harm(folders: tuple[Path, Path]) -> None:
    (folders[1] / "a.trig").write_bytes(GOOD.replace("\n", "\r\n").encode())
    assert len(read_facts(catalogue_files(*folders)).sources) == 1


def test_files_are_named_by_their_folder_and_come_in_one_order(folders: tuple[Path, Path]) -> None:
    (folders[1] / "sub").mkdir()
    (folders[1] / "sub" / "b.trig").write_text(GOOD, "utf-8")
    (folders[1] / "notes.txt").write_text("not read", "utf-8")
    names = [f.name for f in catalogue_files(*folders)]
    assert names == ["words/core.ttl", "facts/a.trig", "facts/sub/b.trig"]


def test_the_version_changes_with_any_text_and_with_any_name() -> None:
    one = TextFile("data/a.trig", "a", False)
    other = TextFile("data/a.trig", "b", False)
    renamed = TextFile("data/b.trig", "a", False)
    split = (TextFile("data/a.trig", "", False), TextFile("a", "", False))
    versions = {fingerprint(f) for f in ((one,), (other,), (renamed,), split, (one, one))}
    assert len(versions) == 5


# ---------------------------------------------------------------- as big as a catalogue may be


def test_of_equal_terms_and_of_equal_sources_there_is_one_object_each() -> None:
    text = (
        PREFIXES + 'src:s { part:a skos:prefLabel "hub" ; ko:price 1.5 . part:b ko:inSet part:a . }'
    )
    more = PREFIXES + 'src:s { part:c skos:prefLabel "hub" ; ko:price 1.5 ; ko:inSet part:a . }'
    facts = read_facts([TextFile("data/a.trig", text, False), TextFile("data/b.trig", more, False)])
    terms = [term for triple in facts.sources for term in triple]
    assert len({id(term) for term in terms}) == len(set(terms))
    assert len({id(sources) for sources in facts.sources.values()}) == 1


def test_facts_come_in_the_order_in_which_the_text_states_them() -> None:
    text = (
        PREFIXES
        + "src:s { part:z ko:price 2.0 , 1.0 . part:a ko:price 3.0 . } src:r { part:z ko:price 2.0 . }"
    )
    assert [str(o) for _, _, o in _read(text).sources] == ["2.0", "1.0", "3.0"]


def test_the_collector_of_cycles_rests_while_files_are_read_and_works_afterwards() -> None:
    with pytest.raises(CatalogueFileError):
        _read("not turtle")
    assert gc.isenabled()
    gc.disable()
    try:
        _read(GOOD)
        assert not gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.parametrize(
    ("statement", "line"),
    [
        ("part:x.y ko:price 1.0 .\npart:x ko:price 1.0 .", 2),
        ("part:y ko:inSet part:x .\npart:y ko:price 1.0 . part:x ko:price 1.0 .", 2),
        ("part:y ko:inSet part:x .", 1),
        ("part:y ko:inSet other:x .", 1),
        ("part:y ko:inSet <https://knockon.example/part/x> .", 1),
        ("nopart:x ko:price 1.0 .", None),
        ("  # part:x ko:price 1.0 .", None),
    ],
)
def test_a_thing_is_found_in_its_text_however_it_is_written(
    statement: str, line: int | None
) -> None:
    head = (
        "@prefix part: <https://knockon.example/part/> .\n"
        "PREFIX other: <https://knockon.example/part/>\n"
    )
    found = line_of("https://knockon.example/part/x", head + statement)
    assert found == (None if line is None else line + 2)
