"""SKOS and PROV as their own documents want them used, put to the shipped data as SPARQL.

Sources:
- SKOS Simple Knowledge Organization System Reference, W3C Recommendation 18 August 2009, section 5
  (lexical labels): S12 (labels are plain literals; 5.3), S13 and S14 (integrity conditions; 5.4).
- Constraints of the PROV Data Model, W3C Recommendation 30 April 2013, section 6.4: constraint 55
  (entity-activity-disjoint).
- PROV-O: The PROV Ontology, W3C Recommendation 30 April 2013: domains and ranges of
  prov:wasAttributedTo (entity, agent) and prov:generatedAtTime (entity, xsd:dateTime).
"""

from __future__ import annotations

from datetime import UTC, datetime

import pyoxigraph as ox
import pytest
from knockon.reasoner.catalogue import Standing
from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.upkeep.quads import line, named
from knockon.reasoner.upkeep.standing import NewSource

PREFIXES = """
PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
PREFIX prov: <http://www.w3.org/ns/prov#>
PREFIX rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#>
PREFIX xsd: <http://www.w3.org/2001/XMLSchema#>
PREFIX ko: <https://knockon.example/ns#>
"""

BREAKS = {
    "SKOS S12: a label is a plain literal": """
        ?what skos:prefLabel|skos:altLabel|skos:hiddenLabel ?label
        FILTER (!isLiteral(?label) || !(datatype(?label) IN (xsd:string, rdf:langString)))""",
    "SKOS S13: preferred, alternative and hidden labels are disjoint": """
        { ?what skos:prefLabel ?label ; skos:altLabel ?label } UNION
        { ?what skos:prefLabel ?label ; skos:hiddenLabel ?label } UNION
        { ?what skos:altLabel ?label ; skos:hiddenLabel ?label }""",
    "SKOS S14: one preferred label a language tag": """
        ?what skos:prefLabel ?label , ?other
        FILTER (?label != ?other && lcase(lang(?label)) = lcase(lang(?other)))""",
    "PROV constraint 55: an entity is no activity": """
        ?what a prov:Entity , prov:Activity""",
    "PROV-O: what is attributed is an entity": """
        ?what prov:wasAttributedTo ?agent
        FILTER NOT EXISTS { ?what a ?kind FILTER (?kind IN (prov:Entity, ko:Source)) }""",
    "PROV-O: it is attributed to an agent": """
        ?entity prov:wasAttributedTo ?what
        FILTER (!isIRI(?what) || EXISTS { ?what a prov:Activity })""",
    "PROV-O: a time of generation is a dateTime of an entity": """
        ?what prov:generatedAtTime ?time
        FILTER (datatype(?time) != xsd:dateTime || !bound(?time))""",
}

BROKEN = {
    "SKOS S12: a label is a plain literal": "a:x skos:prefLabel 7 .",
    "SKOS S13: preferred, alternative and hidden labels are disjoint": (
        'a:x skos:prefLabel "hub"@en ; skos:altLabel "hub"@en .'
    ),
    "SKOS S14: one preferred label a language tag": (
        'a:x skos:prefLabel "hub"@en-GB , "boss"@en-gb .'
    ),
    "PROV constraint 55: an entity is no activity": "a:x a prov:Entity , prov:Activity .",
    "PROV-O: what is attributed is an entity": "a:x prov:wasAttributedTo a:y .",
    "PROV-O: it is attributed to an agent": (
        'a:x a prov:Entity ; prov:wasAttributedTo "somebody" .'
    ),
    "PROV-O: a time of generation is a dateTime of an entity": (
        'a:x a prov:Entity ; prov:generatedAtTime "2024" .'
    ),
}

TURTLE = """@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix prov: <http://www.w3.org/ns/prov#> .
@prefix a: <https://a.example/> .
"""


def _breaking(store: ox.Store, rule: str) -> list[str]:
    query = f"{PREFIXES} SELECT DISTINCT ?what WHERE {{ {BREAKS[rule]} }}"
    solutions = store.query(query, use_default_graph_as_union=True)
    assert isinstance(solutions, ox.QuerySolutions)
    return sorted(str(solution["what"]) for solution in solutions)


@pytest.fixture(scope="module")
def shipped() -> ox.Store:
    """Vocabulary and demo, each source in its graph."""
    store = ox.Store()
    for file in catalogue_files(ontology_folder(), demo_folder()):
        form = ox.RdfFormat.TURTLE if file.name.endswith(".ttl") else ox.RdfFormat.TRIG
        store.load(file.text, format=form)
    return store


@pytest.mark.parametrize("rule", BREAKS)
def test_the_shipped_data_keeps(rule: str, shipped: ox.Store) -> None:
    assert _breaking(shipped, rule) == []


@pytest.mark.parametrize("rule", BREAKS)
def test_data_that_does_not_is_noticed(rule: str) -> None:
    store = ox.Store()
    store.load(TURTLE + BROKEN[rule], format=ox.RdfFormat.TURTLE)
    assert _breaking(store, rule)


def test_a_source_that_an_edit_describes_keeps_all_of_them() -> None:
    source = NewSource(
        "https://knockon.example/source/letter", "a letter", "a customer", Standing.REPORTED
    )
    store = ox.Store()
    for quad in named(source.quads(datetime(2024, 5, 1, 12, tzinfo=UTC))):
        store.load(line(quad), format=ox.RdfFormat.N_QUADS)
    assert not [rule for rule in BREAKS if _breaking(store, rule)]
