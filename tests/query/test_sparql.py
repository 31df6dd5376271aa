"""SPARQL over what is stated and what follows."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from knockon.query.render_rows import as_csv, as_json, as_table
from knockon.query.sparql import Cell, Rows, SparqlRefused, allowed, run_query
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.graphs import DERIVED_GRAPH, load_graphs

from .conftest import Run

HUBS = "SELECT ?part ?label { ?part a fam:hd-hub ; skos:prefLabel ?label }"
# Every statement with every other, three times over, and a condition that none meets.
ENDLESS = (
    "SELECT (COUNT(*) AS ?n) { ?a ?b ?c . ?d ?e ?f . ?g ?h ?i . "
    "FILTER(STRLEN(STR(?a)) + STRLEN(STR(?d)) + STRLEN(STR(?g)) < 0) }"
)


def test_a_query_sees_what_is_stated_as_a_table(run: Run) -> None:
    found = run("sparql", "-q", HUBS)
    assert found.exit_code == 0
    assert found.stdout == ("?part       ?label\n──────────  ──────\npart:TH-30  HD hub\n\n1 row\n")


def test_a_query_sees_what_only_follows(run: Run) -> None:
    derived = f"ASK {{ GRAPH <{DERIVED_GRAPH}> {{ part:TH-30 ko:hasEnd end:hub-30 }} }}"
    assert run("sparql", "-q", derived).stdout == "yes\n"
    stated = "ASK { GRAPH src:drawings { part:TH-30 ko:hasEnd end:hub-30 } }"
    answered = run("sparql", "-q", stated)
    assert (answered.stdout, answered.exit_code) == ("no\n", 1)


def test_each_source_is_a_graph_of_its_own(run: Run) -> None:
    asked = "SELECT ?source { GRAPH ?source { car:tiny a ko:Car } }"
    assert "src:drawings" in run("sparql", "-q", asked).stdout


def test_from_chooses_among_the_graphs_of_the_catalogue(run: Run) -> None:
    asked = "ASK FROM src:house-rules { part:TH-30 a fam:hd-hub }"
    assert run("sparql", "-q", asked).stdout == "no\n"


def test_from_reads_no_file(run: Run, tmp_path: Path) -> None:
    secret = tmp_path / "secret.ttl"
    secret.write_text("<urn:a> <urn:b> <urn:c> .", "utf-8")
    found = run("sparql", "-q", f"SELECT * FROM <{secret.as_uri()}> {{ ?s ?p ?o }}")
    assert found.stdout.endswith("\n0 rows\n")


def test_construct_makes_triples(run: Run) -> None:
    asked = "CONSTRUCT { ?p ko:at ?s } { ?p a fam:hd-hub ; ko:sitsAt ?s }"
    made = run("sparql", "-q", asked, "--format", "ntriples")
    assert made.stdout == (
        "<https://knockon.example/part/TH-30> <https://knockon.example/ns#at> "
        "<https://knockon.example/station/hub> .\n"
    )
    refused = run("sparql", "-q", HUBS, "--format", "ntriples")
    assert refused.exit_code == 2
    assert "only CONSTRUCT" in refused.stderr


def test_a_query_may_come_from_a_file_or_a_pipe(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "hubs.rq"
    file.write_text(HUBS, "utf-8")
    from_file = run("sparql", str(file), "--format", "csv")
    assert list(csv.DictReader(io.StringIO(from_file.stdout))) == [
        {"part": "https://knockon.example/part/TH-30", "label": "HD hub"}
    ]
    assert run("sparql", "-", "--format", "csv", stdin=HUBS).stdout == from_file.stdout
    assert run("sparql").exit_code == 2


@pytest.mark.parametrize(
    "update",
    [
        "INSERT DATA { <urn:a> <urn:b> <urn:c> }",
        "DELETE WHERE { ?s ?p ?o }",
        "LOAD <file:///etc/hostname>",
        "CLEAR ALL",
        "PREFIX x: <urn:x> DROP GRAPH x:y",
    ],
)
def test_an_update_is_refused_as_such(update: str) -> None:
    with pytest.raises(SparqlRefused, match=r"^This is an update\. Queries read and never write"):
        allowed(update)


@pytest.mark.parametrize(
    "query",
    [
        "SELECT * { SERVICE <http://a.example/> { ?s ?p ?o } }",
        "ASK { { SELECT * { OPTIONAL { SERVICE SILENT <http://a.example/> { ?s ?p ?o } } } } }",
        "SELECT * { ?s ?p ?o FILTER EXISTS { SERVICE ?s { ?a ?b ?c } } }",
    ],
)
def test_no_query_asks_another_service(query: str) -> None:
    with pytest.raises(SparqlRefused, match="SERVICE is not allowed"):
        allowed(query)


def test_the_word_service_in_a_text_is_harmless() -> None:
    assert not allowed('ASK { ?s ?p "SERVICE <http://a.example/>" }').ordered


def test_a_mistake_is_shown_where_it_is() -> None:
    with pytest.raises(SparqlRefused) as refused:
        allowed("SELECT * {\n  ?s ?p }")
    assert str(refused.value) == "The query is wrong at line 2, column 3.\n    ?s ?p }\n    ^"


def test_an_endless_query_is_stopped_at_its_time(run: Run) -> None:
    stopped = run("sparql", "-q", ENDLESS, "--seconds", "0.5")
    assert stopped.exit_code == 2
    assert stopped.stderr.startswith("The query was stopped after 0.5 seconds.")


def test_rows_beyond_the_limit_are_cut_and_said_so(run: Run) -> None:
    cut = run("sparql", "-q", "SELECT ?s { ?s a ko:Part }", "--rows", "2")
    assert cut.stdout.endswith("\nthe first 2 rows; there are more\n")
    as_data = run("sparql", "-q", "SELECT ?s { ?s a ko:Part }", "--rows", "2", "--format", "json")
    assert json.loads(as_data.stdout)["head"]["cut"] is True


def test_rows_are_sorted_unless_the_query_orders_them(run: Run) -> None:
    asked = "SELECT ?n { ?p a ko:Part ; schema:mpn ?n }"
    numbers = run("sparql", "-q", asked, "--format", "csv").stdout.split()[1:]
    assert numbers == sorted(numbers)
    backwards = run("sparql", "-q", f"{asked} ORDER BY DESC(?n)", "--format", "csv")
    assert backwards.stdout.split()[1:] == numbers[::-1]


def test_a_catalogue_that_is_refused_is_not_queried(tmp_path: Path) -> None:
    bad = "@prefix ko: <https://knockon.example/ns#> .\n<urn:g> { <urn:x> a ko:Part . }\n"
    (tmp_path / "bad.trig").write_text(bad, "utf-8")
    with pytest.raises(CatalogueRefused):
        run_query("ASK {}", tmp_path)


def test_a_damaged_cache_is_made_anew(tiny_folder: Path, tmp_path: Path) -> None:
    first = len(load_graphs(tiny_folder, tmp_path))
    (kept,) = tmp_path.iterdir()
    kept.write_text("no quads at all", "utf-8")
    assert len(load_graphs(tiny_folder, tmp_path)) == first


def test_the_forms_follow_the_standard() -> None:
    found = Rows(
        ("a", "b"),
        (
            (Cell("iri", "https://knockon.example/part/X"), Cell("literal", 'a, "b"\nc')),
            (Cell("blank", "n1"), Cell("literal", "Nabe", language="de")),
            (None, Cell("literal", "5", "http://www.w3.org/2001/XMLSchema#integer")),
        ),
    )
    # SPARQL 1.1 Query Results CSV and TSV Formats, section 3; JSON Format, section 3.2.
    assert as_csv(found) == (
        'a,b\r\nhttps://knockon.example/part/X,"a, ""b""\nc"\r\n_:n1,Nabe\r\n,5\r\n'
    )
    assert json.loads(as_json(found))["results"]["bindings"] == [
        {
            "a": {"type": "uri", "value": "https://knockon.example/part/X"},
            "b": {"type": "literal", "value": 'a, "b"\nc'},
        },
        {
            "a": {"type": "bnode", "value": "n1"},
            "b": {"type": "literal", "value": "Nabe", "xml:lang": "de"},
        },
        {
            "b": {
                "type": "literal",
                "value": "5",
                "datatype": "http://www.w3.org/2001/XMLSchema#integer",
            }
        },
    ]
    assert as_table(found).splitlines()[2:] == [
        'part:X  a, "b" c', "_:n1    Nabe @de", "        5", "", "3 rows",
    ]  # fmt: skip
