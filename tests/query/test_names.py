"""What names mean: every way to say them, and never a guess."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.query.errors import AmbiguousName, NotOnCar, UnknownName
from knockon.query.names import Entry, Label, resolve, resolve_one
from knockon.query.phrases import (
    CarName,
    KeptName,
    Name,
    PartName,
    SortName,
    SourceName,
    StationName,
    ThingName,
)
from knockon.query.spelling import key_of

from .counter import W2, counter
from .trees import phrases

NAMES = counter()


@pytest.mark.parametrize(
    ("name", "iri"),
    [
        (PartName("OW-42310"), "part:OW-42310"),
        (PartName("ow 42310"), "part:OW-42310"),
        (PartName("OW42310"), "part:OW-42310"),
        (PartName("HD rear hub"), "part:OW-42310"),
        (PartName("the hd rear-hubs"), "part:OW-42310"),
        (PartName("HD-REAR-HUB"), "part:OW-42310"),
        (PartName("strong hub"), "fam:hd-hub"),
        (PartName("six speed gearbox"), "part:OW-70610"),
        (PartName("sixspeed gearboxes"), "part:OW-70610"),
        (PartName("16 inch wheel"), "part:OW-60160"),
        (PartName('16" wheel'), "part:OW-60160"),
        (PartName("HD caliper"), "part:OW-31040"),
        (StationName("brake calipers"), "st:calliper"),
        (StationName("hand-brake"), "st:parking-brake"),
        (StationName("Handbrakes"), "st:parking-brake"),
        (StationName("prop-shaft"), "st:propshaft"),
        (StationName("halfshafts"), "st:half-shaft"),
        (CarName("W2 late"), "car:W2 late"),
        (CarName("w2-late"), "car:W2 late"),
        (CarName("Wether W2"), "gen:w2"),
        (SortName("gearbox"), "fam:gearbox"),
        (SortName("rear hub"), "fam:rear-hub"),
        (SourceName("brannock"), "maker:brannock"),
        (SourceName("makers drawings"), "src:drawings"),
        (ThingName("station rear hub"), "st:rear-hub"),
        (ThingName("the family rear hub"), "fam:rear-hub"),
        (ThingName("part HD calliper"), "part:OW-31040"),
    ],
    ids=str,
)
def test_a_thing_is_found_by_what_people_call_it(name: Name, iri: str) -> None:
    assert resolve_one(name, NAMES).iri == iri


def test_its_hub_is_the_hub_on_the_car_now() -> None:
    assert resolve_one(PartName("its rear hub"), NAMES, W2).iri == "part:OW-42110"
    assert resolve_one(PartName("Its brake caliper"), NAMES, W2).iri == "part:OW-31020"


def test_its_hub_is_unknown_where_nothing_sits() -> None:
    with pytest.raises(NotOnCar, match="nothing sits at the front hub"):
        resolve(PartName("its front hub"), NAMES, W2)


def test_the_wheels_are_all_stations_of_that_name() -> None:
    found = resolve(KeptName("the wheels"), NAMES, W2)
    assert [entry.iri for entry in found] == ["st:front-wheel", "st:rear-wheel"]
    with pytest.raises(AmbiguousName):
        resolve_one(KeptName("the wheels"), NAMES, W2)


def test_a_station_that_the_car_lacks_is_said_to_be_lacking() -> None:
    with pytest.raises(NotOnCar, match="Wether W2 late has no transfer box"):
        resolve(StationName("transfer box"), NAMES, W2)
    assert resolve_one(StationName("transfer box"), NAMES).iri == "st:transfer-box"


def test_a_word_of_two_senses_is_asked_about_unless_the_language_decides() -> None:
    with pytest.raises(AmbiguousName) as raised:
        resolve(KeptName("driveshaft"), NAMES)
    found = {c.label for c in raised.value.problem.candidates}
    assert found == {"front propshaft", "front half-shaft"}
    american = resolve_one(KeptName("driveshaft"), NAMES, language="en-US")
    british = resolve_one(KeptName("driveshaft"), NAMES, language="en-GB")
    assert (american.iri, british.iri) == ("st:cardan", "st:front-shaft")


def test_parts_of_one_name_are_told_apart_and_not_guessed_at() -> None:
    with pytest.raises(AmbiguousName) as raised:
        resolve(PartName("15-inch steel wheel"), NAMES)
    told = [(c.number, c.detail) for c in raised.value.problem.candidates]
    assert told == [
        ("BK-60150", "offset 0 mm, by Brannock"),
        ("OW-60150", "offset 25 mm"),
    ]


def test_things_of_different_sorts_are_told_apart_where_either_may_stand() -> None:
    with pytest.raises(AmbiguousName) as raised:
        resolve(ThingName("rear hub"), NAMES)
    hint = raised.value.problem.hint
    assert hint == "Say which: “family rear hub” or “station rear hub”"


def test_a_name_of_another_sort_is_said_to_be_that() -> None:
    with pytest.raises(UnknownName, match="“propshaft” is a station; a part is wanted here"):
        resolve(PartName("propshaft"), NAMES)


def test_a_likeness_is_a_suggestion_only() -> None:
    with pytest.raises(UnknownName) as raised:
        resolve(PartName("HD rear hup"), NAMES)
    assert raised.value.problem.nearest[0] == "HD rear hub"


def test_suggestions_for_a_station_are_of_the_car_only() -> None:
    with pytest.raises(UnknownName) as raised:
        resolve(StationName("transfer bux"), NAMES, W2)
    assert "transfer box" not in raised.value.problem.nearest


def test_a_build_that_was_named_comes_before_the_catalogue() -> None:
    mine = Entry("build:1", "car", (Label("my-car"), Label("W2 late")))
    names = counter(mine)
    overlaid = type(names)(_Only((mine,)), base=NAMES)
    assert resolve_one(CarName("my car"), overlaid).iri == "build:1"
    assert resolve_one(CarName("W2 late"), overlaid).iri == "build:1"
    assert resolve_one(CarName("Lanner"), overlaid).iri == "car:lanner"
    assert overlaid.entry("car:lanner") == NAMES.entry("car:lanner")


class _Only:
    def __init__(self, entries: tuple[Entry, ...]) -> None:
        self._entries = entries

    def entries(self) -> tuple[Entry, ...]:
        return self._entries


@given(phrases)
def test_any_phrase_is_found_or_refused_and_always_the_same(phrase: str) -> None:
    def meant() -> object:
        try:
            return resolve(KeptName(phrase), NAMES, W2)
        except (UnknownName, NotOnCar, AmbiguousName) as error:
            return error.problem

    assert meant() == meant()


@given(st.sampled_from(NAMES.entries), st.data())
def test_case_and_hyphens_make_no_name(entry: Entry, data: st.DataObject) -> None:
    label = data.draw(st.sampled_from(entry.labels)).text
    written = data.draw(st.sampled_from([label.upper(), label.lower(), label.replace(" ", "-")]))
    assert key_of(written) == key_of(label)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("propshaft", "driveshaft"),
        ("OW-1", "OW-11"),
        ("W2", "W3"),
        ("5.0", "50"),
        ("front hub", "rear hub"),
    ],
)
def test_different_names_have_different_keys(one: str, other: str) -> None:
    assert key_of(one) != key_of(other)
