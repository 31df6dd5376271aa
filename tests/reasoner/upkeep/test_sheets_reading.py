"""Sheets become statements: exact units, exact names, every fault at once, all or nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from knockon.reasoner.upkeep.changes import ChangeRefused
from knockon.reasoner.upkeep.sheets.reading import NewSource, read_files
from rdflib import URIRef

from .sheets import csv_file, demo_facts, faults, read, stated, workbook

VALUES = ("end", "family or part", "role", "quantity", "value", "unit")


@pytest.mark.parametrize(
    ("value", "unit", "kept"),
    [
        ("1085.5", "mm", "1085.5"),
        (1085.5, "mm", "1085.5"),
        ("42 3/4 in", "", "1085.85"),
        ("42 3/4", "in", "1085.85"),
        ("42¾", "in", "1085.85"),
        ('42-3/4"', "", "1085.85"),
        ("3.5 ft", "", "1066.8"),
        ("108.55 cm", "", "1085.5"),
    ],
)
def test_a_length_is_kept_in_millimetres_exactly_however_it_is_written(
    tmp_path: Path, value: object, unit: str, kept: str
) -> None:
    rows = [VALUES, ("propshaft-1085", None, None, "length", value, unit or None)]
    found = read(workbook(tmp_path / "x.xlsx", {"values": rows}))
    assert stated(found, "propshaft-1085", "length") == {kept: "bench"}


def test_the_unit_of_the_header_holds_for_the_column_and_a_cell_may_differ(tmp_path: Path) -> None:
    text = (
        "family or part,end,role,length [in],plunge inwards (cm)\n"
        "W4 rear propshafts,long,length of the propshaft,43,2\n"
        "W3 HD rear propshafts,short,length of the propshaft,1000 mm,2\n"
    )
    found = read(csv_file(tmp_path / "length.csv", text))
    assert stated(found, "long", "length") == {"1092.2": "bench"}
    assert stated(found, "short", "length") == {"1000.0": "bench"}
    assert stated(found, "long", "plungeIn") == {"20.0": "bench"}


def test_torque_in_pound_feet_and_diametral_pitch_are_converted(tmp_path: Path) -> None:
    text = (
        "family or part,end,role,side,number of teeth,module [mm]\n"
        "W4 rear hubs,american,hub spline,internal,30,20 DP\n"
    )
    found = read(csv_file(tmp_path / "spline.csv", text))
    assert stated(found, "american", "module") == {"1.27": "bench"}
    text = "family or part,quantity,value\nOW-10440,engine torque,40 ft-lb\n"
    (torque,) = stated(read(csv_file(tmp_path / "values.csv", text)), "OW-10440", "engineTorque")
    assert torque.startswith("54.2327179332")


def test_a_number_without_any_unit_is_refused_since_nobody_knows_what_it_is(tmp_path: Path) -> None:
    rows = [VALUES, ("propshaft-1085", None, None, "length", 1085, None)]
    (fault,) = faults(workbook(tmp_path / "x.xlsx", {"values": rows}))
    assert (fault.sheet, fault.row, fault.column) == ("values", 2, "value")
    assert "write for example “1085 mm”" in fault.what


def test_all_faults_of_all_sheets_are_told_at_once_by_sheet_row_and_column(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "x.xlsx",
        {
            "prices": [
                ("part", "price each [EUR]"),
                ("OW-42310", "12,50"),
                ("OW-42311", 90),
                ("OW-42310", -4),
                (None, 3),
            ],
            "values": [
                VALUES,
                (None, "OW-42310", "hub splin", "number of teeth", 30, None),
                (None, "OW-42310", "hub spline", "teeths", 30, None),
                (None, "OW-42310", "hub spline", "number of teeth", 30.5, None),
                (None, "OW-42310", "hub spline", "number of teeth", 2, None),
                (None, "OW-42310", "hub spline", "spline form", "involut", None),
                (None, "OW-42310", "half-shaft length", "length", 5, "mm"),
                ("propshaft-1085", None, None, "length", "40 kg", None),
            ],
            "pricess": [("part",)],
        },
    )
    told = {(f.sheet, f.row, f.column): f.what for f in faults(path)}
    assert "comma" in told["prices", 2, "price each [EUR]"]
    assert "did you mean" in told["prices", 3, "part"]
    assert "0 or more" in told["prices", 4, "price each [EUR]"]
    assert "blank" in told["prices", 5, "part"]
    assert "did you mean “hub spline”?" in told["values", 2, "role"]
    assert "did you mean “teeth”?" in told["values", 3, "quantity"]
    assert "whole number" in told["values", 4, "value"]
    assert "from 4 to 200" in told["values", 5, "value"]
    assert "involute, straight" in told["values", 6, "value"]
    assert "it has" in told["values", 7, "role"]
    assert "different things" in told["values", 8, "value"]
    assert "did you mean “prices”?" in told["pricess", 0, ""]
    assert len(told) == 12


def test_names_are_never_guessed_but_case_and_spaces_do_not_count(tmp_path: Path) -> None:
    good = csv_file(tmp_path / "prices.csv", "part,price each [EUR]\n ow-42310 ,3\n")
    assert stated(read(good), "OW-42310", "price") == {"3.0": "bench"}
    number = csv_file(tmp_path / "b-prices.csv", "part,price each [EUR]\nOW 42310,3\n")
    (fault,) = faults(number)
    assert "did you mean “OW-42310”" in fault.what


def test_a_corrected_file_goes_in_whole(tmp_path: Path) -> None:
    wrong = csv_file(tmp_path / "prices.csv", "part,price each [EUR]\nOW-42310,1\nOW-4231,2\n")
    faults(wrong)
    right = csv_file(tmp_path / "prices.csv", "part,price each [EUR]\nOW-42310,1\nOW-42340,2\n")
    assert len({s for s, _, _, _ in read(right).added}) == 2


def test_a_price_stated_anew_takes_the_old_one_back_and_the_same_price_changes_nothing(
    tmp_path: Path,
) -> None:
    text = "part,price each [EUR]\nOW-42340,185\nOW-44250,92\n"
    found = read(csv_file(tmp_path / "prices.csv", text))
    part = URIRef("https://knockon.example/part/OW-42340")
    assert [(s, str(o)) for s, _, o, _ in found.removed] == [(part, "181.00")]
    assert stated(found, "OW-42340", "price") == {"185.0": "bench"}
    assert len(found.added) == 1
    assert found.unchanged == 1
    change = found.change(demo_facts(), "me", "new list", datetime(2025, 3, 1, tzinfo=UTC))
    assert (len(change.added), len(change.removed), change.state) == (1, 1, "draft")


def test_a_file_that_says_nothing_new_makes_no_edit(tmp_path: Path) -> None:
    found = read(csv_file(tmp_path / "prices.csv", "part,price each [EUR]\nOW-44250,92.00\n"))
    with pytest.raises(ChangeRefused, match="stated already"):
        found.change(demo_facts(), "me", "nothing", datetime(2025, 3, 1, tzinfo=UTC))


def test_hours_are_stated_anew_and_a_new_operation_comes_after_a_known_one(tmp_path: Path) -> None:
    text = (
        "operation;hours [min];opens;after\n"
        "propshafts off;60;;\n"
        "rear axle out whole;150;rear subframe; rear final drive out ;\n"
    ).replace("rear subframe; rear final drive out ;", '"rear subframe; rear hub";propshafts off')
    found = read(csv_file(tmp_path / "operations.csv", text))
    assert stated(found, "propshafts-off", "hours") == {"1.0": "bench"}
    assert stated(found, "rear-axle-out-whole", "hours") == {"2.5": "bench"}
    opens = stated(found, "rear-axle-out-whole", "opens")
    assert {o.rsplit("/", 1)[1] for o in opens} == {"rear-subframe", "rear-hub"}


def test_one_source_says_one_thing_but_two_sources_may_differ(tmp_path: Path) -> None:
    head = "end,quantity,value,unit,source\n"
    row = "propshaft-1085,length,{},mm,{}\n"
    same = head + row.format(1086, "bench measurements") + row.format(1087, "bench measurements")
    (fault,) = faults(csv_file(tmp_path / "values.csv", same))
    assert (fault.row, fault.column) == (3, "value")
    two = head + row.format(1086, "bench measurements") + row.format(1087, "customers' reports")
    found = read(csv_file(tmp_path / "values.csv", two))
    assert stated(found, "propshaft-1085", "length") == {
        "1086.0": "bench",
        "1087.0": "customer-reports",
    }


def test_a_measured_size_stands_beside_the_size_that_the_drawing_gives_by_its_form(
    tmp_path: Path,
) -> None:
    text = "end,quantity,value\nhub-face-6x139.7-m14x1.5,circle diameter,139.9 mm\n"
    found = read(csv_file(tmp_path / "values.csv", text))
    kept = stated(found, "hub-face-6x139.7-m14x1.5", "circleDiameter")
    assert kept == {"139.9": "bench", "139.7": "maker-drawings"}


def test_who_says_so_is_asked_for_and_a_new_source_may_be_described(tmp_path: Path) -> None:
    path = csv_file(tmp_path / "prices.csv", "part,price each [EUR]\nOW-42340,185\n")
    (fault,) = faults(path, source="")
    assert fault.column == "source"
    (fault, *_) = faults(path, source="price list 26")
    assert "describe it now" in fault.what
    found = read_files((path,), demo_facts(), "price list 26", NewSource("documented", "Ostrel"))
    assert found.source.endswith("/price-list-26")
    assert len(found.added) == 6


def test_a_car_takes_only_parts_that_sit_at_the_station(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "x.xlsx",
        {
            "cars": [("car", "generation", "based on"), ("Wether W4 special", "Wether W4", "w4")],
            "stations": [
                ("car", "station", "part"),
                ("Wether W4 special", "rear hub", "OW-42345"),
                ("Wether W4 special", "front hub", "OW-42345"),
                ("Wether W4 special", "rear tone ring", "empty"),
                ("Wether W4 special", "rear hub", "OW-42340"),
                ("Wether W4", "rear hub", "OW-42345"),
            ],
        },
    )
    told = {f.row: f.what for f in faults(path)}
    assert "it sits at rear hub" in told[3]
    assert "row 2" in told[5]
    assert "already" in told[6]
    assert len(told) == 3


def test_identification_rules_state_what_their_observation_can_tell(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "x.xlsx",
        {
            "observations": [
                ("observation", "sort", "reach", "how", "may read"),
                ("cast letter", "visible feature", "on the car", "Look under the cover.", "A; B"),
            ],
            "rules": [
                ("tells", "observation", "from number", "to number", "reads", "from month"),
                ("OW-42340", "cast letter", None, None, "a", None),
                ("OW-42345", "cast letter", None, None, "C", None),
                ("W4 rear final drives, 3.545", "axle serial", 650000, 640000, None, None),
                ("W4 rear final drives, 3.545", "axle serial", 650000, None, "x", None),
                ("W4 rear final drives, 3.545", "gearbox cast date", None, None, None, "2019-13"),
            ],
        },
    )
    told = {f.row: f.what for f in faults(path)}
    assert "none of A, B" in told[3]
    assert "before 650000" in told[4]
    assert "nothing else" in told[5]
    assert "2024-09" in told[6]
    assert len(told) == 4


def test_stock_is_the_shops_own_and_comes_by_itself(tmp_path: Path) -> None:
    rows = [("part", "count", "condition", "price each [EUR]"), ("OW-42340", 3, None, 95)]
    found = read(workbook(tmp_path / "x.xlsx", {"stock": rows}), source="")
    assert [(i.part.rsplit("/", 1)[1], i.count, i.condition) for i in found.stock] == [
        ("OW-42340", 3, "used")
    ]
    assert not found.added
    both = {"stock": rows, "prices": [("part", "price each [EUR]"), ("OW-42340", 1)]}
    (fault,) = faults(workbook(tmp_path / "y.xlsx", both))
    assert "by itself" in fault.what


@pytest.mark.parametrize("suffix", [".ttl", ".trig", ".jsonld"])
def test_turtle_trig_and_json_ld_are_taken_on_the_word_of_the_source(
    tmp_path: Path, suffix: str
) -> None:
    part, price = "https://knockon.example/part/OW-42340", "https://knockon.example/ns#price"
    decimal = "http://www.w3.org/2001/XMLSchema#decimal"
    turtle = f'<{part}> <{price}> "185.0"^^<{decimal}> .'
    text = {
        ".ttl": turtle,
        ".trig": f"<https://knockon.example/source/bench> {{ {turtle} }}",
        ".jsonld": f'{{"@id":"{part}","{price}":{{"@value":"185.0","@type":"{decimal}"}}}}',
    }[suffix]
    path = tmp_path / f"x{suffix}"
    path.write_text(text, "utf-8")
    assert stated(read(path), "OW-42340", "price") == {"185.0": "bench"}
    path.write_text(text[:-3], "utf-8")
    assert faults(path)


def test_wrong_headers_are_told_with_what_there_is(tmp_path: Path) -> None:
    text = "part,prise each [EUR],price each [mm],part\nOW-42340,1,2,OW-42340\n"
    told = {f.column: f.what for f in faults(csv_file(tmp_path / "prices.csv", text))}
    assert "did you mean “price each [EUR]”?" in told["prise each [EUR]"]
    assert "EUR" in told["price each [mm]"]
    assert told["part"] == "stands twice"


def test_progress_is_told_for_each_sheet(tmp_path: Path) -> None:
    path = csv_file(tmp_path / "prices.csv", "part,price each [EUR]\nOW-42340,185\n")
    told: list[tuple[str, int]] = []
    read_files(
        (path,), demo_facts(), "bench", progress=lambda name, rows: told.append((name, rows))
    )
    assert told == [("prices", 1)]
