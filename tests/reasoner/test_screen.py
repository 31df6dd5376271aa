"""The screen suspects whoever the SHACL engine would refuse; what it does not know it suspects."""

from __future__ import annotations

from difflib import get_close_matches
from random import Random

import pytest
from knockon.reasoner.errors import Fault
from knockon.reasoner.files import TextFile, catalogue_files
from knockon.reasoner.grouped import by_property
from knockon.reasoner.links import Links
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.nearest_name import did_you_mean
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.screen import ShapeBook, Suspects, find_suspects, shape_book
from knockon.reasoner.statements import check_statements
from knockon.reasoner.validate import Words, broken_by, engines_report
from rdflib import SH

from ..conftest import PREFIXES, TINY_DATA, tiny_files
from ..external.shacl_engine import with_records
from .broken import faults_of
from .mutations import closed, full_little_files, spoilt

SPOILT = ("data/tiny.trig", "ontology/tiny_stations.ttl", "data/tolerances.trig")


def screened(facts: Facts) -> tuple[ShapeBook, Links, Suspects]:
    """The shapes, the tables and the suspects of facts that are closed."""
    book = shape_book(facts)
    links = book.links(by_property(facts.sources))
    return book, links, find_suspects(book, links)


def assert_as_the_engine(facts: Facts) -> int:
    """What is refused is what the engine reports of the whole graph; how much that is."""
    book, links, suspects = screened(facts)
    ours = {finding.fault for finding in broken_by(suspects, book, links, facts)}
    report = engines_report(with_records(facts.graph()), book.shapes + book.queries)
    by_query = set(report.subjects(SH.sourceConstraintComponent, SH.SPARQLConstraintComponent))
    theirs = set()
    for result in by_query:
        focus, shape, message = (
            report.value(result, p) for p in (SH.focusNode, SH.sourceShape, SH.resultMessage)
        )
        assert focus is not None
        named = Words(facts).shape_name(shape)
        theirs.add(Fault(facts.name(focus), facts.place(focus), named, str(message)))
        report.remove((result, None, None))
    theirs |= {finding.fault for finding in Words(facts).of_report(report)}
    assert ours == theirs
    return len(theirs)


def test_every_shape_that_knockon_ships_is_known_to_the_screen() -> None:
    book = shape_book(read_facts(catalogue_files(ontology_folder(), demo_folder())))
    assert len(book.screens) > 50
    assert book.unknown == ()


def test_in_a_sound_catalogue_nobody_is_suspected() -> None:
    assert not screened(closed(full_little_files()))[2]


@pytest.mark.parametrize("seed", range(2))
def test_catalogues_spoilt_at_random_are_refused_as_by_the_engine(seed: int) -> None:
    facts = spoilt(closed(full_little_files()), Random(seed), 60, SPOILT)
    assert assert_as_the_engine(facts) > 20


@pytest.mark.parametrize("seed", range(2))
def test_of_a_few_things_those_are_suspected_that_are_suspected_among_all(seed: int) -> None:
    facts = spoilt(closed(full_little_files()), Random(100 + seed), 60, SPOILT)
    book, links, every = screened(facts)
    few = Random(seed).sample([*facts.files], len(facts.files) // 3)
    among = find_suspects(book, links, few)
    for found, all_found in ((among.of_shapes, every.of_shapes),
                             (among.of_queries, every.of_queries)):  # fmt: skip
        expected = {shape: {*nodes} & {*few} for shape, nodes in all_found.items()}
        assert {s: set(nodes) for s, nodes in found.items()} == {
            s: n for s, n in expected.items() if n
        }


OTHER_SHAPES = PREFIXES + "@prefix sh: <http://www.w3.org/ns/shacl#> .\n"


def _with_shape(shape: str) -> tuple[TextFile, ...]:
    return (*tiny_files(), TextFile("ontology/more.ttl", OTHER_SHAPES + shape, True))


@pytest.mark.parametrize(
    ("shape", "unknown"),
    [
        ("sh:targetClass ko:Station ; sh:property [ sh:path skos:prefLabel ; sh:uniqueLang true ]",
         "uniqueLang"),
        ("sh:targetClass ko:Station ; sh:property [ sh:path [ sh:inversePath ko:sitsAt ] ; sh:minCount 1 ]",
         "a path that is not a sequence of properties"),
        ('sh:targetClass ko:Station ; sh:sparql [ sh:message "m" ; '
         'sh:select "SELECT $this WHERE { ?x <https://a.example/p> $this }" ]',
         "does not lead outwards"),
        ('sh:targetClass ko:Station ; sh:sparql [ sh:message "m" ; '
         'sh:select "SELECT $this WHERE { $this <https://a.example/p> ?n FILTER (?n + 1 > 2) }" ]',
         "in a filter"),
    ],
)  # fmt: skip
def test_what_the_screen_does_not_know_makes_everybody_a_suspect(shape: str, unknown: str) -> None:
    book, _, suspects = screened(read_facts(_with_shape(f"ko:OddShape a sh:NodeShape ; {shape} .")))
    assert [said for said in book.unknown if unknown in said], book.unknown
    stations = {str(node).rsplit("/", 1)[1] for node in suspects.nodes()}
    assert stations >= {"hub", "shaft", "wheel", "spacer"}


def test_a_suspect_that_is_innocent_is_not_refused() -> None:
    unique = 'sh:targetClass ko:Station ; sh:property [ sh:path skos:prefLabel ; sh:uniqueLang true ; sh:message "one label a language" ]'
    files = _with_shape(f"ko:OddShape a sh:NodeShape ; {unique} .")
    assert faults_of(files) == ()
    more = TextFile("ontology/label.ttl", PREFIXES + 'st:shaft skos:prefLabel "axle"@en-GB .', True)
    assert [(f.node, f.what) for f in faults_of((*files, more))] == [
        ("shaft", "prefLabel: one label a language")
    ]


def test_a_shape_within_a_shape_is_known_by_any_logic() -> None:
    shape = (
        "ko:OddShape a sh:NodeShape ; sh:targetClass ko:Station ;"
        " sh:or ( [ sh:path ko:quantity ; sh:maxCount 0 ] [ sh:not [ sh:path ko:quantity ; sh:in ( 3 5 ) ] ] ) ;"
        " sh:xone ( [ sh:path ko:inArea ; sh:minCount 1 ] [ sh:path ko:quantity ; sh:minCount 1 ] ) ;"
        ' sh:and ( [ sh:nodeKind sh:IRI ] [ sh:pattern "station" ] ) .'
    )
    stations = "".join(
        f'st:s{at} a ko:Station ; skos:prefLabel "s{at}" {more} .\n'
        for at, more in enumerate(("", "; ko:quantity 2", "; ko:quantity 3", '; ko:inArea "rear"',
                                   '; ko:inArea "rear" ; ko:quantity 2'))
    )  # fmt: skip
    files = (*_with_shape(shape), TextFile("ontology/s.ttl", PREFIXES + stations, True))
    facts = closed(files)
    assert screened(facts)[0].unknown == ()
    assert assert_as_the_engine(facts) >= 4


def test_the_nearest_of_many_names_is_the_one_that_a_slower_search_finds() -> None:
    random = Random(7)
    letters = "abcde-12"
    names = sorted({"".join(random.choices(letters, k=random.randint(1, 9))) for _ in range(400)})
    for _ in range(300):
        word = "".join(random.choices(letters, k=random.randint(1, 9)))
        near = get_close_matches(word, names, n=1, cutoff=0.6)
        assert did_you_mean(word, names) == (f"; did you mean {near[0]}?" if near else "")


def test_values_that_the_engine_cannot_compare_are_refused_in_words() -> None:
    data = TINY_DATA + (
        "src:drawings { [] a ko:IdentificationRule ; ko:tells part:TH-27 ; ko:byObservation"
        ' ko:chassisNumber ; ko:fromNumber "many"^^xsd:integer ; ko:toNumber 9 . }\n'
    )
    facts = read_facts((*tiny_files(data), *full_little_files()[-1:]))
    book, links, suspects = screened(facts)
    told = [
        f.fault.what for f in broken_by(suspects, book, links, facts) if f.fault.node == "a record"
    ]
    assert told == ["has a value of another kind than the shape compares it with"]
    assert [f.fault.what for f in check_statements(facts)] == [
        "fromNumber: “many” is not a whole number"
    ]
