"""Which builds an edit changes, by which facts; and that passing builds over loses nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.build import modified, stock_build
from knockon.reasoner.cascade import Cascade, find_cascade
from knockon.reasoner.catalogue import Car, Catalogue, Claim, End, Fit, Part, Standing
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.problem import Wishes
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.changes import ChangeSet, apply, draft, invert
from knockon.reasoner.upkeep.preview import Edit, preview_builds, stock_builds
from knockon.reasoner.upkeep.preview_edit import THE_EDIT, catalogue_of, facts_after
from knockon.reasoner.upkeep.preview_facts import NOTHING, ChangedFact
from knockon.reasoner.upkeep.quads import Quad, quads_of, version_of
from rdflib import XSD, Literal, URIRef

from tests.conftest import TINY_DATA, family, part, tiny_files

from ..small import SmallCase, small_cases

SPACE = "https://knockon.example/"
DRAWINGS = URIRef(f"{SPACE}source/drawings")


def ko(name: str) -> URIRef:
    return URIRef(f"{SPACE}ns#{name}")


def end(name: str) -> URIRef:
    return URIRef(f"{SPACE}end/{name}")


def whole(number: int) -> Literal:
    return Literal(str(number), datatype=XSD.integer)


@pytest.fixture(scope="module")
def facts() -> Facts:
    return read_facts(tiny_files())


def change(facts: Facts, added: tuple[Quad, ...] = (), removed: tuple[Quad, ...] = ()) -> ChangeSet:
    when = datetime(2024, 5, 1, tzinfo=UTC)
    base = version_of(quads_of(facts))
    return draft("Ann", when, "counted again", str(DRAWINGS), added, removed, base)


def teeth(name: str, was: int, is_: int) -> tuple[tuple[Quad, ...], tuple[Quad, ...]]:
    return (
        ((end(name), ko("teeth"), whole(is_), DRAWINGS),),
        ((end(name), ko("teeth"), whole(was), DRAWINGS),),
    )


# ---------------------------------------------------------------------- facts after an edit


def test_the_facts_after_an_edit_state_what_its_statements_say(facts: Facts) -> None:
    made = change(facts, *teeth("hub-27", 27, 28))
    after = facts_after(facts, [made])
    assert quads_of(after) == apply(quads_of(facts), made)
    assert quads_of(facts_after(after, [invert(made)])) == quads_of(facts)


def test_what_an_edit_leaves_keeps_its_file_and_line(facts: Facts) -> None:
    after = facts_after(facts, [change(facts, *teeth("hub-27", 27, 28))])
    assert after.place(end("hub-30")) == facts.place(end("hub-30"))
    new = change(facts, ((end("hub-40"), ko("teeth"), whole(40), DRAWINGS),))
    assert facts_after(facts, [new]).place(end("hub-40")) == THE_EDIT


def test_an_edit_that_leaves_a_part_without_a_label_is_refused(
    facts: Facts, tiny: Catalogue
) -> None:
    label = URIRef("http://www.w3.org/2004/02/skos/core#prefLabel")
    hub = URIRef(f"{SPACE}part/TH-27")
    nameless = change(facts, (), ((hub, label, Literal("light hub"), DRAWINGS),))
    with pytest.raises(CatalogueRefused, match="label people can say"):
        catalogue_of(facts_after(facts, [nameless]))


# ---------------------------------------------------------------------- builds


def test_a_wrong_count_of_teeth_breaks_the_car_and_is_the_reason(
    facts: Facts, tiny: Catalogue
) -> None:
    after = catalogue_of(facts_after(facts, [change(facts, *teeth("hub-27", 27, 28))]))
    edit = Edit.between(tiny, after)
    fact = ChangedFact(
        "ends", str(end("hub-27")), "teeth",
        "27 (tiny drawings, documented)", "28 (tiny drawings, documented)",
    )  # fmt: skip
    assert edit.facts == (fact,)
    found = preview_builds(edit, stock_builds(tiny), stock_builds(after))
    (car,) = found.differences
    assert (car.name, car.breaks) == ("Tiny T1 light", True)
    (joint,) = car.joints
    assert (joint.before, joint.after) == (Outcome.MATES, Outcome.CLASHES)
    assert joint.why == (fact,)


def test_a_part_that_sits_elsewhere_is_told_with_the_fit_that_says_so(
    build_tiny: Callable[..., Catalogue], tiny: Catalogue
) -> None:
    after = build_tiny(TINY_DATA.replace("part part:TW-100", "part part:TW-120"))
    edit = Edit.between(tiny, after)
    (car,) = preview_builds(edit, stock_builds(tiny), stock_builds(after)).differences
    (fit,) = car.fits
    parts = f"{SPACE}part/TW-100", f"{SPACE}part/TW-120"
    assert (fit.station, fit.before, fit.after) == (f"{SPACE}station/wheel", *parts)
    assert [(f.before, f.after) for f in fit.why] == [
        ("TW-100 (tiny drawings, documented)", "TW-120 (tiny drawings, documented)")
    ]
    assert [joint.after for joint in car.joints] == [Outcome.CLASHES]


def test_a_saved_build_that_cannot_be_any_more_is_gone(tiny: Catalogue) -> None:
    edit = Edit.between(tiny, tiny)
    saved = modified(stock_build(tiny, next(iter(tiny.cars.values()))), {}, "mine")
    (gone,) = preview_builds(edit, {"mine": saved}, {}).differences
    assert (gone.name, gone.there) == ("mine", (True, False))


def test_a_price_changes_no_build(build_tiny: Callable[..., Catalogue], tiny: Catalogue) -> None:
    after = build_tiny(TINY_DATA.replace('"TH-30" ;', '"TH-30" ; ko:price 99.0 ;'))
    edit = Edit.between(tiny, after)
    assert [(f.about, f.before, f.after) for f in edit.facts] == [("price", NOTHING, "99")]
    found = preview_builds(edit, stock_builds(tiny), stock_builds(after))
    assert not found.differences
    assert found.looked_at == 1, "its hub may be offered, so the car is within reach"


def test_a_car_without_the_station_is_out_of_reach(build_tiny: Callable[..., Catalogue]) -> None:
    two = (
        TINY_DATA
        + """src:drawings { gen:t2 a ko:Generation ; skos:prefLabel "Tiny T2" .
    car:trailer a ko:Car ; skos:prefLabel "Tiny trailer" ; ko:ofGeneration gen:t2 ;
    ko:has [ ko:atStation st:wheel ; ko:part part:TW-100 ] . }"""
    )
    before = build_tiny(two)
    after = build_tiny(two.replace("ko:teeth 30", "ko:teeth 31"))
    edit = Edit.between(before, after)
    progress: list[tuple[int, int, str]] = []
    found = preview_builds(
        edit,
        stock_builds(before),
        stock_builds(after),
        progress=lambda *told: progress.append(told),
    )
    assert (found.looked_at, found.passed_over) == (1, 1)
    assert progress == [(0, 1, "Tiny T1 light")]
    everything = preview_builds(edit, stock_builds(before), stock_builds(after), whole=True)
    assert everything.differences == found.differences
    assert (everything.looked_at, everything.passed_over) == (2, 0)


def test_a_source_that_counts_for_less_reaches_everything(
    build_tiny: Callable[..., Catalogue], tiny: Catalogue
) -> None:
    weaker = TINY_DATA.replace("ko:standing ko:Documented", "ko:standing ko:Presumed")
    edit = Edit.between(tiny, build_tiny(weaker))
    assert edit.reach.everywhere
    # What left the works together is still proven only by its source, which is now a guess.
    (car,) = preview_builds(
        edit, stock_builds(tiny), stock_builds(edit.after.catalogue)
    ).differences
    assert {joint.after for joint in car.joints} == {Outcome.UNPROVEN}
    assert {f.about for joint in car.joints for f in joint.why} == {"standing"}


# ---------------------------------------------------------------------- nothing is lost


@st.composite
def edits(draw: st.DrawFn) -> tuple[Catalogue, Catalogue, SmallCase]:
    """A small catalogue with a second car that has some of the stations, and a random edit."""
    case = draw(small_cases())
    catalogue = case.catalogue
    names = sorted(catalogue.stations)
    kept = draw(st.lists(st.sampled_from(names), unique=True, min_size=1))
    first = catalogue.cars["car"]
    second = replace(first, iri="car2", label="car2", fits={s: first.fits[s] for s in sorted(kept)})
    before = replace(catalogue, cars={"car": first, "car2": second})
    after = before
    for _ in range(draw(st.integers(1, 2))):
        after = draw(st.sampled_from([_teeth, _fit, _needs, _tolerance, _tried, _newcomer, _gone]))(
            draw, after
        )
    return before, after, case


def _teeth(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    if not catalogue.ends:
        return catalogue
    end: End = catalogue.ends[draw(st.sampled_from(sorted(catalogue.ends)))]
    claims = dict(end.claims)
    value = draw(st.sampled_from([None, 1, 2, 3]))
    claims.pop("teeth", None)
    if value is not None:
        claims["teeth"] = (Claim(value, ("src",)),)
    changed = replace(end, claims=dict(sorted(claims.items())))
    return replace(catalogue, ends={**catalogue.ends, end.iri: changed})


def _fit(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    car: Car = catalogue.cars[draw(st.sampled_from(sorted(catalogue.cars)))]
    station = draw(st.sampled_from(sorted(car.fits)))
    there = sorted(p.iri for p in catalogue.parts.values() if station in p.stations)
    if not there:
        return catalogue
    fits = {**car.fits, station: Fit(draw(st.sampled_from(there)), ("src",))}
    return replace(catalogue, cars={**catalogue.cars, car.iri: replace(car, fits=fits)})


def _needs(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    part: Part = catalogue.parts[draw(st.sampled_from(sorted(catalogue.parts)))]
    family = draw(st.sampled_from(sorted(catalogue.families)))
    changed = replace(part, requires=(family,), asks={family: part.family})
    return replace(catalogue, parts={**catalogue.parts, part.iri: changed})


def _tolerance(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    amount = draw(st.sampled_from([Decimal("0.001"), Decimal(5)]))
    return replace(
        catalogue, tolerances={"Spline": {**catalogue.tolerances["Spline"], "module": amount}}
    )


def _tried(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    if len(catalogue.ends) < 2:
        return catalogue
    pair = draw(
        st.lists(st.sampled_from(sorted(catalogue.ends)), min_size=2, max_size=2, unique=True)
    )
    return replace(catalogue, tried={**catalogue.tried, (min(pair), max(pair)): ("src",)})


def _newcomer(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    part: Part = catalogue.parts[draw(st.sampled_from(sorted(catalogue.parts)))]
    copy = replace(part, iri=f"{part.iri}-new", number=f"{part.number}-new", sets=())
    return replace(catalogue, parts=dict(sorted({**catalogue.parts, copy.iri: copy}.items())))


def _gone(draw: st.DrawFn, catalogue: Catalogue) -> Catalogue:
    fitted = {fit.part for car in catalogue.cars.values() for fit in car.fits.values()}
    free = sorted(set(catalogue.parts) - fitted)
    if not free:
        return catalogue
    gone = draw(st.sampled_from(free))
    left = {iri: part for iri, part in catalogue.parts.items() if iri != gone}
    return replace(catalogue, parts=left)


@given(edits())
@settings(max_examples=60, deadline=None)
def test_builds_that_are_passed_over_do_not_change(
    made: tuple[Catalogue, Catalogue, SmallCase],
) -> None:
    before, after, _ = made
    edit = Edit.between(before, after)
    builds = stock_builds(before), stock_builds(after)
    found = preview_builds(edit, *builds)
    assert found.differences == preview_builds(edit, *builds, whole=True).differences


@given(edits())
@settings(max_examples=60, deadline=None)
def test_questions_about_a_car_out_of_reach_are_answered_the_same(
    made: tuple[Catalogue, Catalogue, SmallCase],
) -> None:
    before, after, _ = made
    edit = Edit.between(before, after)
    for iri in before.cars:
        build, again = (stock_build(c, c.cars[iri]) for c in (before, after))
        if build != again or edit.reach.touches(build):
            continue
        for station in build.fits:
            for each in sorted(p.iri for p in before.parts.values() if station in p.stations):
                wishes = Wishes({station: each})
                one = _told(find_cascade(edit.before, build, wishes))
                assert one == _told(find_cascade(edit.after, again, wishes))


def _told(cascade: Cascade) -> object:
    return (
        cascade.workable,
        cascade.strictly_workable,
        cascade.knock_ons,
        cascade.checks,
        cascade.conflict,
    )


def test_every_sort_of_fact_has_a_reach(tiny: Catalogue) -> None:
    """A new table of the catalogue must not be forgotten: everything in it counts or is named."""
    counted = {"parts", "ends", "joints", "stations", "families", "cars", "sources", "operations",
               "consumables", "advice", "tolerances", "tried"}  # fmt: skip
    # Names, and what only tells things apart: no verdict on a build rests on them.
    words = {"version", "generations", "lines", "roles", "sets", "makers", "quantities", "kinds",
             "derived", "asserted", "regional", "observations", "identification", "lookups"}  # fmt: skip
    assert set(Catalogue.__dataclass_fields__) == counted | words


def test_a_stronger_source_is_a_changed_fact(tiny: Catalogue) -> None:
    source = next(iter(tiny.sources.values()))
    stronger = replace(source, standing=Standing.MEASURED)
    after = replace(tiny, sources={**tiny.sources, source.iri: stronger})
    assert [f.about for f in Edit.between(tiny, after).facts] == ["standing"]


def test_what_left_the_works_on_one_car_reaches_the_question_on_another(
    build_tiny: Callable[..., Catalogue],
) -> None:
    bare = (
        TINY_DATA
        + "src:drawings {"
        + family("bare-hubs", "hub", "hub-bare", "face-5x100")
        + part("TH-0", "bare-hubs", "hub nobody measured")
        + "end:hub-bare a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal . }\n"
    )
    works = """src:drawings { car:other a ko:Car ; skos:prefLabel "Tiny other" ;
        ko:ofGeneration gen:tiny ; ko:has [ ko:atStation st:hub ; ko:part part:TH-0 ] ,
            [ ko:atStation st:shaft ; ko:part part:TS-27 ] . }"""
    edit = Edit.between(build_tiny(bare), build_tiny(bare + works))
    before, after = (
        stock_builds(m.catalogue)[f"{SPACE}car/tiny"] for m in (edit.before, edit.after)
    )
    wishes = Wishes({f"{SPACE}station/hub": f"{SPACE}part/TH-0"})
    assert before == after
    assert edit.reach.touches(before)
    assert find_cascade(edit.before, before, wishes).checks
    assert not find_cascade(edit.after, after, wishes).checks
