"""Millimetres or inches, British or American English."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from knockon.query.answer import Answer
from knockon.query.render_text import render_text
from knockon.query.report import Column, Report, Row, Section, Table
from knockon.query.style import AMERICAN, Style, restyled
from knockon.reasoner.load import ontology_folder

from .conftest import KNOCK_ONS, Run
from .golden import same_as_golden

INCHES = Style(units="in")
AMERICAN_READER = Style(units="in", language="en-US", both=True)


def test_an_answer_for_an_american_reader_stays_as_it_was_reviewed(full_answer: Answer) -> None:
    same_as_golden("american.txt", render_text(restyled(full_answer, AMERICAN_READER), full=True))


def test_metric_british_english_changes_nothing(full_answer: Answer) -> None:
    assert restyled(full_answer, Style()) is full_answer


# An inch is 25.4 mm and a pound 0.45359237 kg by definition (international yard and pound
# agreement, 1959); standard gravity is 9.80665 m/s² (CGPM 1901).
@pytest.mark.parametrize(
    ("metric", "customary"),
    [
        ("25.4 mm", "1 in"),
        ("114.3 mm", "4.5 in"),
        ("120 mm", "4.7244 in"),
        ("0.2 mm", "0.0079 in"),
        ("100 N·m", "73.8 lb-ft"),
        ("1 kg", "2.2 lb"),
        ("100 km/h", "62.1 mph"),
    ],
)
def test_a_measure_is_converted_by_the_exact_factor(metric: str, customary: str) -> None:
    assert INCHES.convert(f"it is {metric}.") == f"it is {customary}."


@pytest.mark.parametrize(
    "text", ["M12x1.5", "5 bolts", "30 teeth", "OW-42310", "2400 rev/min", "30°", "12 mm²"]
)
def test_what_is_no_length_torque_mass_or_speed_stays(text: str) -> None:
    assert INCHES.convert(text) == text


def test_every_number_of_a_range_or_list_is_converted() -> None:
    assert INCHES.convert("25.4 to 50.8 mm") == "1 to 2 in"
    assert INCHES.convert("25.4, 50.8 or 76.2 mm") == "1, 2 or 3 in"
    assert INCHES.convert("5 × 114.3 mm") == "5 × 4.5 in"


def test_a_size_in_the_name_of_a_part_is_its_name(full_answer: Answer) -> None:
    answer = restyled(full_answer, INCHES)
    assert answer.lines[1].now.label == "280 mm rotor"
    assert answer.checks[0].meetings[0].claims[0].part == "300 mm rotor, *vented*"


def test_values_are_converted_with_their_unit(full_answer: Answer) -> None:
    doubt = restyled(full_answer, INCHES).checks[0].meetings[0]
    found = doubt.comparisons[0]
    assert (found.first, found.second, found.tolerance, found.unit) == (0.0984, None, 0.0591, "in")
    assert (doubt.claims[0].value, doubt.claims[0].unit) == (5.9055, "in")


def test_a_table_is_converted_column_by_column() -> None:
    table = Table(
        columns=(Column(label="centre"), Column(label="length", unit="mm")),
        rows=(Row(cells=("grey", 254)), Row(cells=(5, None))),
    )
    report = Report(
        kind="show", question="show X", catalogue="", summary="A tyre.",
        sections=(Section(title="Centre", table=table),),
    )  # fmt: skip
    found = restyled(report, Style(units="in", language="en-US"))
    shown = found.sections[0].table
    assert shown is not None
    assert found.summary == "A tire."
    assert [(c.label, c.unit) for c in shown.columns] == [("center", ""), ("length", "in")]
    assert [r.cells for r in shown.rows] == [("gray", 10), (5, None)]


def test_a_label_that_the_vocabulary_prefers_comes_before_our_own_word() -> None:
    style = Style(language="en-US", terms={"gearbox": "manual transmission"})
    assert style.worded("Gearboxes, gearbox and gear") == "Gearboxes, manual transmission and gear"


def test_our_own_american_terms_are_labels_of_the_vocabulary() -> None:
    folder = Path(ontology_folder())
    text = "".join(p.read_text("utf-8") for p in sorted(folder.rglob("*.ttl")))
    terms = [word for word in AMERICAN.values() if " " in word or word in ("shifter", "driveshaft")]
    assert [t for t in terms if f'{t}"@en-US' not in text] == []


def test_an_exact_conversion_is_not_rounded() -> None:
    assert INCHES.measured(Decimal("12.7"), "mm") == (Decimal("0.5"), "in")


def test_the_command_shows_both_units(run: Run) -> None:
    text = run("ask", KNOCK_ONS, "--units", "both", "--language", "en-US", "--width", "200").stdout
    assert "circle diameter 120 mm (4.7244 in) against 100 mm (3.937 in)" in text
    assert "■ MUST  axle shaft" in text
    assert text.startswith(f"{KNOCK_ONS}\n")


def test_an_answer_says_among_how_many_parts_its_reasons_are_told(full_answer: Answer) -> None:
    told = " ".join(render_text(full_answer.model_copy(update={"reasons_among": 1234})).split())
    assert "told among the 1,234 parts that come in question" in told
    assert "come in question" not in render_text(full_answer)
