"""The trade's own checks: a small catalogue with everything wrong, and the words for each."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.files import TextFile, catalogue_files, fingerprint
from knockon.reasoner.load import build_catalogue, demo_folder, ontology_folder
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Wishes
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.findings import FindingNote, Severity, find_faults, stops
from knockon.reasoner.upkeep.findings_builds import parts_that_fit_nowhere
from knockon.reasoner.upkeep.findings_note import Notebook
from knockon.reasoner.upkeep.findings_refused import check_everything

from tests.conftest import PREFIXES, TINY_DATA, part, tiny_files

from ..small import SmallCase, small_cases, workable_builds
from .broken_trade import BROKEN_DATA, MORE_STATIONS


def _findings(files: tuple[TextFile, ...]) -> tuple[FindingNote, ...]:
    facts = read_facts(files)
    catalogue = build_catalogue(fingerprint(files), files)
    return find_faults(facts, catalogue, Mating(catalogue))


@pytest.fixture(scope="module")
def found() -> tuple[FindingNote, ...]:
    return _findings(tiny_files(BROKEN_DATA, MORE_STATIONS))


# What must be told: severity, rule, thing, and words of the reason.
TOLD = {
    "a stock build that clashes": (
        "stops", "a stock build is sound", "Tiny clashing",
        "light half-shaft (TS-27) and HD hub (TH-30) clash at “half-shaft spline ↔ hub spline”",
    ),
    "a stock build without what its part requires": (
        "stops", "a stock build keeps to what its parts require", "Tiny clashing",
        "its HD hub (TH-30) requires hd-shaft",
    ),
    "a required signal without a source": (
        "stops", "a signal has a source", "Tiny mute",
        "the gauge signal of dumb sender (TN-1) and speed gauge (TG-1) wants a signal and nothing sends it",
    ),
    "a chain that does not close": (
        "stops", "a chain of lengths closes", "Tiny stretched",
        "“cradle ↔ propshaft length” does not close with long cradle (TC-700) and propshaft (TP-600)",
    ),
    "an own end that the family gives anyway": (
        "notes", "an exception says something new", "hub with an idle exception (X-1)",
        "its own end hub-27 is what its family gives it anyway",
    ),
    "a part that lacks a role it never had": (
        "warns", "an exception says something new", "hub that lacks what none has (X-2)",
        "said to lack the role wheel-face, which none of its families gives it",
    ),
    "two own ends of one role": (
        "warns", "a part has one own end a role", "hub with two own ends (X-3)",
        "2 ends of its own for the role hub-spline: hub-30 and hub-31",
    ),
    "an own end of a role that the part lacks": (
        "stops", "an exception does not contradict itself", "hub with and without (X-4)",
        "said to lack the role hub-spline and to have hub-30 there",
    ),
    "a part that goes on no car": (
        "warns", "a part fits somewhere", "hub with 99 teeth (X-5)",
        "it goes on no car with a hub, whatever else is changed; on",
    ),
    "a part for a station that no car has": (
        "warns", "a part fits somewhere", "mast (TM-1)", "no car has a mast",
    ),
    "a station with no part": (
        "warns", "a station has parts", "aerial", "no part sits there",
    ),
    "a station on no car": (
        "notes", "a station is on some car", "mast", "no car has it",
    ),
    "inches entered as millimetres": (
        "warns", "a length is in millimetres", "prop-inch",
        "length 24.5 mm is like no other such end; 622.3 mm would be",
    ),
    "sources of which one speaks in inches": (
        "warns", "a length is in millimetres", "prop-600",
        "length is 600 mm by one source and 23.622 by another, which is the same in inches",
    ),
    "the same part under two names": (
        "warns", "a part is entered once", "twin hub (X-66)",
        "it looks like twin hub (X-6) entered again: both have the same label",
    ),
    "the same key on two parts": (
        "stops", "a part is entered once", "keyed hub again (X-77)", "both have the key “nobody x7”",
    ),
    "the same number with no maker": (
        "warns", "a part is entered once", "numbered hub too (X-8)", "both have the number X 8",
    ),
    "a requirement for a family without parts": (
        "warns", "what is required can be had", "haunted hub (X-9)",
        "it requires ghosts, a family without a single part",
    ),
    "advice about a family without parts": (
        "warns", "advice can be given", "never", "it names shades, a family without a single part",
    ),
    "a family without parts": (
        "notes", "a family has parts", "spooks", "no part belongs to it",
    ),
    "a role that no joint uses": (
        "notes", "a role is for a joint", "idle role", "no joint uses it",
    ),
    "an end that no part has": (
        "notes", "an end belongs to a part", "lost", "no part has it",
    ),
    "an end that meets nothing where its part sits": (
        "warns", "an end can meet another", "hub-77", "no joint takes a hub-spline at the wheel",
    ),
    "serial numbers of two cars": (
        "warns", "a serial number tells one thing", "Tiny second",
        "numbers 190 to 200 belong to Tiny first as well as to Tiny second",
    ),
    "serial numbers of no car": (
        "notes", "serial numbers leave no gap", "Tiny third", "numbers 301 to 309 belong to nothing",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TOLD)
def test_the_check_tells_of(name: str, found: tuple[FindingNote, ...]) -> None:
    severity, rule, thing, words = TOLD[name]
    told = [n for n in found if (n.severity.value, n.rule, n.thing) == (severity, rule, thing)]
    assert any(words in note.reason for note in told), [n.reason for n in told] or sorted(
        (n.severity.value, n.rule, n.thing) for n in found
    )
    assert all(note.remedy and note.place.startswith(("data/", "ontology/")) for note in told)


def test_every_finding_on_the_broken_catalogue_is_one_that_was_meant(
    found: tuple[FindingNote, ...],
) -> None:
    meant = {told[1] for told in TOLD.values()}
    assert {note.rule for note in found} == meant


def test_the_worst_comes_first_and_stops(found: tuple[FindingNote, ...]) -> None:
    order = [list(Severity).index(note.severity) for note in found]
    assert order == sorted(order)
    assert stops(found)


def test_a_clash_carries_the_values_that_were_compared(found: tuple[FindingNote, ...]) -> None:
    clash = next(n for n in found if n.rule == "a stock build is sound" and "spline" in n.reason)
    (mate,) = clash.mates
    teeth = next(f for f in mate.findings if f.quantity == "teeth")
    assert {teeth.first, teeth.second} == {27, 30}


def test_a_sound_catalogue_has_nothing_to_mend() -> None:
    (note,) = _findings(tiny_files())
    # Nobody makes an adapter for it, which is no harm: the station may stand empty.
    assert (note.severity, note.thing) == (Severity.NOTES, "wheel adapter")


def test_the_line_of_a_finding_is_where_the_thing_is_stated(
    found: tuple[FindingNote, ...],
) -> None:
    note = next(n for n in found if n.thing == "hub with 99 teeth (X-5)")
    file, line = note.place.split(", line ")
    assert file == "data/tiny.trig"
    assert BROKEN_DATA.splitlines()[int(line) - 1].startswith("part:X-5 ")


def test_facts_outside_any_source_stop() -> None:
    loose = PREFIXES + part("L-1", "light-hub", "loose hub")
    files = (*tiny_files(), TextFile("data/loose.trig", loose, ontology=False))
    facts = read_facts(files)
    checked = check_everything(facts)
    (fault,) = [f for f in checked.faults if f.rule == "every fact has a source"]
    assert "data/loose.trig" in fault.place
    assert checked.catalogue is not None, "the rest is still looked at"
    notes = find_faults(facts, checked.catalogue, Mating(checked.catalogue))
    (note,) = [n for n in notes if n.rule == "every fact has a source"]
    assert note.severity is Severity.STOPS
    assert "3 facts stand in no source's graph, the first about L-1" in note.reason


def test_refused_data_is_checked_by_the_trade_as_well() -> None:
    refused = TINY_DATA.replace(
        "gen:tiny a", 'part:L-2 a fam:light-hub ; schema:mpn "L-2" .\ngen:tiny a'
    ).replace("part part:TS-27", "part part:TS-30")
    checked = check_everything(read_facts(tiny_files(refused)))
    assert any("label people can say" in fault.what for fault in checked.faults)
    assert any(note.rule == "a stock build is sound" for note in checked.findings)


def test_of_a_contradiction_what_follows_is_not_told_but_what_is_stated_is() -> None:
    contradicting = TINY_DATA + (
        'src:drawings { part:TH-27 a ko:Station ; skos:prefLabel "both" .\n'
        "part:TH-30 ko:sitsAtt st:hub . }\n"
    )
    checked = check_everything(read_facts(tiny_files(contradicting)))
    said = " / ".join(fault.what for fault in checked.faults)
    assert "cannot be both" in said
    assert "ko:sitsAtt is not a word of the vocabulary" in said
    assert checked.catalogue is None


@given(small_cases())
@settings(max_examples=40, deadline=None)
def test_a_part_fits_nowhere_exactly_if_no_workable_build_has_it(case: SmallCase) -> None:
    catalogue = case.catalogue
    free = replace(case, wishes=Wishes())
    somewhere = {p for plan in workable_builds(free, strict=False) for p in plan.values()}
    fitted = {fit.part for car in catalogue.cars.values() for fit in car.fits.values()}
    notes = parts_that_fit_nowhere(Notebook(Facts(), catalogue), Mating(catalogue))
    assert {note.subject for note in notes} == set(catalogue.parts) - somewhere - fitted


@pytest.fixture(scope="module")
def demo_facts() -> Facts:
    return read_facts(catalogue_files(ontology_folder(), demo_folder()))


def test_nothing_stops_in_the_demo(demo_facts: Facts, demo: Catalogue, demo_mating: Mating) -> None:
    found = find_faults(demo_facts, demo, demo_mating)
    assert not stops(found)
    # The demo has one disputed number range on purpose, and no length in inches.
    assert [n.rule for n in found].count("a serial number tells one thing") == 1
    assert not any(note.rule == "a length is in millimetres" for note in found)
