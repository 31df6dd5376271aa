"""An answer as JSON-LD."""

from __future__ import annotations

import json

import pytest
from knockon.query.answer import Answer
from knockon.query.render_jsonld import render_jsonld
from rdflib import RDF, Graph, Literal, Namespace, URIRef
from rdflib.collection import Collection
from rdflib.compare import isomorphic

from .conftest import KNOCK_ONS, Run
from .golden import same_as_golden

KO = Namespace("https://knockon.example/ns#")
SCHEMA = Namespace("https://schema.org/")
PART = Namespace("https://knockon.example/part/")
STATION = Namespace("https://knockon.example/station/")


def graph_of(text: str) -> Graph:
    return Graph().parse(data=text, format="json-ld")


def test_the_document_stays_as_it_was_reviewed(full_answer: Answer) -> None:
    same_as_golden("answer.jsonld", render_jsonld(full_answer))


@pytest.mark.parametrize("form", ["turtle", "nt", "json-ld", "xml"])
def test_the_graph_survives_other_forms_of_rdf(full_answer: Answer, form: str) -> None:
    graph = graph_of(render_jsonld(full_answer))
    again = Graph().parse(data=graph.serialize(format=form), format=form)
    assert isomorphic(graph, again)


def test_nothing_of_the_document_is_dropped_by_its_context(full_answer: Answer) -> None:
    document = json.loads(render_jsonld(full_answer))
    terms = document["@context"]
    seen: set[str] = set()

    def look(value: object) -> None:
        if isinstance(value, dict):
            seen.update(k for k in value if not k.startswith("@"))
            for each in value.values():
                look(each)
        elif isinstance(value, list):
            for each in value:
                look(each)

    look({k: v for k, v in document.items() if k != "@context"})
    assert seen - set(terms) == set()


def test_verdicts_can_be_asked_of_the_graph(full_answer: Answer) -> None:
    graph = graph_of(render_jsonld(full_answer))
    found = graph.query(
        "SELECT ?station ?verdict { ?line ko:verdict ?verdict ; ko:station ?station }",
        initNs={"ko": KO},
    )
    assert {(row[0], row[1]) for row in found} == {
        (STATION["rear-half-shaft"], KO.Must),
        (STATION["rear-rotor"], KO.Must),
        (STATION["rear-calliper"], KO.Choice),
        (STATION["rear-damper"], KO.Keeps),
    }


def test_a_part_is_a_product_with_its_number_and_maker(full_answer: Answer) -> None:
    graph = graph_of(render_jsonld(full_answer))
    hub = PART["OW-1"]
    assert (hub, RDF.type, SCHEMA.Product) in graph
    assert (hub, SCHEMA.mpn, Literal("OW-1")) in graph
    assert (hub, SCHEMA.manufacturer, Literal("Ostrel")) in graph


def test_work_stays_in_its_order(full_answer: Answer) -> None:
    graph = graph_of(render_jsonld(full_answer))
    answer = next(graph.subjects(RDF.type, KO.Answer))
    plan = Collection(graph, graph.value(answer, KO.plans))[0]
    work = Collection(graph, graph.value(plan, KO.work))
    assert [graph.value(w, KO.operation) for w in work] == [
        URIRef("https://knockon.example/operation/wheels-off"),
        URIRef("https://knockon.example/operation/hub-out"),
    ]


@pytest.mark.parametrize(
    "question",
    [KNOCK_ONS, "does TH-30 mate with TS-27?", "show TH-30", "what fits hub on Tiny T1?"],
)
def test_the_command_prints_json_ld_for_every_sort_of_answer(run: Run, question: str) -> None:
    printed = run("ask", question, "--format", "jsonld")
    asked = list(graph_of(printed.stdout).objects(None, KO.question))
    assert [str(each) for each in asked] == [json.loads(printed.stdout)["question"]]
