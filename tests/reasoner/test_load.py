"""A catalogue is remembered, and never served old, damaged or refused."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from knockon.reasoner import load, seen
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueFileError, CatalogueRefused
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import load_catalogue

from ..conftest import TINY_DATA, tiny_files


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The tiny catalogue as files: the vocabulary in one folder, the data in the one returned."""
    for file in tiny_files():
        path = tmp_path / file.name
        path.parent.mkdir(exist_ok=True)
        path.write_text(file.text, "utf-8")
    monkeypatch.setattr(load, "ontology_folder", lambda: tmp_path / "ontology")
    return tmp_path / "data"


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The versions that were built and not remembered."""
    versions: list[str] = []
    really = load.build_catalogue

    def build(version: str, files: tuple[TextFile, ...]) -> Catalogue:
        versions.append(version)
        return really(version, files)

    monkeypatch.setattr(load, "build_catalogue", build)
    return versions


@pytest.fixture
def cache(tmp_path: Path) -> Iterator[Path]:
    """An empty folder for what is remembered."""
    path = tmp_path / "cache"
    yield path
    assert not list(path.glob("*.part")), "nothing half-written stays behind"


def test_a_remembered_catalogue_is_the_one_that_was_built(
    folder: Path, cache: Path, built: list[str]
) -> None:
    cold = load_catalogue(folder, cache)
    warm = load_catalogue(folder, cache)
    assert cold == warm
    assert list(cold.parts) == list(warm.parts)
    assert len(built) == 1


def test_a_changed_file_is_seen_at_once(folder: Path, cache: Path, built: list[str]) -> None:
    before = load_catalogue(folder, cache)
    (folder / "tiny.trig").write_text(TINY_DATA.replace('"HD hub"', '"strong hub"'), "utf-8")
    after = load_catalogue(folder, cache)
    label = "https://knockon.example/part/TH-30"
    assert (before.parts[label].label, after.parts[label].label) == ("HD hub", "strong hub")
    assert before.version != after.version
    assert len(built) == 2


def test_going_back_to_an_earlier_text_goes_back_to_its_catalogue(
    folder: Path, cache: Path, built: list[str]
) -> None:
    before = load_catalogue(folder, cache)
    (folder / "tiny.trig").write_text(TINY_DATA.replace('"HD hub"', '"strong hub"'), "utf-8")
    load_catalogue(folder, cache)
    (folder / "tiny.trig").write_text(TINY_DATA, "utf-8")
    assert load_catalogue(folder, cache) == before
    assert len(built) == 2


def test_a_file_more_or_less_is_another_catalogue(folder: Path, cache: Path) -> None:
    before = load_catalogue(folder, cache)
    (folder / "more.trig").write_text("# nothing yet\n", "utf-8")
    assert load_catalogue(folder, cache).version != before.version


@pytest.mark.parametrize("damage", [b"", b"not a catalogue", b"\x80\x05N.", b"\x80\x05K\x01."])
def test_a_damaged_memory_is_built_again_and_mended(
    folder: Path, cache: Path, built: list[str], damage: bytes
) -> None:
    good = load_catalogue(folder, cache)
    (kept,) = cache.glob("*.catalogue")
    kept.write_bytes(damage)
    assert load_catalogue(folder, cache) == good
    assert load_catalogue(folder, cache) == good
    assert len(built) == 2


def test_a_memory_cut_short_is_built_again(folder: Path, cache: Path, built: list[str]) -> None:
    good = load_catalogue(folder, cache)
    (kept,) = cache.glob("*.catalogue")
    kept.write_bytes(kept.read_bytes()[:-100])
    assert load_catalogue(folder, cache) == good
    assert len(built) == 2


def test_a_memory_of_somebody_else_is_not_read(
    folder: Path, cache: Path, built: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    load_catalogue(folder, cache)
    monkeypatch.setattr(load.os, "getuid", lambda: 4711, raising=False)
    load_catalogue(folder, cache)
    assert len(built) == 2


def test_where_nothing_can_be_remembered_the_answer_still_comes(
    folder: Path, tmp_path: Path, built: list[str]
) -> None:
    blocked = tmp_path / "a-file"
    blocked.write_text("in the way", "utf-8")
    first = load_catalogue(folder, blocked / "cache")
    assert load_catalogue(folder, blocked / "cache") == first
    assert len(built) == 2


def test_an_upgrade_of_the_code_never_reads_what_older_code_made(
    folder: Path, cache: Path, built: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    load_catalogue(folder, cache)
    monkeypatch.setattr(load, "_FORMAT", "another")
    load_catalogue(folder, cache)
    assert len(built) == 2


def test_only_the_newest_catalogues_are_kept(
    folder: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(load, "_KEPT", 2)
    for name in ("a", "b", "c"):
        (folder / "tiny.trig").write_text(TINY_DATA.replace('"HD hub"', f'"{name}"'), "utf-8")
        load_catalogue(folder, cache)
    assert len(list(cache.glob("*.catalogue"))) == 2


def test_the_cache_can_be_put_elsewhere(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KNOCKON_CACHE", str(tmp_path / "mine"))
    load_catalogue(folder)
    assert len(list((tmp_path / "mine").glob("*.catalogue"))) == 1


def test_a_refused_catalogue_is_never_served_nor_remembered(folder: Path, cache: Path) -> None:
    load_catalogue(folder, cache)
    (folder / "tiny.trig").write_text(TINY_DATA.replace("ko:teeth 27", "ko:teeth 2"), "utf-8")
    for _ in range(2):
        with pytest.raises(CatalogueRefused, match="nothing is served from it"):
            load_catalogue(folder, cache)
    assert len(list(cache.glob("*.catalogue"))) == 1


def test_a_catalogue_that_contradicts_itself_is_never_served(folder: Path, cache: Path) -> None:
    text = TINY_DATA + "src:drawings { part:TH-27 a ko:Station . }"
    (folder / "tiny.trig").write_text(text, "utf-8")
    with pytest.raises(CatalogueRefused, match="contradicts itself; nothing is served"):
        load_catalogue(folder, cache)


def test_a_broken_file_is_told_by_name_and_line(folder: Path, cache: Path) -> None:
    (folder / "tiny.trig").write_text(TINY_DATA + "part:TH-27 a", "utf-8")
    with pytest.raises(CatalogueFileError, match=r"^data/tiny\.trig, line \d+: "):
        load_catalogue(folder, cache)


def test_a_missing_folder_is_told_by_name(folder: Path, cache: Path) -> None:
    with pytest.raises(CatalogueFileError, match="there is no such folder"):
        load_catalogue(folder / "nowhere", cache)


def test_a_remembered_catalogue_is_served_without_the_rdf_machinery(
    folder: Path, cache: Path
) -> None:
    load_catalogue(folder, cache)
    code = (
        "import sys; from pathlib import Path; from knockon.reasoner import load\n"
        f"load.ontology_folder = lambda: Path({str(folder.parent / 'ontology')!r})\n"
        f"load.load_catalogue(Path({str(folder)!r}), Path({str(cache)!r}))\n"
        "print([m for m in ('rdflib', 'owlrl', 'pyshacl') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_an_untouched_catalogue_is_served_without_reading_or_deriving_anything(
    folder: Path, cache: Path, built: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seen, "_TOO_FRESH", -60)
    cold = load_catalogue(folder, cache)
    monkeypatch.setattr(load, "catalogue_files", None)
    monkeypatch.setattr(load, "load_texts", None)
    assert load_catalogue(folder, cache) == cold
    assert len(built) == 1


def test_a_file_touched_a_moment_ago_is_read_again(
    folder: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seen, "_TOO_FRESH", 3600)
    load_catalogue(folder, cache)
    assert not list(cache.glob("*.seen"))


@pytest.mark.parametrize("text", [TINY_DATA.replace("HD hub", "Hd hub"), TINY_DATA])
def test_a_file_written_anew_is_read_though_its_size_and_date_are_the_same(
    folder: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    monkeypatch.setattr(seen, "_TOO_FRESH", -60)
    before, path = load_catalogue(folder, cache), folder / "tiny.trig"
    looks = path.stat()
    (folder / "next").write_text(text, "utf-8")
    os.utime(folder / "next", ns=(looks.st_atime_ns, looks.st_mtime_ns))
    (folder / "next").replace(path)
    after = load_catalogue(folder, cache)
    assert (after == before) == (text == TINY_DATA)


@pytest.mark.parametrize("damage", ["", "what is this", "é" * 40])
def test_a_damaged_memory_of_files_is_not_relied_on(
    folder: Path, cache: Path, built: list[str], monkeypatch: pytest.MonkeyPatch, damage: str
) -> None:
    monkeypatch.setattr(seen, "_TOO_FRESH", -60)
    cold = load_catalogue(folder, cache)
    (kept,) = cache.glob("*.seen")
    kept.write_text(damage, "utf-8")
    assert load_catalogue(folder, cache) == cold
    assert len(built) == 1
