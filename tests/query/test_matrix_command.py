"""`knockon matrix` as it is typed: what it says, how it ends, and that it can be killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from knockon.query.matrix_words import Pace
from knockon.reasoner.matrix import parquet

from .conftest import Run

STATION = "https://knockon.example/station/"


def test_a_small_catalogue_is_done_at_once_and_the_summary_says_what_is_where(
    run: Run, tmp_path: Path
) -> None:
    out = tmp_path / "m"
    found = run("matrix", "--out", str(out), "--workers", "1")
    assert found.exit_code == 0
    assert "6 cells: every part at each station it can sit at, on 1 car\n" in found.stdout
    assert "matrix.parquet" in found.stdout
    assert "A licensed technician decides" in found.stdout
    assert "6 of 6 cells (100 %)" in found.stderr
    rows = pq.read_table(out / "matrix.parquet").to_pylist()
    by_number = {row["part_number"]: row for row in rows}
    assert by_number["TH-27"]["verdict"] == "fits"
    assert by_number["TH-30"]["verdict"] == "with changes"
    assert by_number["TH-30"]["stations"] == [STATION + "shaft", STATION + "wheel"]
    again = run("matrix", "--out", str(out))
    assert (again.exit_code, again.stdout, again.stderr) == (0, found.stdout, "")
    narrowed = run("matrix", "--out", str(out), "--station", "wheel")
    assert narrowed.exit_code == 2
    assert "other cars or stations" in narrowed.stderr


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        (("--car", "Tiny T9"), "Tiny T1 light"),
        (("--station", "whel"), "wheel"),
        (("--workers", "2", "--on", "tcp://127.0.0.1:1"), "say one of them"),
    ],
)
def test_a_wrong_option_is_refused_with_what_would_be_right(
    run: Run, tmp_path: Path, said: tuple[str, ...], answer: str
) -> None:
    found = run("matrix", "--out", str(tmp_path / "m"), *said)
    assert found.exit_code == 2
    assert answer in found.stderr
    assert not (tmp_path / "m").exists()


def test_without_pyarrow_it_says_how_to_install_it(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet, "find_spec", lambda _: None)
    found = run("matrix", "--out", str(tmp_path / "m"))
    assert found.exit_code == 2
    assert 'pip install "knockon[matrix]"' in found.stderr


def test_how_far_it_is_is_said_with_the_rate_and_the_time_that_is_left() -> None:
    assert Pace(0, 4_000, 0, 0.0).line() == "0 of 4,000 cells (0 %)"
    assert Pace(500, 4_000, 500, 9.0).line() == "500 of 4,000 cells (12 %)"
    assert (
        Pace(2_000, 4_000, 500, 10.0).line()
        == "2,000 of 4,000 cells (50 %), 150 a second, about 13 s left"
    )
    assert Pace(4_000, 4_000, 0, 80.0).line().endswith("50 a second, in 1 min")


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="kills a process")
@pytest.mark.parametrize("how", ["SIGKILL", "SIGINT"])
def test_a_run_that_is_ended_half_way_is_gone_on_with(tmp_path: Path, how: str) -> None:
    out = tmp_path / "m"
    words = [
        sys.executable, "-c", "from knockon.query.command import main; main()", "matrix",
        "--workers", "1", "--station", "rear hub", "--station", "body", "--out", str(out),
    ]  # fmt: skip
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True) as process:
        while not list((out / "chunks").glob("*.parquet")):
            assert process.poll() is None
            time.sleep(0.01)
        os.kill(process.pid, getattr(signal, how))
        said = process.communicate()[1]
    kept = {path.name for path in (out / "chunks").glob("*.parquet")}
    assert kept
    assert not (out / "matrix.parquet").exists()
    if how == "SIGINT":
        assert process.returncode == 130
        assert "the same command goes on from there" in said
        return
    whole = subprocess.run(words, check=True, capture_output=True, text=True)
    assert f"{len(kept) * 19:,} of 228 cells" in whole.stderr
    assert pq.read_metadata(out / "matrix.parquet").num_rows == 228
