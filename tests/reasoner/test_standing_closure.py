"""What follows is kept up to date exactly as if all were closed again."""

from __future__ import annotations

from random import Random

import pytest
from knockon.reasoner.closure import close
from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.files import catalogue_files
from knockon.reasoner.load import demo_folder, ontology_folder
from knockon.reasoner.reading import Facts, Triple, read_facts
from knockon.reasoner.standing_closure import StandingClosure
from knockon.reasoner.terms import KO
from rdflib import RDF

from ..conftest import tiny_files
from .edits import Edits
from .random_graphs import axioms, statement

SAYS = ("https://knockon.example/source/drawings",)


class Followed:
    """Facts that are edited, closed both ways side by side."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.derived = close(facts)
        self.standing = StandingClosure(facts)
        self.refusals = 0
        self.made: list[tuple[list[Triple], list[Triple]]] = []

    def edit(self, added: list[Triple], removed: list[Triple]) -> None:
        """One edit, that has to come out the same on both ways."""
        gone = set(removed)
        left = {t: by for t, by in self.facts.sources.items() if t not in gone}
        sources = {**left, **{t: self.facts.sources.get(t, SAYS) for t in added}}
        after = Facts(sources, self.facts.files, self.facts.texts, [], self.facts.owners)
        removed = [t for t in removed if t not in sources]
        expected: frozenset[Triple] | tuple[Fault, ...]
        try:
            expected = close(after)
        except CatalogueRefused as refused:
            expected = refused.faults
        if isinstance(expected, tuple):
            self.refusals += 1
            with pytest.raises(CatalogueRefused) as refusal:
                self.standing.change(after, added, removed)
            assert refusal.value.faults == expected
            assert self.standing.derived(self.facts) == self.derived
            return
        found = self.standing.change(after, added, removed)
        assert found == (expected - self.derived, self.derived - expected)
        self.facts, self.derived = after, expected
        self.made.append((added, removed))

    def take_one_back(self) -> None:
        """Undo the last edit that was made."""
        if self.made:
            added, removed = self.made.pop()
            self.edit(removed, added)
            self.made.pop()


def _graph(random: Random) -> Facts:
    said = [*axioms(random), *(statement(random) for _ in range(random.randint(0, 14)))]
    return Facts(dict.fromkeys(said, SAYS), {s: "data/x.trig" for s, _, _ in said})


def test_whatever_is_said_by_whatever_rules_follows_and_ceases_to_follow() -> None:
    refused = 0
    for seed in range(28):
        random = Random(seed)
        try:
            followed = Followed(_graph(random))
        except CatalogueRefused:
            continue
        for _ in range(random.randint(3, 8)):
            if random.random() < 0.25:
                followed.take_one_back()
                continue
            now = list(followed.facts.sources)
            more = (statement(random) for _ in range(random.choice((0, 1, 1, 2, 4))))
            added = [t for t in dict.fromkeys(more) if t not in followed.facts.sources]
            followed.edit(added, random.sample(now, min(len(now), random.choice((0, 1, 1, 2, 5)))))
        refused += followed.refusals
    assert refused > 2


def test_edits_of_the_demo_and_their_undoing_come_back_to_what_it_was() -> None:
    demo = read_facts(catalogue_files(ontology_folder(), demo_folder()))
    followed, edits, random = Followed(demo), Edits(demo), Random(5)
    for _ in range(4):
        followed.edit(*edits.edit(random, followed.facts.sources))
    while followed.made:
        followed.take_one_back()
    assert followed.derived == close(demo)


def test_a_catalogue_can_be_taken_apart_and_put_together_again() -> None:
    tiny = read_facts(tiny_files())
    followed, edits, random = Followed(tiny), Edits(tiny), Random(7)
    left = list(edits.data)
    random.shuffle(left)
    while left:
        followed.edit([], [left.pop() for _ in range(min(12, len(left)))])
    assert not [t for t in followed.derived if "/part/" in str(t[0])]
    while followed.made:
        followed.take_one_back()
    assert followed.derived == close(tiny)


def test_a_refused_change_leaves_everything_as_it_was() -> None:
    tiny = read_facts(tiny_files())
    followed = Followed(tiny)
    hub = next(s for s in tiny.files if str(s).endswith("/TH-27"))
    followed.edit([(hub, RDF.type, KO.Station)], [])
    followed.edit([(hub, KO.supersededBy, hub)], [])
    assert followed.refusals >= 1
    followed.edit([], [t for t in tiny.sources if t[0] == hub])
    followed.take_one_back()
    assert followed.derived == close(tiny)
