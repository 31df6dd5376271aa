"""Sets of parts say what looking at each part would say."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.car_links import CarLinks
from knockon.reasoner.catalogue import Catalogue, Standing
from knockon.reasoner.interfaces.kind import EndValues, Outcome
from knockon.reasoner.interfaces.length import rule, span
from knockon.reasoner.mating import Mating
from knockon.reasoner.part_sets import PartSets, bits_of, halves
from knockon.reasoner.places import NO_END, PROVEN, end_key, seats, values_of
from knockon.reasoner.supply import OriginKind, Supply
from knockon.reasoner.supports import Pair, Supports


@pytest.fixture(scope="module")
def mating(demo: Catalogue) -> Mating:
    return Mating(demo)


def test_the_sorts_of_a_place_hold_every_part_of_its_station_once(mating: Mating) -> None:
    sets, catalogue = PartSets.of(mating), mating.catalogue
    for joint in catalogue.joints.values():
        for station, role in seats(joint):
            brought = sets.brought(station, role)
            found = [part for parts in brought.parts for part in sets.named(station, parts)]
            sitting = mating.places.sitting(station)
            assert sorted(found, key=str) == sorted((*sitting, None), key=str)
            for ends, parts in zip(brought.ends, brought.parts, strict=True):
                assert sum(ends.values()) == parts
                assert len({values_of(catalogue, key) for key in ends}) == 1
                for key, of_key in ends.items():
                    for part in sets.named(station, of_key):
                        described = catalogue.parts[part] if part else None
                        assert end_key(described, role) == key


def test_what_the_parts_of_a_station_ask_for_exclude_and_belong_to(mating: Mating) -> None:
    sets, catalogue = PartSets.of(mating), mating.catalogue
    said = 0
    for station in catalogue.stations:
        rules = sets.rules(station)
        for iri in mating.places.sitting(station):
            part, bit = catalogue.parts[iri], sets.bit(station, iri)
            for table, names in (
                (rules.asks, set(part.asks)),
                (rules.excludes, set(part.excludes)),
                (rules.sets, set(part.sets)),
            ):
                assert {name for name, parts in table.items() if parts & bit} == names
                said += len(names)
            members = {family for family, parts in rules.members.items() if parts & bit}
            assert members == part.families & set(rules.members)
            assert bool(rules.reworked & bit) == bool(part.rework_of)
            assert bool(rules.new & bit) == (not part.rework_of and not part.superseded_by)
    assert said > 20


@pytest.mark.parametrize("floor", [PROVEN, Standing.MEASURED])
def test_what_goes_with_an_end_is_what_meets_it_and_does_not_clash(
    mating: Mating, floor: Standing
) -> None:
    sets, supports = PartSets.of(mating), Supports.of(mating, floor)
    catalogue = mating.catalogue
    links = CarLinks(supports, catalogue.stations, tuple(catalogue.joints.values()))
    seen = dict.fromkeys(Outcome, 0)
    for pairs in links.pairs_of.values():
        for pair in pairs:
            mine, theirs = (sets.brought(*seat).sort_of for seat in pair.seats)
            for near in mine:
                kindly, strictly = (
                    look(pair, 0, near) for look in (supports.kindly, supports.strictly)
                )
                for far in theirs:
                    outcome = _meeting(mating, pair, (near, far), floor)
                    parts = sets.brought(*pair.seats[1]).ends[theirs[far]][far]
                    seen[outcome] += 1
                    assert (kindly & parts) == (0 if outcome is Outcome.CLASHES else parts)
                    assert (strictly & parts) == (parts if outcome is Outcome.MATES else 0)
                    assert supports.outcome(pair, near, far) is outcome
    assert min(seen.values()) > 4


def _meeting(mating: Mating, pair: Pair, keys: tuple[object, object], floor: Standing) -> Outcome:
    for (station, _), key in zip(pair.seats, keys, strict=True):
        if pair.half and key == NO_END and station == pair.joint.via:
            return Outcome.MATES
    mate = mating.meet_keys(pair.joint, keys, pair.half)  # type: ignore[arg-type]
    return Outcome.MATES if mate is None else mate.under(floor)


LENGTHS = st.integers(-40, 40).map(Decimal)
PLUNGES = st.integers(0, 12).map(Decimal)
MEMBERS = st.builds(
    lambda sign, length, inwards, outwards: EndValues(
        "", {"length": 100 + length, "plungeIn": inwards, "plungeOut": outwards}, sign
    ),
    st.sampled_from([1, -1]),
    LENGTHS,
    PLUNGES,
    PLUNGES,
)


@given(ends=st.lists(MEMBERS, min_size=2, max_size=5))
def test_lengths_close_exactly_where_their_spans_hold_nothing_left_over(
    ends: list[EndValues],
) -> None:
    grace = Decimal(1)
    spans = [found for end in ends if (found := span(end))]
    low, high = sum(low for low, _ in spans), sum(high for _, high in spans)
    signs = {end.sign for end in ends}
    closes = rule(ends, {"length": grace})[0].outcome is Outcome.MATES
    assert closes == (low <= grace and high >= -grace) or len(signs) == 1


@given(ends=st.lists(MEMBERS, min_size=1, max_size=4), sign=st.sampled_from([1, -1]))
def test_no_length_is_proven_beside_an_end_that_does_not_say(
    ends: list[EndValues], sign: int
) -> None:
    silent = EndValues("", {"plungeIn": 2}, sign)
    assert span(silent) is None
    said = rule([*ends, silent], {"length": Decimal(1)})
    assert {finding.outcome for finding in said} <= {Outcome.UNPROVEN, Outcome.CLASHES}


def test_a_set_is_halved_without_losing_a_member() -> None:
    for parts in (0b11, 0b1011, 0b111010001):
        later, earlier = halves(parts)
        assert later | earlier == parts
        assert later
        assert earlier
        assert not later & earlier
        assert min(bits_of(later)) > max(bits_of(earlier))


def test_what_is_made_of_a_new_part_is_what_a_shop_without_stock_may_make(
    mating: Mating,
) -> None:
    catalogue, sets, made = mating.catalogue, PartSets.of(mating), 0
    for station in catalogue.stations:
        for part, bit in sets.bits(station).items():
            offered = [o.kind for o in Supply().origins(catalogue, station, part)]
            is_made = OriginKind.REWORK in offered
            assert bool(sets.made_of_new(station) & bit) == is_made
            made += is_made
    assert made > 1


def test_the_members_of_a_matched_set_are_those_that_say_so(mating: Mating) -> None:
    catalogue, sets, members = mating.catalogue, PartSets.of(mating), 0
    for station in catalogue.stations:
        for iri, bit in sets.bits(station).items():
            named = catalogue.parts[iri].sets
            assert bool(sets.in_sets(station) & bit) == bool(named)
            for matched in named:
                assert sets.of_set(matched)[station] & bit
                members += 1
    assert members > 1
