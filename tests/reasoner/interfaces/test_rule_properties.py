"""What holds of every rule, whatever the ends."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.interfaces.kind import EndValues, Outcome, overall
from knockon.reasoner.interfaces.registry import compare, kinds

from .house import SIDES, ends, of

KINDS = tuple(kinds())
CHAINS = ("Capacity", "Length", "Ratio")
# These are room that must be left, not leeway that is given: more of it is stricter.
DEMANDS = {"clearance", "axialClearance"}


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_two_ends_meet_alike_in_either_order(kind: str, data: st.DataObject) -> None:
    first, second = data.draw(ends(kind)), data.draw(ends(kind))
    there = compare(kind, [first, second], of(kind))
    back = compare(kind, [second, first], of(kind))
    assert overall(there) is overall(back)
    shown = [
        sorted((f.quantity, f.outcome, f.margin, f.note) for f in found if f.margin is not None)
        for found in (there, back)
    ]
    assert shown[0] == shown[1]


@pytest.mark.parametrize("kind", CHAINS)
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_a_chain_closes_alike_in_any_order_of_its_members(kind: str, data: st.DataObject) -> None:
    chain = data.draw(st.lists(ends(kind), min_size=2, max_size=5))
    shuffled = data.draw(st.permutations(chain))
    assert overall(compare(kind, chain, of(kind))) is overall(compare(kind, shuffled, of(kind)))


@pytest.mark.parametrize("kind", [k for k in KINDS if of(k)])
@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_more_tolerance_never_turns_a_mate_into_a_clash(kind: str, data: st.DataObject) -> None:
    pair = [data.draw(ends(kind)) for _ in range(2)]
    name = data.draw(st.sampled_from(sorted(of(kind))))
    more = data.draw(st.decimals(0, 20, places=2))
    tight = compare(kind, pair, of(kind))
    loose = compare(kind, pair, {**of(kind), name: of(kind)[name] + more})
    order = {Outcome.CLASHES: 0, Outcome.UNPROVEN: 1, Outcome.MATES: 2}
    before, after = order[overall(tight)], order[overall(loose)]
    assert before >= after if name in DEMANDS else before <= after


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_a_margin_has_the_sign_of_its_outcome(kind: str, data: st.DataObject) -> None:
    pair = [data.draw(ends(kind)) for _ in range(2)]
    for finding in compare(kind, pair, of(kind)):
        if finding.margin is not None:
            assert (finding.margin >= 0) is (finding.outcome is Outcome.MATES)
        if finding.outcome is Outcome.UNPROVEN:
            assert finding.needs


@pytest.mark.parametrize("kind", [k for k in KINDS if len(SIDES[k]) == 2 and k != "Capacity"])
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_two_ends_of_one_side_never_mate(kind: str, data: st.DataObject) -> None:
    side = data.draw(st.sampled_from(SIDES[kind]))
    pair = [EndValues(side, data.draw(ends(kind)).values) for _ in range(2)]
    assert overall(compare(kind, pair, of(kind))) is Outcome.CLASHES


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_forgetting_a_value_never_proves_a_clash_that_was_a_mate(
    kind: str, data: st.DataObject
) -> None:
    pair = [data.draw(ends(kind)) for _ in range(2)]
    if overall(compare(kind, pair, of(kind))) is not Outcome.MATES or not pair[0].values:
        return
    # What an end states about its own play or need changes the question, not what is known.
    own = {"slotLength", "plungeIn", "plungeOut", "splineForm", "factor"}
    names = sorted(set(pair[0].values) - own)
    if not names:
        return
    gone = data.draw(st.sampled_from(names))
    less = EndValues(
        pair[0].side, {k: v for k, v in pair[0].values.items() if k != gone}, pair[0].sign
    )
    if kind == "Ratio" and "ratio" in less.values:
        return
    assert overall(compare(kind, [less, pair[1]], of(kind))) is not Outcome.CLASHES


@given(st.decimals("0.01", 5, places=2), st.decimals("0.01", 5, places=2))
def test_a_slip_is_the_same_from_either_axle(first: Decimal, second: Decimal) -> None:
    from knockon.reasoner.interfaces.ratio import slip

    assert slip(first, second) == slip(second, first) >= 0
