"""A folder filled with a matrix: gone on with, never mixed, the same bytes however it came about."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.matrix.chunks import Chunk, Cut, cut
from knockon.reasoner.matrix.errors import MatrixRefused, MatrixStopped
from knockon.reasoner.matrix.filling import Folder
from knockon.reasoner.matrix.parquet import counted, packed
from knockon.reasoner.matrix.rows import Reckoner
from knockon.reasoner.matrix.running import Here
from knockon.reasoner.matrix.working import Place

FEW = ("https://knockon.example/station/rear-hub", "https://knockon.example/station/wheel",
       "https://knockon.example/station/front-hub")  # fmt: skip


class AtHand:
    """Works out chunks in this process, the last first; breaks off after so many."""

    def __init__(self, catalogue: Catalogue, after: int = 1_000) -> None:
        self._reckoner = Reckoner(catalogue)
        self.after, self.asked = after, list[str]()

    def run(self, place: Place, chunks: Sequence[Chunk]) -> Iterator[tuple[Chunk, bytes]]:
        for chunk in chunks[::-1]:
            if len(self.asked) == self.after:
                raise MatrixStopped("broken off")
            self.asked.append(chunk.name)
            yield chunk, packed(self._reckoner.rows(chunk), place.catalogue)


@pytest.fixture(scope="module")
def small(demo: Catalogue) -> Cut:
    """Three stations of all cars, in small chunks."""
    return cut(demo, stations=FEW, most=10)


@pytest.fixture(scope="module")
def whole(demo: Catalogue, small: Cut, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The matrix worked out in one go."""
    return _filled(tmp_path_factory.mktemp("whole") / "matrix", small, AtHand(demo))


def _filled(path: Path, small: Cut, engine: AtHand | Here) -> Path:
    folder = Folder(path, small)
    with folder.alone():
        folder.fill(_place(small), engine, folder.missing(), lambda _: None)
    return folder.result


def _place(small: Cut) -> Place:
    return Place(None, small.catalogue, small.code)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_run_goes_on_with_what_is_missing_and_ends_with_the_same_bytes(
    demo: Catalogue, small: Cut, whole: Path, tmp_path: Path
) -> None:
    broken_off = AtHand(demo, after=4)
    with pytest.raises(MatrixStopped):
        _filled(tmp_path / "m", small, broken_off)
    (damaged, *_) = sorted((tmp_path / "m" / "chunks").iterdir())
    damaged.write_bytes(damaged.read_bytes()[:100])
    further = AtHand(demo)
    result = _filled(tmp_path / "m", small, further)
    assert set(broken_off.asked) & set(further.asked) == {damaged.stem}
    assert len(further.asked) == len(small.chunks) - 3
    assert _digest(result) == _digest(whole)
    assert sorted(p.name for p in result.parent.iterdir() if p.name[0] != ".") == [
        "matrix.json", "matrix.parquet",
    ]  # fmt: skip
    assert not Folder(tmp_path / "m", small).missing()


def test_processes_give_the_same_bytes_as_working_it_out_at_hand(
    small: Cut, whole: Path, tmp_path: Path
) -> None:
    assert _digest(_filled(tmp_path / "m", small, Here(2))) == _digest(whole)


def test_every_row_says_what_the_cell_is_and_of_which_catalogue(
    demo: Catalogue, small: Cut, whole: Path
) -> None:
    table = pq.read_table(whole)
    assert table.schema.metadata[b"catalogue"].decode() == demo.version
    rows = table.to_pylist()
    assert len(rows) == small.cells
    for row in rows:
        assert demo.parts[row["part"]].number == row["part_number"]
        assert row["station"] in demo.parts[row["part"]].stations
        assert (row["changes"] is None) is (row["verdict"] == "not") is (row["stations"] is None)
        assert (row["changes"] == 0) is (row["verdict"] == "fits")
        assert row["changes"] is None or len(row["stations"]) == row["changes"]
        assert row["proven_changes"] is None or row["proven_changes"] >= row["changes"]
    assert sum(counted(whole).values()) == small.cells


def test_a_folder_of_another_matrix_is_left_as_it_is(
    demo: Catalogue, small: Cut, whole: Path, tmp_path: Path
) -> None:
    other = Cut("another", small.code, small.cars, small.stations, small.chunks)
    with pytest.raises(MatrixRefused, match="now it is another"):
        Folder(whole.parent, other)
    with pytest.raises(MatrixRefused, match="other cars or stations"):
        Folder(whole.parent, cut(demo, small.cars[:1]))
    (tmp_path / "letter.txt").write_text("dear Ann", "utf-8")
    with pytest.raises(MatrixRefused, match="holds something else"):
        Folder(tmp_path, small)
    assert _digest(whole)


def test_two_runs_never_fill_one_folder_at_the_same_time(small: Cut, whole: Path) -> None:
    folder = Folder(whole.parent, small)
    with folder.alone(), pytest.raises(MatrixRefused, match="Another run"), folder.alone():
        pass


def test_chunks_are_named_the_same_whenever_the_matrix_is_cut(demo: Catalogue, small: Cut) -> None:
    again = cut(demo, stations=FEW[::-1], most=10)
    assert again == small
    assert again.as_json() == small.as_json()
    assert len({chunk.name for chunk in small.chunks}) == len(small.chunks)
    elsewhere = cut(demo, small.cars[:1], FEW, most=10)
    assert [c.name for c in elsewhere.chunks] == [
        c.name for c in small.chunks if c.car == elsewhere.cars[0]
    ]
