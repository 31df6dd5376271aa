"""A change is refused, in the same words, exactly if the whole catalogue would be refused."""

from __future__ import annotations

from random import Random

import pytest
from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.reading import Facts, Triple, read_facts
from knockon.reasoner.standing_check import StandingCheck
from knockon.reasoner.validate import check_shapes
from rdflib import RDF

from ..conftest import TINY_DATA, TINY_STATIONS, part, tiny_files
from .broken import MORE_PREFIXES
from .mutations import closed, full_little_files, spoilt

DATA = ("data/tiny.trig", "data/tolerances.trig")


def refused(facts: Facts) -> tuple[Fault, ...]:
    """Why the whole is refused."""
    try:
        check_shapes(facts, ())
    except CatalogueRefused as refusal:
        return refusal.faults
    return ()


def difference(old: Facts, new: Facts) -> tuple[list[Triple], list[Triple]]:
    """What is added and what is removed."""
    return (
        [t for t in new.sources if t not in old.sources],
        [t for t in old.sources if t not in new.sources],
    )


def changed(check: StandingCheck, old: Facts, new: Facts) -> tuple[Fault, ...]:
    """Why the change is refused."""
    try:
        check.change(new, *difference(old, new))
    except CatalogueRefused as refusal:
        return refusal.faults
    return ()


@pytest.fixture(scope="module")
def sound() -> Facts:
    """A small catalogue with something under nearly every shape; what follows is as if stated."""
    facts = closed(full_little_files())
    described = next(sources for sources in facts.sources.values() if sources != ("derived",))
    facts.sources.update({t: described for t, s in facts.sources.items() if s == ("derived",)})
    return facts


def test_a_change_is_refused_exactly_as_the_whole_would_be(sound: Facts) -> None:
    check = StandingCheck(sound, ())
    assert refused(sound) == ()
    outcomes = set()
    for seed in range(15):
        after = spoilt(sound, Random(seed), Random(seed).randint(1, 3), DATA)
        expected = refused(after)
        assert changed(check, sound, after) == expected, seed
        outcomes.add(bool(expected))
        if not expected:
            assert changed(check, after, sound) == ()
    assert outcomes == {True, False}


def test_a_part_that_is_added_with_its_family_is_sound(sound: Facts) -> None:
    check = StandingCheck(sound, ())
    more = MORE_PREFIXES + TINY_DATA + "src:drawings {" + part("TH-99", "hd-hub", "late hub") + "}"
    new = read_facts(tiny_files(more, TINY_STATIONS))
    part_99 = next(s for s, _, o in new.sources if str(o) == "TH-99")
    old_part = next(s for s in sound.files if str(s).endswith("/TH-30"))
    added = [t for t in new.sources if t[0] == part_99]
    given = {
        (part_99, p, o)
        for s, p, o in sound.sources
        if s == old_part and str(p).rsplit("#", 1)[-1] in ("sitsAt", "ofFamily", "hasEnd", "type")
    }
    after = Facts({**sound.sources, **{t: new.sources[t] for t in added}},
                  {**sound.files, part_99: "data/tiny.trig"}, sound.texts, [], sound.owners)  # fmt: skip
    check.change(after, added, derived=[*given - set(added)])
    with pytest.raises(CatalogueRefused, match="a part needs exactly one part number"):
        check.change(sound, removed=[t for t in added if str(t[1]).endswith("mpn")])


def test_whoever_uses_a_part_is_told_when_it_goes(sound: Facts) -> None:
    check = StandingCheck(sound, ())
    gone = next(s for s in sound.files if str(s).endswith("/TH-27"))
    kept = {t: s for t, s in sound.sources.items() if t[0] != gone}
    after = Facts(
        kept, {n: f for n, f in sound.files.items() if n != gone}, sound.texts, [], sound.owners
    )
    faults = changed(check, sound, after)
    assert faults == refused(after)
    assert any(f.node == "tiny" and "one known part" in f.what for f in faults), faults
    assert (gone, RDF.type) in {(s, p) for s, p, _ in difference(sound, after)[1]}
