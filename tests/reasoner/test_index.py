"""An index that facts were put into and taken out of is the index of what is left."""

from __future__ import annotations

from knockon.reasoner.assemble_ends import EndsIn
from knockon.reasoner.closure import close
from knockon.reasoner.index import FactIndex
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.terms import KO
from rdflib import RDF, URIRef

from ..conftest import SPLINE, TINY_DATA, tiny_files

_MORE = (
    "src:drawings { end:hub-33 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ;"
    f" ko:teeth 33 ; {SPLINE} . end:hub-30 ko:teeth 31 . }}"
)


def _index(data: str) -> tuple[Facts, FactIndex]:
    facts = read_facts(tiny_files(data))
    return facts, FactIndex(facts, close(facts))


def test_facts_come_and_go() -> None:
    few, lean = _index(TINY_DATA)
    many, rich = _index(TINY_DATA + _MORE)
    lean_derived, rich_derived = close(few), close(many)
    more, follows = many.sources.keys() - few.sources.keys(), rich_derived - lean_derived
    lean.add_all((triple, many.sources[triple]) for triple in more)
    lean.add_all((triple, ()) for triple in follows)
    for end in rich.instances(KO.End):
        assert EndsIn(lean, {}).end(end) == EndsIn(rich, {}).end(end)
    assert lean.instances(KO.End) == rich.instances(KO.End)
    lean.remove_all(more | follows)
    _, as_it_was = _index(TINY_DATA)
    assert lean.instances(KO.End) == as_it_was.instances(KO.End)
    for end in lean.instances(KO.End):
        assert EndsIn(lean, {}).end(end) == EndsIn(as_it_was, {}).end(end)


def test_a_fact_knows_its_sources_and_a_derived_one_has_none() -> None:
    _, index = _index(TINY_DATA)
    hub = URIRef("https://knockon.example/part/TH-27")
    assert index.sources(hub, KO.requires, hub) == ()
    family = URIRef("https://knockon.example/family/light-hub")
    assert index.sources(hub, RDF.type, family) == ("https://knockon.example/source/drawings",)
    assert index.is_a(hub, KO.Part)
    assert index.sources(hub, RDF.type, KO.Part) == ()
    assert hub in index.subjects(str(KO.sitsAt), URIRef("https://knockon.example/station/hub"))
