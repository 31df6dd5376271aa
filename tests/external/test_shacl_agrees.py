"""What is refused for breaking a shape is what a SHACL engine reports, no more and no less.

Source: pyshacl, validating against W3C Recommendation "Shapes Constraint Language (SHACL)", 20 July
2017, with its SPARQL constraints (section 5) left in place; ours takes those out and puts each query
to the graph once, names records by what they belong to, and tells the details of a record instead
of the fact that it has some.
"""

from __future__ import annotations

import pytest
from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder

from ..conftest import tiny_files
from ..reasoner.broken import BROKEN_SHAPES, broken_files, faults_of
from .shacl_engine import reported, same, told_of_shapes


def test_every_refusal_is_in_the_engines_report_and_every_report_is_a_refusal() -> None:
    files = broken_files(BROKEN_SHAPES)
    conforms, theirs = reported(files)
    ours = told_of_shapes(faults_of(files))
    assert not conforms
    assert [o for o in ours if not any(same(o, t) for t in theirs)] == []
    assert [t for t in theirs if not any(same(o, t) for o in ours)] == []


@pytest.mark.parametrize("name", ["a part with two prices", "a joint of mixed kinds"])
def test_one_bad_thing_alone_is_refused_as_the_engine_reports_it(name: str) -> None:
    files = broken_files({name: BROKEN_SHAPES[name]})
    _, theirs = reported(files)
    ours = told_of_shapes(faults_of(files))
    assert len(ours) == len(theirs) == 1
    assert same(ours.pop(), theirs.pop())


def test_a_sound_catalogue_conforms() -> None:
    assert reported(tiny_files()) == (True, set())


def test_the_demo_conforms() -> None:
    assert reported(catalogue_files(ontology_folder(), demo_folder())) == (True, set())
