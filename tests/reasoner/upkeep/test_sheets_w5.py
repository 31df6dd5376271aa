"""The shipped measuring session adds the W5: sound, sourced, and the same by whatever program."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from knockon.reasoner.build import meetings, stock_build
from knockon.reasoner.catalogue import Catalogue, Standing
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import Mating
from knockon.reasoner.upkeep.preview_edit import catalogue_of, facts_after

from tests.make_w5_sheet import made

from .sheets import FIXTURES, SHIPPED, csv_file, demo_facts, faults, read

WHEN = datetime(2025, 3, 10, 9, tzinfo=UTC)
BY_CSV = sorted(SHIPPED.glob("*.csv"))


@pytest.fixture(scope="module")
def with_w5() -> Catalogue:
    """The demo with the W5, closed and checked."""
    found = read(SHIPPED / "w5-measuring-session.xlsx", source="")
    change = found.change(demo_facts(), "maintainer", "the W5", WHEN)
    return catalogue_of(facts_after(demo_facts(), (change,)))


def test_the_shipped_files_are_what_the_script_makes() -> None:
    files = made()
    assert {p.name for p in (*BY_CSV, SHIPPED / "w5-measuring-session.xlsx")} == set(files)
    for name, content in files.items():
        assert (SHIPPED / name).read_bytes() == content, f"{name}: python -m tests.make_w5_sheet"


def test_workbook_csv_and_libreoffices_workbook_make_one_and_the_same_edit() -> None:
    ways: tuple[tuple[Path, ...], ...] = (
        (SHIPPED / "w5-measuring-session.xlsx",),
        tuple(BY_CSV),
        (FIXTURES / "by-libreoffice-w5.xlsx",),
    )
    changes = {read(*way, source="").change(demo_facts(), "me", "the W5", WHEN) for way in ways}
    assert len(changes) == 1


def test_libreoffices_own_csv_and_workbook_say_the_same() -> None:
    first = read(FIXTURES / "by-libreoffice-measured-values.xlsx")
    second = read(FIXTURES / "by-libreoffice-measured-values.csv")
    assert first.added == second.added
    assert [str(o) for _, _, o, _ in first.added] == ["171.5", "1085.85"]


def test_the_stock_build_of_the_w5_is_sound_and_every_joint_of_it_proven(
    with_w5: Catalogue,
) -> None:
    car = next(c for c in with_w5.cars.values() if c.label == "Wether W5")
    found = meetings(Mating(with_w5), stock_build(with_w5, car))
    assert len(found) > 90
    assert {m.outcome for m in found} == {Outcome.MATES}


def test_the_w5_is_the_w4_with_the_differences_only(with_w5: Catalogue) -> None:
    cars = {c.label: c for c in with_w5.cars.values()}
    old, new = cars["Wether W4"].fits, cars["Wether W5"].fits
    differing = {with_w5.name(s) for s in new if new[s].part != old[s].part}
    assert differing == {
        "body",
        "rear final drive",
        "rear propshaft",
        "rear half-shaft",
        "front wheel",
        "rear wheel",
    }
    assert old.keys() == new.keys()


def test_the_length_measured_in_inches_is_kept_exactly_and_as_measured(with_w5: Catalogue) -> None:
    part = next(p for p in with_w5.parts.values() if p.number == "OW-43855")
    (end,) = part.ends["https://knockon.example/role/prop-length"]
    (claim,) = with_w5.ends[end].claims["length"]
    assert claim.value == Decimal("1076.325")
    assert with_w5.standing(claim.sources) is Standing.MEASURED
    assert part.attributes["tubeOuter"] == Decimal("76.2")


def test_two_reports_that_disagree_are_kept_side_by_side(with_w5: Catalogue) -> None:
    part = next(p for p in with_w5.parts.values() if p.number == "OW-43742")
    (end,) = part.ends["https://knockon.example/role/shaft-length"]
    claims = with_w5.ends[end].claims["plungeOut"]
    assert {claim.value for claim in claims} == {Decimal(12), Decimal(15)}
    assert {with_w5.standing(c.sources) for c in claims} == {Standing.REPORTED}


def test_the_bulletin_raises_one_price_and_the_old_one_is_gone(with_w5: Catalogue) -> None:
    part = next(p for p in with_w5.parts.values() if p.number == "OW-43741")
    assert part.price == Decimal(279)


def test_taken_in_twice_every_new_name_is_told_to_be_there_already(tmp_path: Path) -> None:
    text = "generation,line,source\nWether W4,Wether,bench measurements\n"
    (fault,) = faults(csv_file(tmp_path / "generations.csv", text))
    assert "in the catalogue already" in fault.what
