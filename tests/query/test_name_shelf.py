"""Names that are kept on disk mean what they mean in memory."""

from __future__ import annotations

import pickle
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.query import name_shelf
from knockon.query.complete import complete
from knockon.query.lexicon import CatalogueLexicon
from knockon.query.name_shelf import TableOnDisk, index_of, write_names
from knockon.query.name_table import Entry, Label
from knockon.query.names import NameIndex
from knockon.query.phrases import What
from knockon.reasoner.catalogue import Catalogue

SORTS: tuple[What, ...] = ("part", "family", "station", "car", "generation", "source", "maker")
sorts = st.lists(st.sampled_from(SORTS), min_size=1, unique=True).map(tuple)


@pytest.fixture(scope="module")
def memory(demo: Catalogue) -> NameIndex:
    return NameIndex(CatalogueLexicon(demo))


@pytest.fixture(scope="module")
def disk(demo: Catalogue, tmp_path_factory: pytest.TempPathFactory) -> NameIndex:
    path = tmp_path_factory.mktemp("names") / "demo.names"
    write_names(path, CatalogueLexicon(demo).entries())
    return NameIndex.over(TableOnDisk(path))


def test_every_name_of_the_demo_means_the_same(memory: NameIndex, disk: NameIndex) -> None:
    assert disk.entries == memory.entries
    said = {label.text for entry in memory.entries for label in entry.labels}
    for name in sorted(said | {entry.number for entry in memory.entries}):
        assert disk.matches(name, SORTS) == memory.matches(name, SORTS)
        assert disk.called(name) == memory.called(name)
    for entry in memory.entries:
        assert disk.entry(entry.iri) == memory.entry(entry.iri)


typed = st.text(st.sampled_from("abcdehlorstuw 0123456-'\"éß\ud800"), max_size=8)


@settings(max_examples=30)
@given(typed, sorts, st.sampled_from(["", "en-GB", "en-US"]))
def test_whatever_is_typed_is_found_completed_and_corrected_alike(
    memory: NameIndex, disk: NameIndex, phrase: str, wanted: tuple[What, ...], language: str
) -> None:
    assert disk.matches(phrase, wanted, language) == memory.matches(phrase, wanted, language)
    assert list(disk.beginning(phrase, wanted)) == list(memory.beginning(phrase, wanted))
    assert disk.nearest(phrase, wanted) == memory.nearest(phrase, wanted)
    for sort in wanted:
        asked = phrase.casefold().split()
        assert disk.holding(sort, asked) == memory.holding(sort, asked)
    here = [entry.iri for entry in memory.entries if entry.what == "station"][::2]
    assert disk.nearest(phrase, wanted, here) == memory.nearest(phrase, wanted, here)


@pytest.mark.parametrize("before", ["show ", "show ow-4", "what fits rear", 'show "HD r', "show 1"])
def test_the_same_is_offered(memory: NameIndex, disk: NameIndex, before: str) -> None:
    assert complete(before, len(before), disk) == complete(before, len(before), memory)


def test_of_very_many_names_the_nearest_are_the_same(
    memory: NameIndex, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = ("HD rear hup", "OW-4231", "rear", "whel", "zzz")
    found = [memory.nearest(each, SORTS) for each in asked]
    monkeypatch.setattr("knockon.query.names._VERY_MANY", 0)
    monkeypatch.setattr("knockon.query.names._LOOKED_AT", 20)
    assert [memory.nearest(each, SORTS) for each in asked] == found


def test_names_can_be_sent_to_another_process(disk: NameIndex) -> None:
    again = pickle.loads(pickle.dumps(disk))
    assert again.matches("rear hub", SORTS) == disk.matches("rear hub", SORTS)


def test_names_of_a_large_catalogue_are_written_once_and_a_damaged_file_anew(
    demo: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    index_of(demo, tmp_path)
    assert not list(tmp_path.iterdir())
    monkeypatch.setattr(name_shelf, "_MANY", 1)
    entries = index_of(demo, tmp_path).entries
    (kept,) = tmp_path.iterdir()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    made = kept.stat().st_ino
    assert index_of(demo, tmp_path).entries == entries
    assert kept.stat().st_ino == made
    kept.write_bytes(b"no table")
    assert index_of(demo, tmp_path).entries == entries
    assert index_of(demo, kept / "in no folder").entries == entries


def test_an_odd_character_in_a_label_does_no_harm(tmp_path: Path) -> None:
    odd = Entry("part:1", "part", (Label("one\x1etwo"), Label("")), "P-1")
    write_names(tmp_path / "names", [odd])
    index = NameIndex.over(TableOnDisk(tmp_path / "names"))
    assert index.nearest("one two", SORTS) == ("one two",)
    assert index.matches("one two", SORTS) == (odd,)
