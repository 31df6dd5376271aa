"""A compiled catalogue is the catalogue, whoever asks it, and never a damaged one."""

from __future__ import annotations

import multiprocessing
import pickle
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from knockon.reasoner import shelf
from knockon.reasoner.build import meetings, stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.compiled import TABLES, open_compiled, write_changed, write_compiled
from knockon.reasoner.lookups import LOOKUPS, kept_with
from knockon.reasoner.mating import Mating
from knockon.reasoner.overlay import Overlay
from knockon.reasoner.packing import key_of, key_text
from knockon.reasoner.shelf import BookUnusable, Shelf


@pytest.fixture(scope="module")
def plain(demo: Catalogue) -> Catalogue:
    """The demo with everything in memory."""
    tables: dict[str, Any] = {name: dict(getattr(demo, name)) for name in TABLES}
    return _with(demo, tables)


@pytest.fixture
def compiled(tiny: Catalogue, tmp_path: Path) -> Catalogue:
    """The tiny catalogue from a file of its own."""
    write_compiled(tiny, tmp_path / "tiny.catalogue")
    return open_compiled(tmp_path / "tiny.catalogue")


def _with(catalogue: Catalogue, tables: dict[str, Any]) -> Catalogue:
    small = {
        n: getattr(catalogue, n)
        for n, f in catalogue.__dataclass_fields__.items()
        if f.init and n not in TABLES
    }
    return Catalogue(**{**small, **tables})


def test_the_compiled_demo_is_the_demo_to_the_last_digit(plain: Catalogue, tmp_path: Path) -> None:
    write_compiled(plain, tmp_path / "demo.catalogue")
    again = open_compiled(tmp_path / "demo.catalogue")
    assert again == plain
    for name in TABLES:
        table, kept = getattr(plain, name), getattr(again, name)
        assert list(kept) == sorted(table)
        assert list(kept.items()) == [(key, table[key]) for key in kept]
        assert list(kept.values()) == [table[key] for key in kept]
        if name != "parts":  # whose sets have no order of their own
            assert repr(dict(kept)) == repr(dict(sorted(table.items())))


def test_a_big_table_is_read_row_by_row(
    plain: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "KEPT", 10)
    monkeypatch.setattr(shelf, "_AT_ONCE", 7)
    write_compiled(plain, tmp_path / "demo.catalogue")
    parts = open_compiled(tmp_path / "demo.catalogue").parts
    for _ in range(2):
        assert dict(parts.items()) == plain.parts
        assert all(parts[iri] == part for iri, part in plain.parts.items())
    assert isinstance(parts, Shelf)
    assert max(len(parts._young), len(parts._old)) <= 10


def test_an_unknown_name_is_in_no_table(compiled: Catalogue) -> None:
    for key in ("nobody", "", None, 7, ("a", "b"), ("a", 1)):
        assert key not in compiled.parts
        assert compiled.parts.get(key) is None  # type: ignore[call-overload]
    with pytest.raises(KeyError, match="nobody"):
        compiled.parts["nobody"]


def test_rows_are_made_ready_in_one_go(compiled: Catalogue) -> None:
    parts = compiled.parts
    assert isinstance(parts, Shelf)
    parts.ready(["https://knockon.example/part/TH-27", "https://knockon.example/part/TH-30", "no"])
    assert len(parts._young) == 2
    assert parts["https://knockon.example/part/TH-30"].label == "HD hub"


@pytest.mark.parametrize("key", ["a", ("a", "b"), ("a", (("b",), ())), ("", ("",)), ()])
def test_a_key_comes_back_from_its_text(key: object) -> None:
    text = key_text(key)
    assert text is not None
    assert key_of(text) == key


def test_keys_sort_as_their_texts_do() -> None:
    pairs = [("a", "z"), ("a/b", "a"), ("ab", "a"), ("a", "b", "c"), ("a",), ("a", "b")]
    assert sorted(pairs, key=key_text) == sorted(pairs)  # type: ignore[type-var]


def test_a_key_that_could_not_be_found_again_is_refused(tiny: Catalogue, tmp_path: Path) -> None:
    odd = _with(tiny, {**{n: getattr(tiny, n) for n in TABLES}, "tried": {("a\x02", "b"): ()}})
    with pytest.raises(ValueError, match="cannot be kept"):
        write_compiled(odd, tmp_path / "odd.catalogue")
    assert not list(tmp_path.iterdir())


def test_a_catalogue_pickled_is_a_place_to_look_and_no_copy(compiled: Catalogue) -> None:
    said = pickle.dumps(compiled.parts)
    assert len(said) < 300
    assert pickle.loads(said) is compiled.parts
    assert pickle.loads(pickle.dumps(compiled)) == compiled


def _labels(parts: Mapping[str, Any]) -> list[str]:
    return [part.label for part in parts.values()]


@pytest.mark.parametrize("way", ["fork", "spawn"])
def test_another_process_reads_the_same_file(compiled: Catalogue, way: str) -> None:
    with multiprocessing.get_context(way).Pool(1) as pool:
        assert pool.apply(_labels, (compiled.parts,)) == _labels(compiled.parts)


def test_many_threads_may_ask_at_once(
    plain: Catalogue, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "KEPT", 20)
    write_compiled(plain, tmp_path / "demo.catalogue")
    again = open_compiled(tmp_path / "demo.catalogue")

    def look(start: int) -> bool:
        iris = [*plain.parts][start:] + [*plain.parts][:start]
        return all(again.parts[iri] == plain.parts[iri] for iri in iris)

    with ThreadPoolExecutor(4) as threads:
        assert all(threads.map(look, range(0, 300, 60)))


def test_cars_meet_from_the_file_as_they_do_from_memory(plain: Catalogue, tmp_path: Path) -> None:
    write_compiled(plain, tmp_path / "demo.catalogue")
    again = open_compiled(tmp_path / "demo.catalogue")
    car = next(iter(plain.cars))
    here, there = (meetings(Mating(c), stock_build(c, c.cars[car])) for c in (plain, again))
    assert here == there


def test_a_damaged_row_is_noticed_and_the_file_thrown_away(tiny: Catalogue, tmp_path: Path) -> None:
    path = tmp_path / "tiny.catalogue"
    write_compiled(tiny, path)
    path.write_bytes(path.read_bytes().replace(b"HD hub", b"Hd hub"))
    with pytest.raises(BookUnusable, match="start again"):
        list(open_compiled(path).parts.values())
    assert not path.exists()


def test_a_file_of_something_else_is_not_opened(tmp_path: Path) -> None:
    for said in (b"", b"not a catalogue", b"SQLite format 3\x00" + bytes(9000)):
        (tmp_path / "x.catalogue").write_bytes(said)
        with pytest.raises(BookUnusable):
            open_compiled(tmp_path / "x.catalogue")
    with pytest.raises(BookUnusable):
        open_compiled(tmp_path / "nowhere.catalogue")


def test_a_shelf_sent_elsewhere_opens_no_other_catalogue(
    compiled: Catalogue, tiny: Catalogue, tmp_path: Path
) -> None:
    path, _, name = compiled.parts.__reduce__()[1]  # type: ignore[misc]
    with pytest.raises(BookUnusable, match="another catalogue"):
        shelf._shelf_at(str(path), "an older version", str(name))


@pytest.mark.parametrize("is_there", [True, False])
def test_changed_rows_are_written_over_a_copy_of_the_file(
    compiled: Catalogue, tmp_path: Path, is_there: bool
) -> None:
    gone, kept, *_ = compiled.parts
    parts = Overlay(compiled.parts, {kept: replace(compiled.parts[kept], label="renamed")}, [gone])
    after = replace(compiled, version="after", parts=parts)
    tables: dict[str, Any] = {name: compiled.lookups.table(name) for name in LOOKUPS}
    tables["numbered"] = {"tw-1": kept}
    kept_with(after, tables)
    plain = _with(after, {name: dict(getattr(after, name)) for name in TABLES})
    if not is_there:
        (tmp_path / "tiny.catalogue").unlink()
    write_changed(after, tmp_path / "after.catalogue")
    again = open_compiled(tmp_path / "after.catalogue")
    assert again == plain
    assert list(again.parts) == list(plain.parts)
    assert dict(again.lookups.numbered) == {"tw-1": kept}
    assert dict(again.lookups.cars_with) == dict(compiled.lookups.cars_with)
