"""The jobs of data/scenarios.csv come out as they were worked out by hand from the drawings."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from knockon.query.answer import Answer
from knockon.query.desk import Desk
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.load import demo_folder

ROWS = list(csv.DictReader((Path(demo_folder()) / "scenarios.csv").read_text("utf-8").splitlines()))


@pytest.fixture(scope="module")
def desk(demo: Catalogue) -> Desk:
    return Desk(demo)


def _listed(row: dict[str, str], column: str) -> set[str]:
    return {name.strip() for name in (row[column] or "").split(";") if name.strip()}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_the_job_comes_out_as_worked_out_by_hand(desk: Desk, row: dict[str, str]) -> None:
    answer = desk.ask(row["question"], plans=0)
    assert isinstance(answer, Answer)
    assert answer.workable == (row["workable"] == "yes"), answer.conflict
    verdicts = {line.station.label: line.verdict for line in answer.lines}
    for verdict in ("must", "choice", "keeps"):
        missing = {n: verdicts.get(n) for n in _listed(row, verdict) if verdicts.get(n) != verdict}
        assert not missing, f"expected {verdict}"
