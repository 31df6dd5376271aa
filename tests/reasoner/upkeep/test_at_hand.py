"""Edits looked at with the catalogue at hand are what they are from the start."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import pytest
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import build_catalogue, load_catalogue, stated
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.upkeep.accepting import accept, follow
from knockon.reasoner.upkeep.at_hand import AtHand
from knockon.reasoner.upkeep.changes import ChangeSet, draft, invert
from knockon.reasoner.upkeep.preview_edit import catalogue_of, facts_after
from knockon.reasoner.upkeep.quads import Quad, named, quads_of, version_of
from knockon.reasoner.upkeep.store import create, stored_version, writing
from knockon.reasoner.upkeep.store_facts import facts_in_store
from rdflib import URIRef

from ...conftest import PREFIXES, TINY_DATA, TINY_STATIONS, family, part, tolerances
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
    for change in changes(facts, hand, range(50, 56)):
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
    assert count > 1
    assert tables(hand.catalogue) == before


def test_edits_one_after_the_other_come_to_what_they_come_to_together(
    facts: Facts, hand: AtHand
) -> None:
    first = next(changes(facts, hand, range(50, 60)))
    with hand.edited([first, invert(first)]) as (_, found):
        assert found.version == hand.version
    assert_same(found, catalogue_of(facts), "there and back")


# ---------------------------------------------------------------- edits that go live


class Shop:
    """A store that is edited with its catalogue at hand, and loaded from the start beside it."""

    def __init__(self, folder: Path, facts: Facts) -> None:
        self.folder, self.cache = folder / "shop", folder / "cache"
        create(self.folder, quads_of(facts), "Ada", WHEN.isoformat(), "begun")
        version, now = facts_in_store(self.folder)
        self.hand = AtHand(now, load_catalogue(self.folder, self.cache), (version, now))

    def holds(self) -> None:
        """What is served, and where it says that things are stated, is as from the start."""
        version, files = stated(self.folder, self.cache)[1]()
        anew = build_catalogue(version, files)
        assert (self.cache / self._kept(version)).exists()
        assert_same(load_catalogue(self.folder, self.cache), anew, "served")
        assert_same(self.hand.catalogue, anew, "at hand")
        facts = read_facts(files)
        with self.hand.edited(()) as (now, _):
            named = [n for n in now.files if isinstance(n, URIRef)]
            assert {n: now.place(n) for n in named} == {n: facts.place(n) for n in named}

    def _kept(self, version: str) -> str:
        (found,) = (path.name for path in self.cache.glob(f"{version[:32]}-*.catalogue"))
        return found

    def accept(self, change: ChangeSet) -> None:
        """Accept an edit by what is at hand; it has to be what was used."""
        before = self.hand.version
        accept(self.folder, change, cache=self.cache, hand=self.hand)
        assert self.hand.version == stored_version(self.folder) != before


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A store of the tiny catalogue."""
    places = TINY_STATIONS.removeprefix(PREFIXES)
    data = f"{TINY_DATA} src:drawings {{ {places} }}"
    return Shop(tmp_path, read_facts((TextFile("data/tiny.trig", data, False), tolerances())))


def _edit(shop: Shop, added: str, removed: str = "") -> ChangeSet:
    new, old = (
        quads_of(read_facts([TextFile("x.trig", f"{PREFIXES} src:drawings {{ {said} }}", False)]))
        for said in (added, removed)
    )
    source = "https://knockon.example/source/drawings"
    return draft("Ada", WHEN, "seen", source, new, old, shop.hand.version)


NEW_HUB = (
    family("late-hub", "hub", "hub-30", "face-5x120")
    + part("TH-31", "late-hub", "late hub", " ; ko:supersededBy part:TH-30")
    + "part:TW-120 ko:price 12.50 ."
)


def test_a_store_is_read_as_its_export_would_be(shop: Shop) -> None:
    version, found = facts_in_store(shop.folder)
    _, files = stated(shop.folder, shop.cache)[1]()
    expected = facts_after(read_facts(files), ())
    assert version == version_of(quads_of(expected))
    assert (found.sources, found.files, found.owners) == (
        expected.sources, expected.files, expected.owners
    )  # fmt: skip


def test_a_store_is_served_after_edits_by_what_is_at_hand(shop: Shop) -> None:
    shop.accept(_edit(shop, NEW_HUB))
    shop.accept(_edit(shop, "end:hub-27 ko:teeth 28 .", "end:hub-27 ko:teeth 27 ."))
    shop.holds()
    with writing(shop.folder) as store:
        made = store.undo("1", "Ada", WHEN, "it was another")
        change = store.change(made)
    follow(shop.folder, made, change, shop.hand, shop.cache)
    shop.holds()


def test_what_is_refused_or_outrun_is_not_followed(shop: Shop) -> None:
    before, catalogue = shop.hand.version, shop.hand.catalogue
    ring = _edit(
        shop, "part:TH-27 ko:supersededBy part:TH-30 . part:TH-30 ko:supersededBy part:TH-27 ."
    )
    with pytest.raises(CatalogueRefused, match="nothing was accepted") as refusal:
        accept(shop.folder, ring, cache=shop.cache, hand=shop.hand)
    with pytest.raises(CatalogueRefused) as from_the_start:
        accept(shop.folder, ring, cache=shop.cache)
    assert str(refusal.value) == str(from_the_start.value)
    assert (shop.hand.version, shop.hand.catalogue) == (before, catalogue)
    cheaper = _edit(shop, "part:TW-100 ko:price 9.50 .")
    accept(shop.folder, _edit(shop, "part:TW-120 ko:price 12.50 ."), cache=shop.cache)
    accept(shop.folder, cheaper, cache=shop.cache, hand=shop.hand)
    assert shop.hand.version == before
    assert len(load_catalogue(shop.folder, shop.cache).parts) == len(catalogue.parts)
