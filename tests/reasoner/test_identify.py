"""Telling lookalikes apart: what the part shows, what its number says, and what a year is worth."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.identify import (
    Identification,
    Remains,
    WarningKind,
    cars_of,
    identify,
    identify_car,
    lookalikes,
)
from knockon.reasoner.load import ontology_folder
from knockon.reasoner.looks import tell_apart
from knockon.reasoner.observations import Span
from knockon.reasoner.readings import Reading, UnreadableError, read
from knockon.reasoner.serial_ranges import RangeFaultKind, check_ranges
from knockon.reasoner.witness import BODY, MODEL_YEAR, Witness
from rdflib import RDFS, SKOS, Graph, URIRef

from ..conftest import PREFIXES, TINY_DATA, TINY_STATIONS, family, part

PART, OBS = "https://knockon.example/part/", "https://knockon.example/observation/"
CAR, GEN = "https://knockon.example/car/", "https://knockon.example/generation/"
STATION, ROLE = "https://knockon.example/station/", "https://knockon.example/role/"

STATIONS = (
    TINY_STATIONS
    + 'st:gearbox a ko:Station ; skos:prefLabel "gearbox" .\n'
    + (ontology_folder() / "identification.ttl").read_text("utf-8")
)

DATA = (
    PREFIXES
    + "@prefix obs: <https://knockon.example/observation/> .\n"
    + TINY_DATA.removeprefix(PREFIXES)
    + """
src:hearsay { src:hearsay a ko:Source ; skos:prefLabel "overheard" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Presumed . }
src:drawings {
"""
    + family("gearbox", "gearbox")
    + part("TG-A", "gearbox", "five-speed, first pattern")
    + part("TG-B", "gearbox", "five-speed, second pattern")
    + part("TG-C", "gearbox", "five-speed, works exchange")
    + """
obs:gearbox-serial a ko:OwnNumber ; skos:prefLabel "gearbox serial" ; ko:numberPrefix "TG" ;
    ko:measureBy "Read the number on the flat beside the bell housing." ; ko:reach ko:OnTheCar .
obs:bearing-style a ko:VisibleFeature ; skos:prefLabel "bearing style" ; ko:reach ko:OnTheCar ;
    ko:measureBy "Look behind the hub: a plain bore, or a flange with bolts." ;
    ko:mayRead "pressed in" , "bolted cartridge" .
obs:chord a ko:Measurement ; skos:prefLabel "chord" ; ko:reach ko:OnTheCar ; ko:readTo 0.3 ;
    ko:measureBy "Measure between the centres of two studs that stand two apart." ;
    ko:withRole role:hub-face ; ko:ofQuantity ko:circleDiameter ; ko:workedOut ko:Chord .
obs:over-pins a ko:Measurement ; skos:prefLabel "measure over pins" ; ko:readTo 0.1 ;
    ko:measureBy "Lay two pins in opposite spaces and measure over them." ;
    ko:withRole role:shaft-spline ; ko:ofQuantity ko:module ;
    ko:workedOut ko:OverPins ; ko:pinDiameter 1.92 .
[] a ko:IdentificationRule ; ko:tells part:TG-A ;
   ko:byObservation obs:gearbox-serial ; ko:fromNumber 10000 ; ko:toNumber 40999 .
[] a ko:IdentificationRule ; ko:tells part:TG-B ;
   ko:byObservation obs:gearbox-serial ; ko:fromNumber 41000 .
[] a ko:IdentificationRule ; ko:tells part:TH-27 ;
   ko:byObservation obs:bearing-style ; ko:reads "pressed in" .
[] a ko:IdentificationRule ; ko:tells fam:hd-hub ;
   ko:byObservation obs:bearing-style ; ko:reads "bolted cartridge" .
car:early a ko:Car ; skos:prefLabel "Tiny T1 early" ; ko:basedOn car:tiny ;
    ko:fromYear 2002 ; ko:toYear 2004 ;
    ko:toSerial 239999 ; ko:has [ ko:atStation st:gearbox ; ko:part part:TG-A ] .
car:late a ko:Car ; skos:prefLabel "Tiny T1 late" ; ko:basedOn car:tiny ;
    ko:fromYear 2005 ; ko:toYear 2008 ;
    ko:fromSerial 240000 ; ko:has [ ko:atStation st:gearbox ; ko:part part:TG-B ] ,
    [ ko:atStation st:hub ; ko:part part:TH-30 ] .
}
"""
)

Builder = Callable[..., Catalogue]


@pytest.fixture(scope="module")
def known(build_tiny: Builder) -> Witness:
    """The tiny catalogue with two gearboxes that look the same."""
    return Witness(build_tiny(DATA, STATIONS))


def seen(known: Witness, name: str, said: str) -> Reading:
    return read(known.observation(name if ":" in name else OBS + name), said)


def gearboxes(known: Witness, *readings: Reading) -> Identification:
    return identify(known, lookalikes(known.catalogue, station=STATION + "gearbox"), readings)


def left(found: Identification) -> list[str]:
    return [c.subject.removeprefix(PART) for c in found.of(Remains.POSSIBLE)]


# ---------------------------------------------------------------- the trade's facts, played small


def test_the_gearbox_serial_tells_where_the_year_is_wrong(known: Witness) -> None:
    """Fact of the trade no. 4 (common practice): an early car has last year's part."""
    found = gearboxes(
        known, seen(known, MODEL_YEAR, "2005"), seen(known, "gearbox-serial", "TG-38771")
    )
    assert left(found) == ["TG-A", "TG-C"]
    [warning] = found.warnings
    assert warning.kind is WarningKind.YEAR_AND_SERIAL_DISAGREE
    assert [r.said for r in warning.readings] == ["2005"]
    assert [r.said for r in warning.decided_by] == ["TG-38771"]
    assert warning.subjects == (PART + "TG-A",)
    assert [r.said for r in found.set_aside] == ["2005"]


def test_a_year_alone_still_hints(known: Witness) -> None:
    found = gearboxes(known, seen(known, MODEL_YEAR, "2005"))
    assert left(found) == ["TG-B", "TG-C"]
    assert not found.warnings


def test_year_and_serial_that_agree_raise_no_warning(known: Witness) -> None:
    found = gearboxes(
        known, seen(known, MODEL_YEAR, "2004"), seen(known, "gearbox-serial", "38771")
    )
    assert left(found) == ["TG-A", "TG-C"]
    assert not found.warnings


def test_the_cars_own_number_decides_against_the_year_which_build_it_is(known: Witness) -> None:
    """A car sold in 2005 with a number of the first pattern is of the first pattern."""
    found = identify_car(known, GEN + "tiny", serial="239998", year="2005")
    possible = [c.subject for c in found.of(Remains.POSSIBLE)]
    assert possible == [CAR + "early", CAR + "tiny"]  # nothing is stated of the third's number
    assert [w.kind for w in found.warnings] == [WarningKind.YEAR_AND_SERIAL_DISAGREE]
    assert found.candidates[1].subject == CAR + "late"
    assert found.candidates[1].remains is Remains.RULED_OUT


def test_a_change_in_mid_run_is_found_by_the_number_on_either_side(known: Witness) -> None:
    sides = {}
    for serial in ("239999", "240000"):
        found = identify_car(known, GEN + "tiny", serial=serial)
        sides[serial] = [c.subject for c in found.candidates if c.confirmed]
    assert sides == {"239999": [CAR + "early"], "240000": [CAR + "late"]}


def test_a_batch_in_mid_run_is_an_exception_to_the_range_around_it(build_tiny: Builder) -> None:
    """Fact of the trade no. 4 (common practice): right by the car's own number."""
    batch = """
src:drawings { car:batch a ko:Car ; skos:prefLabel "Tiny T1 first of 2006" ; ko:basedOn car:late ;
    ko:fromYear 2006 ; ko:toYear 2006 ; ko:fromSerial 250000 ; ko:toSerial 250999 ;
    ko:toSerial 250999 ; ko:has [ ko:atStation st:gearbox ; ko:part part:TG-A ] . }
"""
    late = "ko:fromYear 2005 ; ko:toYear 2008 ;\n    ko:fromSerial 240000"
    assert late in DATA
    data = DATA.replace(late, late + " ; ko:toSerial 299999") + batch
    known = Witness(build_tiny(data, STATIONS))
    assert check_ranges(known) == ()
    confirmed = {}
    for serial in ("249999", "250000", "250999", "251000"):
        found = identify_car(known, GEN + "tiny", serial=serial)
        confirmed[serial] = [c.subject.removeprefix(CAR) for c in found.candidates if c.confirmed]
    assert confirmed == {
        "249999": ["late"], "250000": ["batch"], "250999": ["batch"], "251000": ["late"],
    }  # fmt: skip
    series = known.series(CAR + "batch")
    assert left(gearboxes(known, seen(known, series, "250500"))) == ["TG-A", "TG-C"]


def test_bearing_style_tells_old_hub_from_new_at_a_glance(known: Witness) -> None:
    """Fact of the trade no. 8 (common practice)."""
    first = tell_apart(known, PART + "TH-27", PART + "TH-30")[0]
    assert first.observation.label == "bearing style"
    assert first.sure
    found = identify(
        known, [PART + "TH-27", PART + "TH-30"], [seen(known, "bearing-style", "Bolted cartridge")]
    )
    assert found.settled == PART + "TH-30"
    [reason] = found.candidates[0].against
    assert reason.statements[0].allowed == ("pressed in",)
    assert reason.statements[0].sources == ("https://knockon.example/source/drawings",)


def test_what_the_hub_shows_beats_the_number_of_the_car_it_is_on(known: Witness) -> None:
    """Somebody has fitted the later hub to an early car: the chassis number no longer tells."""
    series = known.series(CAR + "early")
    found = identify(
        known,
        [PART + "TH-27", PART + "TH-30"],
        [seen(known, series, "100000"), seen(known, "bearing-style", "bolted cartridge")],
    )
    assert found.settled == PART + "TH-30"
    assert [w.kind for w in found.warnings] == [WarningKind.CAR_NUMBER_SET_ASIDE]


# ---------------------------------------------------------------- values of ends


def test_a_chord_tells_bolt_circles_apart(known: Witness) -> None:
    """Five studs two apart: 100 mm gives 95.1, 120 mm gives 114.1 (D sin 72 degrees)."""
    hubs = [PART + "TH-27", PART + "TH-30"]
    assert identify(known, hubs, [seen(known, "chord", "114")]).settled == PART + "TH-30"
    assert identify(known, hubs, [seen(known, "chord", "95.0")]).settled == PART + "TH-27"


def test_pins_tell_spline_counts_apart(known: Witness) -> None:
    """30 teeth of module 1 measure 32.986 over pins of 1.92, 27 teeth 29.934."""
    shafts = [PART + "TS-27", PART + "TS-30"]
    found = identify(known, shafts, [seen(known, "over-pins", "32.9")])
    assert found.settled == PART + "TS-30"


def test_teeth_can_be_counted_without_any_rule_being_stated(known: Witness) -> None:
    count = ROLE + "shaft-spline#teeth"
    found = identify(known, [PART + "TS-27", PART + "TS-30"], [seen(known, count, "30")])
    assert found.settled == PART + "TS-30"
    assert [s.observation.iri for s in tell_apart(known, PART + "TS-27", PART + "TS-30")] == [
        count,
        OBS + "over-pins",
    ]


def test_a_coarse_reading_leaves_both_and_a_finer_one_decides(known: Witness) -> None:
    circle = known.observation(ROLE + "hub-face#circleDiameter")
    hubs = [PART + "TH-27", PART + "TH-30"]
    coarse = read(circle, "110", grace=Decimal(10))
    assert len(identify(known, hubs, [coarse]).of(Remains.POSSIBLE)) == 2
    assert identify(known, hubs, [read(circle, "120")]).settled == PART + "TH-30"


def test_a_port_that_only_one_of_two_lookalikes_has_is_seen(build_tiny: Builder) -> None:
    """Fact of the trade no. 5 (common practice): a later gearbox has no speed port."""
    blind = "src:drawings {" + part("TH-28", "light-hub", "hub", " ; ko:lacksRole role:hub-face")
    known = Witness(build_tiny(DATA + blind + "}", STATIONS))
    first = tell_apart(known, PART + "TH-27", PART + "TH-28")[0]
    assert first.observation.iri == ROLE + "hub-face#there"
    assert (first.first[0].allowed, first.second[0].allowed) == (("there",), ("not there",))


# ---------------------------------------------------------------- standing and dispute


def test_a_presumption_doubts_but_rules_nothing_out(build_tiny: Builder) -> None:
    hearsay = """
src:hearsay { [] a ko:IdentificationRule ; ko:tells part:TG-C ;
    ko:byObservation obs:gearbox-serial ; ko:fromNumber 90000 . }
"""
    known = Witness(build_tiny(DATA + hearsay, STATIONS))
    found = gearboxes(known, seen(known, "gearbox-serial", "38771"))
    assert left(found) == ["TG-A"]
    assert [c.subject for c in found.of(Remains.DOUBTED)] == [PART + "TG-C"]
    assert found.settled is None


def test_sources_that_differ_are_kept_side_by_side(build_tiny: Builder) -> None:
    other = """
src:workshop { src:workshop a ko:Source ; skos:prefLabel "workshop book" ;
  prov:wasAttributedTo maker:nobody ; ko:standing ko:Measured .
  [] a ko:IdentificationRule ; ko:tells part:TG-A ;
    ko:byObservation obs:gearbox-serial ; ko:fromNumber 10000 ; ko:toNumber 41500 . }
"""
    known = Witness(build_tiny(DATA + other, STATIONS))
    found = gearboxes(known, seen(known, "gearbox-serial", "41200"))
    assert left(found) == ["TG-A", "TG-B", "TG-C"]
    [a, b, _] = found.candidates
    assert a.disputed
    assert not b.disputed
    assert b.confirmed


def test_a_part_of_its_own_kind_wins_over_its_family(build_tiny: Builder) -> None:
    own = """
src:drawings { [] a ko:IdentificationRule ; ko:tells part:TH-30 ;
    ko:byObservation obs:bearing-style ; ko:reads "pressed in" . }
"""
    known = Witness(build_tiny(DATA + own, STATIONS))
    assert known.statements(PART + "TH-30", OBS + "bearing-style")[0].allowed == ("pressed in",)


# ---------------------------------------------------------------- what to look at next


def test_a_serial_is_looked_at_before_a_year(known: Witness) -> None:
    looks = gearboxes(known).looks
    assert [look.observation.label for look in looks] == [
        "gearbox serial",
        "chassis serial",
        "model year",
    ]


def test_what_is_known_already_is_not_asked_again(known: Witness) -> None:
    looks = gearboxes(known, seen(known, "gearbox-serial", "38771")).looks
    assert "gearbox serial" not in [look.observation.label for look in looks]


def test_nothing_is_asked_once_one_part_is_left(known: Witness) -> None:
    shafts = [PART + "TS-27", PART + "TS-30"]
    assert identify(known, shafts, [seen(known, "over-pins", "32.9")]).looks == ()


def test_when_nothing_remains_the_smallest_contradiction_is_named(known: Witness) -> None:
    hubs = [PART + "TH-27", PART + "TH-30"]
    bad = [
        seen(known, "bearing-style", "pressed in"),
        seen(known, "chord", "114"),
        seen(known, ROLE + "hub-spline#teeth", "30"),
    ]
    found = identify(known, hubs, bad)
    [warning] = found.warnings
    assert warning.kind is WarningKind.NOTHING_REMAINS
    assert len(warning.readings) == 2
    assert warning.subjects == (PART + "TH-30",)  # only the bearing speaks against it
    assert found.settled is None


# ---------------------------------------------------------------- what people write


def test_a_number_may_be_written_with_its_letters(known: Witness) -> None:
    serial = known.observation(OBS + "gearbox-serial")
    shows = {read(serial, said).shows for said in ("TG38771", "tg-38771", "38 771", "38771")}
    assert shows == {Span(Decimal(38771), Decimal(38771))}


@pytest.mark.parametrize(
    ("name", "said", "words"),
    [
        ("gearbox-serial", "worn off", "TG12345"),
        ("bearing-style", "bolted cartrige", "“bolted cartridge”"),
        ("chord", "about a hand", "write it as 67.2"),
        (MODEL_YEAR, "last spring", "write a year such as 2004"),
        (MODEL_YEAR, "2004-13", "months from 01 to 12"),
        (ROLE + "shaft-spline#teeth", "27.5", "whole number"),
    ],
)
def test_what_is_no_answer_is_refused_with_what_would_be(
    known: Witness, name: str, said: str, words: str
) -> None:
    with pytest.raises(UnreadableError) as error:
        seen(known, name, said)
    assert words in str(error.value)


def test_a_word_nearly_right_is_offered(known: Witness) -> None:
    with pytest.raises(UnreadableError) as error:
        seen(known, "bearing-style", "bolted cartrige")
    assert error.value.nearest == "bolted cartridge"


# ---------------------------------------------------------------- ranges, shapes


def test_sound_ranges_have_neither_overlap_nor_gap(known: Witness) -> None:
    assert check_ranges(known) == ()


def test_overlaps_and_gaps_between_ranges_are_found(build_tiny: Builder) -> None:
    data = DATA.replace("ko:toNumber 40999", "ko:toNumber 41999").replace(
        "ko:toSerial 239999", "ko:toSerial 239000"
    )
    gap, overlap = sorted(check_ranges(Witness(build_tiny(data, STATIONS))), key=lambda f: f.kind)
    assert (gap.kind, gap.least, gap.most) == (RangeFaultKind.GAP, 239001, 239999)
    assert gap.subjects == (CAR + "early", CAR + "late")
    assert (overlap.kind, overlap.least, overlap.most) == (RangeFaultKind.OVERLAP, 41000, 41999)
    assert overlap.subjects == (PART + "TG-A", PART + "TG-B")


@pytest.mark.parametrize(
    ("right", "wrong", "words"),
    [
        ('ko:reads "pressed in"', 'ko:reads "press fit"', "one of the words"),
        ("ko:fromNumber 10000", "ko:fromNumber 50000", "not above its end"),
        ("ko:fromNumber 10000 ; ko:toNumber 40999", 'ko:reads "old"', "states its range"),
        ("ko:tells part:TG-A", "ko:tells part:TG-X", "known part, family or car"),
        (" ; ko:pinDiameter 1.92", "", "pins' diameter"),
    ],
)  # fmt: skip
def test_a_rule_that_cannot_be_is_refused(
    build_tiny: Builder, right: str, wrong: str, words: str
) -> None:
    assert right in DATA
    with pytest.raises(CatalogueRefused) as refusal:
        build_tiny(DATA.replace(right, wrong), STATIONS)
    assert words in str(refusal.value)


def test_every_word_about_identification_says_what_it_means() -> None:
    words = Graph().parse(ontology_folder() / "identification.ttl")
    for word in {s for s in words.subjects() if isinstance(s, URIRef)}:
        if not word.endswith("Shape"):
            assert words.value(word, RDFS.comment), word
            assert words.value(word, RDFS.label) or words.value(word, SKOS.prefLabel), word


def test_lookalikes_are_those_of_a_station_and_of_a_car(known: Witness) -> None:
    gearbox = STATION + "gearbox"
    assert len(lookalikes(known.catalogue, station=gearbox)) == 3
    stock = lookalikes(known.catalogue, station=gearbox, on=GEN + "tiny")
    assert stock == (PART + "TG-A", PART + "TG-B")
    assert cars_of(known.catalogue, GEN + "tiny") == (CAR + "early", CAR + "late", CAR + "tiny")
    assert known.observation(BODY).label == "body"
