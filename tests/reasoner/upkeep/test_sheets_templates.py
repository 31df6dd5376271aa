"""Templates are made from the vocabulary and can be read back, whatever the vocabulary becomes."""

from __future__ import annotations

import csv
import doctest
import importlib
import io
from pathlib import Path

import pytest
from knockon.query.commands import sheet as command
from knockon.reasoner.files import TextFile, catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.sheets.faults import FaultList
from knockon.reasoner.upkeep.sheets.names import Names, key_of, names_of
from knockon.reasoner.upkeep.sheets.plans import JOBS, all_plans, plans_for
from knockon.reasoner.upkeep.sheets.rows import match_headers
from knockon.reasoner.upkeep.sheets.template import csv_text, workbook_bytes
from knockon.reasoner.upkeep.sheets.vocabulary import vocabulary_of
from openpyxl import load_workbook
from rdflib import URIRef

from .sheets import demo_facts, demo_vocabulary

NEW_QUANTITY = """
@prefix ko: <https://knockon.example/ns#> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix qudt: <http://qudt.org/schema/qudt/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix unit: <http://qudt.org/vocab/unit/> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
ko:rootFillet a owl:DatatypeProperty , ko:ValueProperty ; rdfs:label "root fillet"@en ;
    rdfs:range xsd:decimal ; qudt:hasUnit unit:MilliM ; ko:quantityOf ko:Spline ;
    ko:measureBy "Lay a radius gauge in the root of a tooth."@en .
"""


def test_every_quantity_of_every_kind_has_its_column_with_unit_and_way_of_measuring() -> None:
    vocabulary = demo_vocabulary()
    plans = all_plans(vocabulary)
    for kind in vocabulary.kinds.values():
        columns = {c.prop: c for c in plans[kind.label].columns}
        fields = [w for _, inner in kind.records for w in inner]
        for word in (*kind.values, *fields):
            column = columns[word.iri]
            assert column.header.endswith(f"[{word.unit}]") == bool(word.unit)
            assert word.note in column.note


def test_a_new_quantity_in_the_vocabulary_is_a_column_of_the_template_at_once() -> None:
    files = (
        *catalogue_files(ontology_folder(), demo_folder()),
        TextFile("ontology/more.ttl", NEW_QUANTITY, True),
    )
    plans = all_plans(vocabulary_of(read_facts(files)))
    column = next(c for c in plans["spline"].columns if c.key == "rootFillet")
    assert column.header == "root fillet [mm]"
    assert "radius gauge" in column.note


def test_no_two_columns_of_a_sheet_go_by_one_name() -> None:
    for plan in all_plans(demo_vocabulary()).values():
        headers = [key_of(c.header) for c in plan.columns]
        assert len(set(headers)) == len(headers), plan.name
        assert len({c.key for c in plan.columns}) == len(plan.columns), plan.name


@pytest.mark.parametrize("job", JOBS)
def test_a_template_has_notes_on_every_column_and_is_understood_when_it_comes_back(
    job: str,
) -> None:
    plans = plans_for(job, demo_vocabulary())
    names = names_of(demo_facts(), demo_vocabulary()) if job == "values" else Names()
    content = workbook_bytes(plans, names)
    assert content == workbook_bytes(plans, names), "the same job gives the same bytes"
    book = load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["notes", *(p.name for p in plans), "lists"]
    noted = {row[1].value for row in book["notes"].iter_rows(min_row=2)}
    for plan in plans:
        header = next(book[plan.name].iter_rows())
        assert book[plan.name].freeze_panes == "A2"
        faults = FaultList()
        row = tuple(str(cell.value) for cell in header)
        places = match_headers(plan, plan.name, 1, row, faults)
        assert not faults.kept
        assert {p.column.key: p.unit for p in places.values()} == {
            c.key: c.unit for c in plan.columns
        }
        assert {c.header for c in plan.columns} <= noted
        assert next(csv.reader([csv_text(plan).splitlines()[0]])) == list(row)


def test_a_cell_that_names_something_offers_the_names_of_the_catalogue() -> None:
    plans = plans_for("values", demo_vocabulary())
    book = load_workbook(
        io.BytesIO(workbook_bytes(plans, names_of(demo_facts(), demo_vocabulary())))
    )
    lists = {
        cells[0].value: [c.value for c in cells[1:] if c.value] for cells in book["lists"].columns
    }
    assert "hub spline" in lists["role"]
    assert "OW-42310" in lists["part or family"]
    offered = {str(v.sqref): v for v in book["values"].data_validations.dataValidation}
    assert offered["C2:C2000"].formula1.startswith("lists!$")
    assert book["lists"].sheet_state == "hidden"


def test_the_notes_say_how_to_measure_each_quantity_that_a_value_can_be_of() -> None:
    plans = plans_for("values", demo_vocabulary())
    book = load_workbook(io.BytesIO(workbook_bytes(plans, Names())))
    notes = {row[1].value: (row[3].value, row[4].value) for row in book["notes"].iter_rows()}
    unit, how = notes["quantity: clamp load"]
    assert unit == "N"
    assert "spring tester" in how


def test_the_roles_offered_for_ends_of_a_kind_are_those_of_the_kind() -> None:
    plans = all_plans(demo_vocabulary())
    assert "hub spline" in plans["spline"].column("role").choices
    assert "hub spline" not in plans["bolt circle"].column("role").choices


def test_a_name_that_looks_like_a_formula_is_offered_as_a_name() -> None:
    names = Names()
    names.table("part").add(URIRef("https://knockon.example/part/x"), "=1+1")
    book = load_workbook(io.BytesIO(workbook_bytes(plans_for("prices", demo_vocabulary()), names)))
    cells = [c for row in book["lists"].iter_rows() for c in row if c.value == "=1+1"]
    assert [c.data_type for c in cells] == ["s"]


def test_the_command_knows_every_job() -> None:
    assert command._JOBS == JOBS


MODULES = ("measure", "names", "defining", "statements", "tables")


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_in_the_docstrings_are_true(name: str) -> None:
    module = importlib.import_module(f"knockon.reasoner.upkeep.sheets.{name}")
    failed, tried = doctest.testmod(module)
    assert tried
    assert failed == 0


def test_no_file_of_the_sheets_grows_out_of_hand() -> None:
    folder = Path(importlib.import_module("knockon.reasoner.upkeep.sheets").__file__ or "").parent
    for file in folder.glob("*.py"):
        assert len(file.read_text("utf-8").splitlines()) <= 400, file.name
