"""What comes in question for a car, and the index that finds it without looking at everything."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from knockon.reasoner import neighbourhood, places, trial
from knockon.reasoner.build import stock_build
from knockon.reasoner.catalogue import Catalogue, Claim, End, Joint, Member, Part, Standing
from knockon.reasoner.interfaces.kind import Outcome, Scalar
from knockon.reasoner.interfaces.registry import kinds
from knockon.reasoner.mating import Mating
from knockon.reasoner.places import NO_END, EndKey, Place
from knockon.reasoner.problem import Ban, Problem, Reason, ReasonKind, Wishes
from knockon.reasoner.verdicts import Search, find_verdicts, read_verdicts

from .small import SmallCase, pair_tried_against_the_numbers, small_cases

LOOKED_UP = {name: kind for name, kind in kinds().items() if kind.equal or kind.near}


@pytest.fixture
def looks_everything_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if every station had too many parts to look at them one by one, and every question took
    many trials."""
    monkeypatch.setattr(places, "FEW", 0)
    monkeypatch.setattr(neighbourhood, "SMALL", 0)
    monkeypatch.setattr(trial, "BOUND_AFTER", 2)


def questions(catalogue: Catalogue, every: int) -> list[tuple[str, str, str]]:
    """Car, station and part to fit there: every so many of all there are."""
    found = [
        (car.iri, station, part.iri)
        for part in catalogue.parts.values()
        for station in part.stations
        for car in catalogue.cars.values()
        if station in car.fits and not catalogue.stations[station].fixed
    ]
    return found[::every]


def assert_alike(near: Problem, whole: Problem) -> None:
    """The same answers of either; what may be taken if only what is proven holds is told to who
    wants nothing else."""
    assert find_verdicts(near) == find_verdicts(whole)
    strictly, of_whole = (find_verdicts(problem, strict=True) for problem in (near, whole))
    assert replace(strictly, options=None) == replace(of_whole, options=None)
    assert strictly == of_whole or not near.wishes.only_proven
    assert_read_alike(near, whole)


def assert_read_alike(near: Problem, whole: Problem) -> None:
    """The ways that are told of each reading are those a solver finds among all parts."""
    with Search(near, strict=False) as search, Search(whole, strict=False) as of_whole:
        for joint in ("", *near.car.readings.refuted):
            doubt = Reason(ReasonKind.UNPROVEN, joint)
            reading, other = (s.reading | s.oracle.reason(doubt) for s in (search, of_whole))
            told = search.oracle.ways(reading)
            if told is not None:
                found = read_verdicts(of_whole.oracle, other)
                assert set(told) == set(found.ways)
                assert found.all_ways


@pytest.mark.usefixtures("looks_everything_up")
def test_to_ask_for_what_is_there_is_to_keep_it(demo: Catalogue) -> None:
    mating, turned = Mating(demo), 0
    for car, station, part in questions(demo, 83):
        build = stock_build(demo, demo.cars[car])
        alone = find_verdicts(Problem(mating, build, Wishes({station: part})))
        changing = sorted(set().union(*alone.ways) - {station})
        for other in [s for s in changing if build.fits[s]][:2]:
            wishes = Wishes({station: part, other: build.fits[other] or ""})
            near, whole = (Problem(mating, build, wishes, whole=w) for w in (False, True))
            assert_alike(near, whole)
            turned += 1
    assert turned > 10


@pytest.mark.usefixtures("looks_everything_up")
@seed(11)
@settings(
    max_examples=150,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(case=small_cases())
def test_to_ask_for_what_is_there_is_to_keep_it_on_any_small_car(case: SmallCase) -> None:
    mating, build = Mating(case.catalogue), case.build
    for station, part in build.fits.items():
        if part and station not in case.wishes.fits:
            wishes = replace(case.wishes, fits={**case.wishes.fits, station: part})
            assert_alike(*(Problem(mating, build, wishes, whole=w) for w in (False, True)))


@pytest.mark.usefixtures("looks_everything_up")
def test_wishes_that_contradict_one_another_are_not_met(demo: Catalogue) -> None:
    mating = Mating(demo)
    for car, station, part in questions(demo, 997):
        build = stock_build(demo, demo.cars[car])
        if build.fits[station] == part:
            continue
        kept = Wishes({station: part}, (station,))
        banned = Wishes({station: part}, bans=(Ban("none of these", frozenset({part})),))
        for wishes in (kept, banned):
            near, whole = (Problem(mating, build, wishes, whole=w) for w in (False, True))
            assert_alike(near, whole)
            assert not find_verdicts(near).workable


@pytest.mark.usefixtures("looks_everything_up")
def test_verdicts_are_those_of_the_whole_catalogue(demo: Catalogue) -> None:
    mating, fewer = Mating(demo), 0
    for car, station, part in questions(demo, 97):
        build, wishes = stock_build(demo, demo.cars[car]), Wishes({station: part})
        near, whole = (Problem(mating, build, wishes, whole=w) for w in (False, True))
        fewer += sum(map(len, whole.domains.values())) - sum(map(len, near.domains.values()))
        assert_alike(near, whole)
    assert fewer > 1000


@pytest.mark.usefixtures("looks_everything_up")
def test_a_part_for_a_station_that_never_gives_its_part_up_may_be_asked_about(
    demo: Catalogue,
) -> None:
    mating, workable = Mating(demo), 0
    for car in list(demo.cars.values())[::4]:
        build = stock_build(demo, car)
        for station in (s for s in car.fits if demo.stations[s].fixed):
            for part in mating.places.sitting(station)[::3]:
                wishes = Wishes({station: part})
                near, whole = (Problem(mating, build, wishes, whole=w) for w in (False, True))
                assert_alike(near, whole)
                workable += find_verdicts(whole).workable
    assert workable > 2


def test_a_few_parts_are_all_in_question(demo: Catalogue) -> None:
    car = demo.cars["https://knockon.example/car/w2-late"]
    build = stock_build(demo, car)
    mating = Mating(demo)
    near, whole = (Problem(mating, build, Wishes(), whole=w) for w in (False, True))
    assert near.domains == whole.domains


@pytest.mark.usefixtures("looks_everything_up")
def test_a_part_that_can_be_on_no_plan_still_gets_its_reasons(demo: Catalogue) -> None:
    mating = Mating(demo)
    for car, station, part in questions(demo, 97):
        build, wishes = stock_build(demo, demo.cars[car]), Wishes({station: part})
        problem = Problem(mating, build, wishes)
        assert part in problem.domains[station]


@pytest.mark.usefixtures("looks_everything_up")
def test_the_index_leaves_out_only_ends_that_clash(demo: Catalogue) -> None:
    mating = Mating(demo)
    left_out = 0
    for joint in demo.joints.values():
        if len(joint.members) != 2:
            continue
        first, second = joint.members
        here = mating.places.place(first.station, first.role).groups
        there = mating.places.place(second.station, second.role)
        for key, _ in here:
            found = {k for k, _ in mating.places.candidates(joint.kind, there, key)}
            for other, _ in there.groups:
                mate = mating.meet_keys(joint, (key, other))
                if other not in found:
                    left_out += 1
                    assert mate is not None
                    assert mate.under(places.PROVEN) is Outcome.CLASHES
    assert left_out > 300


NUMBERS = st.integers(0, 12).map(lambda n: Decimal(100) + Decimal(n) / 10)


@st.composite
def two_ends(draw: st.DrawFn, demo: Catalogue) -> tuple[str, list[End]]:
    """Two ends of one kind that differ a little, drawn from the demo's."""
    name = draw(st.sampled_from(sorted(LOOKED_UP)))
    kind = LOOKED_UP[name]
    like = draw(st.sampled_from([e for e in demo.ends.values() if e.kind == name]))
    made = []
    for number in (1, 2):
        claims = dict(like.claims)
        for quantity in (*kind.equal, *kind.if_stated):
            if quantity in kind.if_stated and draw(st.booleans()):
                claims.pop(quantity, None)
                continue
            stated: list[Scalar] = [
                c.value for c in claims.get(quantity, ()) if not isinstance(c.value, tuple)
            ]
            value = draw(st.sampled_from([*stated, 4, 5, "square", "bubble flare"]))
            claims[quantity] = (Claim(value, like_sources(like)),)
        for quantity in filter(None, (kind.near, kind.slack)):
            if draw(st.booleans()) or quantity == kind.near:
                claims[quantity] = (Claim(draw(NUMBERS), like_sources(like)),)
        made.append(replace(like, iri=f"end-{number}", claims=claims))
    return name, made


def like_sources(end: End) -> tuple[str, ...]:
    return next(iter(end.claims.values()))[0].sources


@given(data=st.data())
@settings(max_examples=150, deadline=None)
def test_what_the_index_tells_apart_clashes_by_the_rule(
    demo: Catalogue, data: st.DataObject
) -> None:
    name, (first, second) = data.draw(two_ends(demo))
    small = replace(demo, ends={"end-1": first, "end-2": second}, tried={})
    members = tuple(Member(f"s{n}", f"r{n}", 1, "MustMeet") for n in (1, 2))
    joint = Joint("joint", "joint", name, members)
    parts = {
        f"p{n}": Part(
            f"p{n}", "", f"p{n}", (), "", "", frozenset(), (f"s{n}",), {f"r{n}": (f"end-{n}",)}, {}, (),
        )
        for n in (1, 2)
    }  # fmt: skip
    small = replace(small, parts=parts, joints={"joint": joint}, cars={})
    key: EndKey = (("end-1",), ())
    mating, few = Mating(small), places.FEW
    places.FEW = 0
    found = mating.places.candidates(name, mating.places.place("s2", "r2"), key)
    places.FEW = few
    if not found:
        mate = mating.meet_keys(joint, (key, (("end-2",), ())))
        assert mate is not None
        assert mate.outcome is Outcome.CLASHES


def test_a_place_says_who_brings_what(demo: Catalogue) -> None:
    found = places.Places(demo)
    station = "https://knockon.example/station/rear-hub"
    role = "https://knockon.example/role/hub-spline"
    place = found.place(station, role)
    assert isinstance(place, Place)
    brought = {part for _, parts in place.groups for part in parts}
    assert brought <= set(found.sitting(station))
    for key, parts in place.groups:
        assert key != NO_END
        assert all(places.end_key(demo.parts[p], role) == key for p in parts)


def test_ends_whose_values_prove_nothing_are_never_left_out(demo: Catalogue) -> None:
    for end in demo.ends.values():
        kind = kinds().get(end.kind)
        if kind is None:
            continue
        weak = any(
            demo.standing(claim.sources) > Standing.REPORTED
            for quantity in (*kind.equal, kind.near)
            for claim in end.claims.get(quantity, ())
        )
        missing = any(q not in end.claims for q in (*kind.equal, kind.near) if q)
        if weak or missing:
            assert places.sizes_of(demo, kind, end) is None


@pytest.mark.usefixtures("looks_everything_up")
@given(case=small_cases())
@settings(
    max_examples=200,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_small_car_has_the_verdicts_of_its_whole_catalogue(case: SmallCase) -> None:
    mating = Mating(case.catalogue)
    for wishes in (case.wishes, replace(case.wishes, only_proven=True)):
        near, whole = (Problem(mating, case.build, wishes, whole=w) for w in (False, True))
        assert_alike(near, whole)


@pytest.mark.usefixtures("looks_everything_up")
def test_what_is_fitted_must_be_proven_beside_what_stays_too() -> None:
    case = pair_tried_against_the_numbers()
    mating = Mating(case.catalogue)
    near, whole = (Problem(mating, case.build, case.wishes, whole=w) for w in (False, True))
    assert_alike(near, whole)
    assert find_verdicts(near).ways == (frozenset({"s1"}),)
    assert find_verdicts(near, strict=True).ways == (frozenset({"s0", "s1"}),)
