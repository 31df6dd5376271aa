"""Edits looked at with the catalogue at hand are what they are from the start."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from random import Random

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.at_hand import AtHand
from knockon.reasoner.upkeep.changes import ChangeSet, draft, invert
from knockon.reasoner.upkeep.preview_edit import catalogue_of, facts_after
from knockon.reasoner.upkeep.quads import Quad, named, quads_of
from rdflib import URIRef

from ..mutations import full_little_files
from ..said_edits import Saying
from ..test_resident import assert_same, tables

WHEN = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def facts() -> Facts:
    """A small catalogue with something of every sort."""
    return read_facts(full_little_files())


@pytest.fixture
def hand(facts: Facts) -> AtHand:
    """That catalogue at hand."""
    return AtHand(facts, catalogue_of(facts))


def changes(facts: Facts, hand: AtHand, seeds: range) -> Iterator[ChangeSet]:
    """Edits at random, as change sets; those that say nothing new are left out."""
    stated = quads_of(facts)
    for seed in seeds:
        added, removed = Saying(facts_after(facts, ()), Random(seed), f"n{seed}").edit()
        gone = stated & _quads(removed)
        new = _quads(added) - stated
        if new or gone:
            yield draft("Ada", WHEN, "tried", "https://knockon.example/source/drawings", new, gone,
                        hand.version)  # fmt: skip


def _quads(said: list[tuple[object, object, object, str]]) -> frozenset[Quad]:
    return named((s, p, o, URIRef(g)) for s, p, o, g in said)  # type: ignore[misc]


def _expected(after: Facts) -> Catalogue | CatalogueRefused:
    try:
        return catalogue_of(after)
    except CatalogueRefused as refused:
        return refused


def test_an_edit_is_looked_at_as_from_the_start_and_leaves_nothing(
    facts: Facts, hand: AtHand
) -> None:
    before, count = tables(hand.catalogue), 0
    for change in changes(facts, hand, range(50, 62)):
        after = facts_after(facts, [change])
        expected = _expected(after)
        if isinstance(expected, CatalogueRefused):
            with pytest.raises(CatalogueRefused) as refusal, hand.edited([change]):
                pass
            assert str(refusal.value) == str(expected)
            continue
        with hand.edited([change]) as (now, found):
            assert (now.sources, now.files, now.owners) == (
                after.sources, after.files, after.owners
            )  # fmt: skip
        assert_same(found, expected, change.id)
        count += 1
    assert count > 3
    assert tables(hand.catalogue) == before


def test_edits_one_after_the_other_come_to_what_they_come_to_together(
    facts: Facts, hand: AtHand
) -> None:
    first = next(changes(facts, hand, range(50, 60)))
    with hand.edited([first, invert(first)]) as (_, found):
        assert found.version == hand.version
    assert_same(found, catalogue_of(facts), "there and back")
