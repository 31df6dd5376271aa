"""A catalogue that is kept up to date is the catalogue of its facts, made from the start.

`edited_at_random` takes as many seeds as you have time for; a few are enough to see that it works.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from random import Random
from typing import Any

import pytest
from knockon.reasoner.assemble import assemble
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.closure import close
from knockon.reasoner.errors import CatalogueRefused
from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.lookups import LOOKUPS, Lookups
from knockon.reasoner.reading import Facts, read_facts
from knockon.reasoner.resident import Resident
from knockon.reasoner.terms import KO
from knockon.reasoner.upkeep.preview_edit import facts_after
from knockon.reasoner.validate import check_shapes
from rdflib import XSD, Literal, URIRef

from .mutations import full_little_files
from .said_edits import Edit, Saying, facts_with, said_in


def from_the_start(version: str, facts: Facts) -> Catalogue:
    """The catalogue of some facts, by nothing that stays."""
    derived = close(facts)
    check_shapes(facts, derived)
    return assemble(version, facts, derived)


def outcome(version: str, facts: Facts) -> Catalogue | CatalogueRefused:
    """As `from_the_start`, or the refusal."""
    try:
        return from_the_start(version, facts)
    except CatalogueRefused as refused:
        return refused


def tables(catalogue: Catalogue) -> dict[str, object]:
    """Every table with its rows in their order."""
    found = {f.name: getattr(catalogue, f.name) for f in fields(catalogue) if f.init}
    return {n: list(t.items()) if isinstance(t, Mapping) else t for n, t in found.items()}


def assert_same(found: Catalogue, expected: Catalogue, what: object) -> None:
    """Two catalogues are the same table by table, and so is what is looked up in them."""
    one, other = tables(found), tables(expected)
    for name in one:
        assert one[name] == other[name], (what, name)
    anew = Lookups(expected)
    for name in LOOKUPS:
        assert dict(found.lookups.table(name)) == dict(anew.table(name)), (what, name)


class Kept:
    """A catalogue that is edited both ways side by side."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.first = from_the_start("0", facts)
        self.resident = Resident("0", _copy(facts))
        self.made: list[Edit] = []
        self.refusals = 0

    def edit(self, version: str, added: list[Any], removed: list[Any]) -> None:
        """One edit, of which has to come the same catalogue, or the same refusal."""
        after = facts_with(self.facts, added, removed)
        before = self.resident.catalogue
        expected = outcome(version, after)
        if isinstance(expected, CatalogueRefused):
            self.refusals += 1
            with pytest.raises(CatalogueRefused) as refusal:
                self.resident.change(version, added, removed)
            assert refusal.value.faults == expected.faults, version
            assert str(refusal.value) == str(expected)
            assert self.resident.catalogue is before
            return
        assert_same(self.resident.change(version, added, removed), expected, version)
        self.facts = after
        self.made.append((added, removed))

    def undo(self, version: str) -> None:
        """Take back the last edit that was made."""
        added, removed = self.made.pop()
        self.edit(version, removed, added)
        self.made.pop()


def edited_at_random(facts: Facts, seeds: range) -> Kept:
    """Edits that follow one another, with some undone at once and all at the end."""
    kept = Kept(facts)
    for seed in seeds:
        random = Random(seed)
        if kept.made and random.random() < 0.3:
            kept.undo(f"{seed}")
        else:
            kept.edit(f"{seed}", *Saying(kept.facts, random, f"n{seed}").edit())
    while kept.made:
        added, removed = kept.made.pop()
        kept.resident.change("0", removed, added)
    assert_same(kept.resident.change("0", (), ()), kept.first, "all undone")
    assert kept.resident.facts == facts
    return kept


def _copy(facts: Facts) -> Facts:
    return Facts(dict(facts.sources), dict(facts.files), facts.texts, [], dict(facts.owners))


def little() -> Facts:
    """A small catalogue with something of every sort, as edits see it."""
    return facts_after(read_facts(full_little_files()), ())


@pytest.fixture(scope="module")
def demo_facts() -> Facts:
    """The demo as edits see it."""
    return facts_after(read_facts(catalogue_files(ontology_folder(), demo_folder())), ())


def test_edits_of_every_sort_leave_the_catalogue_of_what_is_stated_then() -> None:
    kept = edited_at_random(little(), range(12))
    assert kept.refusals


def test_edits_of_the_demo_leave_the_catalogue_of_what_is_stated_then(demo_facts: Facts) -> None:
    edited_at_random(demo_facts, range(1021, 1023))


def test_the_catalogue_before_an_edit_stays_what_it_was(demo_facts: Facts) -> None:
    resident = Resident("0", _copy(demo_facts))
    before = resident.catalogue
    part = next(p for p in before.parts.values() if p.price)
    stated = [s for s in said_in(demo_facts) if s[:2] == (URIRef(part.iri), KO.price)]
    cheap = [(*s[:2], Literal("1.00", datatype=s[2].datatype), s[3]) for s in stated]  # type: ignore[union-attr]
    after = resident.change("1", cheap, stated)
    assert before.parts[part.iri] is part
    assert after.parts[part.iri].price != part.price
    assert len(after.parts) == len(before.parts)
    assert resident.change("0", stated, cheap).parts[part.iri] == part


def test_an_edit_of_the_vocabulary_is_followed_too() -> None:
    kept = Kept(little())
    source = said_in(kept.facts)[0][3]
    kept.edit("1", [(KO.teeth, KO.measureBy, Literal("Count them all."), source)], [])
    assert kept.made


def test_what_was_torn_half_way_is_made_whole_by_the_next_change() -> None:
    kept = Kept(little())
    source = said_in(kept.facts)[0][3]
    part = URIRef(next(iter(kept.first.parts)))
    price = [(part, KO.price, Literal("9.50", datatype=XSD.decimal), source)]

    def interrupted(stage: str) -> None:
        if stage == "assembled":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        kept.resident.change("1", price, (), interrupted)
    assert kept.resident.facts == kept.facts
    kept.edit("1", price, [])
    assert kept.made
