"""Data that breaks a rule is refused by name, file, line and in words; nothing of it is served."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from knockon.reasoner import validate
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import ontology_folder

from ..conftest import PREFIXES, TINY_DATA, part, tiny_files
from .broken import BROKEN_SHAPES, Bad, added, broken_files, faults_of


@pytest.fixture(scope="module")
def told() -> tuple[Fault, ...]:
    """Everything that is said of all the bad facts together."""
    return faults_of(broken_files(BROKEN_SHAPES))


@pytest.mark.parametrize("bad", BROKEN_SHAPES.values(), ids=BROKEN_SHAPES.keys())
def test_what_breaks_a_shape_is_told_by_name_and_in_words(
    bad: Bad, told: tuple[Fault, ...]
) -> None:
    about = [f for f in told if f.node == bad.node]
    assert [f for f in about if f.rule == f"shape {bad.shape}" and bad.words in f.what], about


@pytest.mark.parametrize("bad", BROKEN_SHAPES.values(), ids=BROKEN_SHAPES.keys())
def test_what_breaks_a_shape_is_told_with_its_file_and_line(
    bad: Bad, told: tuple[Fault, ...]
) -> None:
    file = "ontology/tiny_stations.ttl" if bad.vocabulary else "data/tiny.trig"
    text = next(f.text for f in broken_files(BROKEN_SHAPES) if f.name == file)
    for fault in told:
        if fault.node == bad.node:
            place = re.fullmatch(rf"{file}, line (\d+)", fault.place)
            assert place, fault.place
            assert f":{bad.node} a " in text.splitlines()[int(place[1]) - 1]


def test_only_what_is_bad_is_told_of(told: tuple[Fault, ...]) -> None:
    assert {f.node for f in told} == {bad.node for bad in BROKEN_SHAPES.values()}


def test_every_general_shape_has_a_bad_example() -> None:
    text = (ontology_folder() / "shapes.ttl").read_text("utf-8")
    shapes = set(re.findall(r"^ko:(\w+Shape) a sh:NodeShape", text, re.MULTILINE))
    assert shapes - {bad.shape for bad in BROKEN_SHAPES.values()} == set()


def test_nothing_is_served_from_a_catalogue_that_breaks_a_shape(
    build_tiny: Callable[..., Catalogue],
) -> None:
    with pytest.raises(CatalogueRefused, match="nothing is served from it") as refused:
        build_tiny(data=TINY_DATA.replace('schema:mpn "TH-30"', 'schema:mpn "TH-30" , "TH-31"'))
    assert str(refused.value).splitlines()[1] == (
        "TH-30 (data/tiny.trig, line 39): mpn: a part needs exactly one part number (schema:mpn) "
        "[shape PartShape]"
    )


def test_the_tiny_catalogue_itself_is_sound() -> None:
    assert faults_of(tiny_files()) == ()


def _one(faults: tuple[Fault, ...]) -> Fault:
    assert len(faults) == 1, faults
    return faults[0]


def test_a_fact_outside_any_source_is_refused() -> None:
    data = TINY_DATA + part("TH-28", "light-hub", "orphan")
    fault = _one(faults_of(tiny_files(data)))
    assert fault.node == "TH-28"
    assert "3 statements stand outside any named graph, so nobody vouches" in fault.what


def test_a_turtle_file_among_the_data_is_refused_once_and_not_line_by_line() -> None:
    file = TextFile("data/loose.ttl", PREFIXES + part("TH-28", "light-hub", "orphan"), False)
    assert _one(faults_of((*tiny_files(), file))).place == "data/loose.ttl, line 19"


def test_facts_of_a_source_that_nobody_describes_are_refused() -> None:
    data = TINY_DATA + "src:drawing {\n" + part("TH-28", "light-hub", "late") + "}\n"
    fault = _one(faults_of(tiny_files(data)))
    assert fault.node == "drawing"
    assert fault.what.endswith("did you mean drawings?")


def test_a_misspelt_property_is_refused_with_the_nearest_word() -> None:
    data = TINY_DATA.replace("ko:teeth 27", "ko:theeth 27")
    fault = _one(faults_of(tiny_files(data)))
    assert fault.what == "ko:theeth is not a word of the vocabulary; did you mean teeth?"
    assert fault.node in ("hub-27", "shaft-27")


def test_a_misspelt_kind_is_refused_with_the_nearest_word() -> None:
    faults = added("end:odd a ko:Spilne ; ko:role role:hub-spline .")
    assert any(f.what.endswith("did you mean Spline?") for f in faults), faults


def test_a_misspelt_word_of_a_borrowed_vocabulary_is_refused() -> None:
    fault = _one(added(part("TH-28", "light-hub", "late", ' ; skos:altlabel "old hub"')))
    assert fault.what == "skos:altlabel is not a word of that vocabulary"


def test_a_thing_that_nobody_says_what_it_is_is_refused() -> None:
    fault = _one(added("part:TH-28 ko:inSet fam:hd-hub ."))
    assert fault.node == "hd-hub"
    assert "used as a matched set" in fault.what
    assert "nobody states that it is one" in fault.what


def test_a_set_that_is_stated_nowhere_is_refused() -> None:
    fault = _one(added(part("TH-28", "light-hub", "late", " ; ko:inSet part:clutch-set")))
    assert "used as a matched set (TH-28 inSet clutch-set), but stated nowhere" in fault.what


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (' ; ko:oneUse "perhaps"', "oneUse: “perhaps” is not true or false"),
        (' ; ko:excludes "the other one"', "“the other one” is a text; name the thing itself"),
        (" ; ko:rimDiameter fam:hd-hub", "rimDiameter: hd-hub is a thing; a value belongs here"),
        (' ; ko:rimDiameter "16 inch"', "rimDiameter: “16 inch” is not a plain decimal number"),
        (" ; ko:rimDiameter 1.6e1", "rimDiameter: “1.6e1” is not a plain decimal number"),
    ],
)
def test_a_value_that_is_not_of_its_kind_is_refused(more: str, words: str) -> None:
    fault = _one(added(part("TH-28", "light-hub", "late", more)))
    assert words in fault.what


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('ko:fromYear "about 1994"', "fromYear: “about 1994” is not a whole number"),
        ('ko:toSerial "unknown"^^xsd:integer', "toSerial: “unknown” is not a whole number"),
    ],
)
def test_a_year_or_serial_that_is_no_number_is_refused(more: str, words: str) -> None:
    fault = _one(
        added(
            f'car:odd a ko:Car ; skos:prefLabel "odd" ; ko:basedOn car:tiny ; {more} .',
        )
    )
    assert words in fault.what


def test_a_range_to_be_made_to_that_is_no_number_is_refused() -> None:
    fault = _one(
        added(
            "end:made a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ;"
            ' ko:madeToSuit [ ko:ofQuantity ko:teeth ; ko:least "few" ] .'
        )
    )
    assert fault.node == "made"
    assert "least: “few” is not a plain decimal number" in fault.what


def test_cars_based_on_one_another_in_a_ring_are_refused() -> None:
    ring = "".join(
        f'car:{a} a ko:Car ; skos:prefLabel "{a}" ; ko:basedOn car:{b} .\n'
        for a, b in (("one", "two"), ("two", "three"), ("three", "one"))
    )
    fault = _one(added(ring))
    assert "in a ring: one → two → three → one" in fault.what


def test_supersession_in_a_ring_is_refused_with_the_whole_ring() -> None:
    fault = _one(
        added(
            part("TH-28", "light-hub", "b", " ; ko:supersededBy part:TH-29")
            + part("TH-29", "light-hub", "c", " ; ko:supersededBy part:TH-27")
            + "part:TH-27 ko:supersededBy part:TH-28 ."
        )
    )
    assert "in a ring: TH-27 → TH-28 → TH-29 → TH-27; each would have taken" in fault.what


def test_a_part_superseded_by_itself_is_refused() -> None:
    assert "TH-27 → TH-27" in _one(added("part:TH-27 ko:supersededBy part:TH-27 .")).what


def test_work_that_must_come_before_itself_is_refused() -> None:
    work = "".join(
        f'op:{a} a ko:Operation ; skos:prefLabel "{a}" ; ko:hours 1.0 ; ko:after op:{b} .\n'
        for a, b in (("box-out", "shafts-off"), ("shafts-off", "box-out"))
    )
    fault = _one(added(work))
    assert "box-out → shafts-off → box-out" in fault.what


def test_two_parts_at_one_station_of_one_car_are_refused_with_who_says_so() -> None:
    fault = _one(added("car:tiny ko:has [ ko:atStation st:hub ; ko:part part:TH-30 ] ."))
    assert fault.what == "says of hub that more than one part sits there"
    assert fault.facts == ("TH-27 (says drawings)", "TH-30 (says drawings)")


def test_a_station_both_filled_and_left_empty_is_refused() -> None:
    fault = _one(added("car:tiny ko:leavesEmpty st:wheel ."))
    assert fault.facts == ("TW-100 (says drawings)", "nothing (says drawings)")


def test_two_house_tolerances_for_one_quantity_are_refused() -> None:
    fault = _one(
        added(
            "[] a ko:Tolerance ; ko:forKind ko:Spline ; ko:onQuantity ko:module ; ko:amount 0.5 ."
        )
    )
    assert fault.what == "module of Spline has two tolerances: 0.005 and 0.5"


def test_the_same_part_entered_twice_is_found_by_its_maker_and_number() -> None:
    fault = _one(
        added(
            "part:TH-27 schema:manufacturer maker:nobody .\n"
            'part:again a fam:light-hub ; skos:prefLabel "hub" ; schema:mpn "th 27" ;'
            " schema:manufacturer maker:nobody ."
        )
    )
    assert fault.what == "the same part as TH-27: both are “th 27” of nobody; enter it once"


def test_two_makers_may_use_the_same_number() -> None:
    faults = added(
        "part:TH-27 schema:manufacturer maker:nobody .\n"
        'part:other a fam:light-hub ; skos:prefLabel "hub" ; schema:mpn "TH-27" ;'
        " schema:manufacturer maker:somebody ."
    )
    assert faults == ()


def test_of_very_many_bad_things_some_are_told_and_the_rest_are_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(validate, "_MOST", 3)
    faults = added(
        "".join(f'part:X-{n} a fam:light-hub ; skos:prefLabel "x" .\n' for n in range(8))
    )
    assert [f.what for f in faults if f.node == "5 more things"] == [
        "break their shapes too, or might; mend the others first and check again"
    ]
    assert sorted(f.node for f in faults if f.rule == "shape PartShape") == ["X-0", "X-1", "X-2"]


def test_faults_come_in_one_order_whatever_the_order_of_files() -> None:
    files = broken_files(BROKEN_SHAPES)
    assert faults_of(files) == faults_of(tuple(reversed(files)))
