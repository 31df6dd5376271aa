"""A store: edits last with their history, meet openly, and can be taken back exactly."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pyoxigraph as ox
import pytest
from hypothesis import given
from knockon.reasoner.upkeep.changes import ChangeConflicts, ChangeRefused, invert
from knockon.reasoner.upkeep.layout import FORMAT, packed, unpacked, update_text
from knockon.reasoner.upkeep.opening import (
    NoSuch,
    StoreBusy,
    StoreError,
    StoreFormat,
    build_store,
)
from knockon.reasoner.upkeep.quads import Quad, version_of
from knockon.reasoner.upkeep.store import reading, stated_in, writing
from knockon.reasoner.upkeep.upgrade import upgrade

from .edits import NOON, TWO_ENDS, bench, edit, facts, quad_sets, store_of

RECOUNTED = "end:spline ko:teeth 28 ."
COUNTED = "end:spline ko:teeth 27 ."
WIDER = "end:hat ko:step [ ko:from 0 ; ko:to 44 ; ko:radius 110.50 ] ."
NARROWER = "end:hat ko:step [ ko:from 0 ; ko:to 42 ; ko:radius 110.50 ] ."


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return store_of(tmp_path / "shop")


@given(quad_sets)
def test_the_database_gives_back_what_was_stated_to_the_letter(quads: frozenset[Quad]) -> None:
    kept = ox.Store()
    kept.update(update_text(map(packed, quads), ()) or "CLEAR ALL")
    assert frozenset(map(unpacked, kept)) == quads
    kept.update(update_text((), map(packed, quads)) or "CLEAR ALL")
    assert not list(kept)


def test_an_edit_is_there_with_who_when_and_why(shop: Path) -> None:
    with writing(shop) as store:
        made = store.accept(edit(store.version, RECOUNTED, COUNTED))
    with reading(shop) as store:
        (entry,) = store.history()
        assert entry == made
        assert (entry.who, entry.when, entry.why) == (
            "Ann",
            "2024-05-01T12:00:00Z",
            "counted again",
        )
        assert (entry.number, entry.added, entry.removed, entry.state) == (1, 1, 1, "accepted")
        assert entry.before == version_of(facts(TWO_ENDS))
        assert entry.after == store.version == version_of(store.quads())
        assert store.change(entry).added == tuple(bench(RECOUNTED))


def test_undoing_an_edit_restores_the_exact_version_and_undoing_that_brings_it_back(
    shop: Path,
) -> None:
    with writing(shop) as store:
        first = store.version
        made = store.accept(edit(first, WIDER, NARROWER))
        back = store.undo("1", "Bob", NOON, "the gauge was off")
        assert back.after == first
        assert frozenset(store.quads()) == facts(TWO_ENDS)
        assert [entry.state for entry in store.history()] == ["undone", "accepted"]
        again = store.undo(back.id, "Cy", NOON, "the gauge was right")
        assert again.after == made.after
        assert [entry.state for entry in store.history()] == ["accepted", "undone", "accepted"]
        with pytest.raises(ChangeRefused, match="change 2 is undone already"):
            store.undo("2", "Cy", NOON, "once more")


def test_an_edit_that_others_built_on_is_not_undone_behind_their_backs(shop: Path) -> None:
    with writing(shop) as store:
        store.accept(edit(store.version, RECOUNTED, COUNTED))
        store.accept(edit(store.version, "end:spline ko:teeth 29 .", RECOUNTED))
        with pytest.raises(ChangeConflicts) as refused:
            store.undo("1", "Bob", NOON, "a chalk mark was counted")
        assert "is now:  end:spline ko:teeth 29 (src:bench)" in str(refused.value)
        assert "you say: end:spline ko:teeth 27 (src:bench)" in str(refused.value)
        assert store.edits == 2


def test_an_edit_is_undone_from_under_others_that_touch_other_places(shop: Path) -> None:
    with writing(shop) as store:
        store.accept(edit(store.version, RECOUNTED, COUNTED))
        store.accept(edit(store.version, WIDER, NARROWER))
        store.undo("1", "Bob", NOON, "a chalk mark was counted")
        expected = facts(TWO_ENDS) - bench(NARROWER) | bench(WIDER)
        assert frozenset(store.quads()) == expected


def test_the_second_of_two_editors_sees_both_versions_and_nothing_is_lost(shop: Path) -> None:
    base, _ = stated_in(shop)
    with writing(shop) as store:
        made = store.accept(edit(base, RECOUNTED, COUNTED, who="Ann"))
        with pytest.raises(ChangeConflicts) as refused:
            store.accept(edit(base, "end:spline ko:teeth 30 .", COUNTED, who="Bob"))
        assert store.version == made.after
    (met,) = refused.value.conflicts
    assert {str(q[2]) for q in met.base} == {"27", "28"}  # the drawings say 28 all along
    assert {str(q[2]) for q in met.theirs} == {"28"}
    assert {str(q[2]) for q in met.yours} == {"28", "30"}


def test_two_editors_of_different_places_are_merged(shop: Path) -> None:
    base, _ = stated_in(shop)
    with writing(shop) as store:
        store.accept(edit(base, RECOUNTED, COUNTED, who="Ann"))
        store.accept(edit(base, WIDER, NARROWER, who="Bob"))
        expected = facts(TWO_ENDS) - bench(COUNTED + NARROWER) | bench(RECOUNTED + WIDER)
        assert frozenset(store.quads()) == expected


def test_an_edit_sent_twice_is_accepted_once(shop: Path) -> None:
    with writing(shop) as store:
        change = edit(store.version, RECOUNTED, COUNTED)
        store.accept(change)
        with pytest.raises(ChangeRefused, match="accepted already, as number 1"):
            store.accept(change)


def test_an_edit_that_says_nothing_new_is_not_history(shop: Path) -> None:
    with writing(shop) as store:
        with pytest.raises(ChangeRefused, match="so already"):
            store.accept(edit(store.version, COUNTED))
        assert store.edits == 0


def test_only_what_was_new_is_taken_back(shop: Path) -> None:
    with writing(shop) as store:
        first = store.version
        made = store.accept(edit(first, f"{COUNTED} end:spline ko:pressureAngle 30.0 ."))
        assert made.added == 1
        assert store.undo("1", "Bob", NOON, "wrong end").after == first


def test_an_edit_made_on_an_unknown_version_is_refused(shop: Path) -> None:
    with (
        writing(shop) as store,
        pytest.raises(ChangeRefused, match="which this store never had"),
    ):
        store.accept(edit("ab" * 32, RECOUNTED))


def test_an_edit_cannot_pretend_to_take_another_back(shop: Path) -> None:
    with writing(shop) as store:
        store.accept(edit(store.version, RECOUNTED, COUNTED))
        kept = store.change(store.entry("1"))
        from dataclasses import replace

        false = replace(invert(kept), added=tuple(bench(WIDER)), removed=())
        with pytest.raises(ChangeRefused, match=r"takes back .* and does not"):
            store.accept(false)


def test_what_differs_between_two_versions_reads_both_ways(shop: Path) -> None:
    with writing(shop) as store:
        store.accept(edit(store.version, RECOUNTED, COUNTED))
        made = store.accept(edit(store.version, WIDER, NARROWER))
        new, old = bench(RECOUNTED + WIDER), bench(COUNTED + NARROWER)
        first, last = store.point("0"), store.point(made.after[:8])
        assert store.between(first, last) == (new - old, old - new)
        assert store.between(last, first) == (old - new, new - old)
        assert store.between(last, store.point("now")) == (frozenset(), frozenset())
        for name in ("3", "abc", "ffffffff"):
            with pytest.raises(NoSuch, match="say a number from 0"):
                store.point(name)
        with pytest.raises(NoSuch, match="there are 1 to 2"):
            store.entry("7")


def test_two_writers_do_not_get_in_at_once(shop: Path) -> None:
    with writing(shop) as store:
        with pytest.raises(StoreBusy, match="another process is using it"), writing(shop, 0):
            pass
        store.accept(edit(store.version, RECOUNTED, COUNTED))
    with writing(shop, 0) as store:
        assert store.edits == 1


def test_readers_share_a_store_and_a_writer_waits_for_them(shop: Path) -> None:
    with reading(shop, 0) as one, reading(shop, 0) as other:
        assert one.version == other.version
        with pytest.raises(StoreBusy, match="try again"), writing(shop, 0):
            pass
    with (
        writing(shop, 0),
        pytest.raises(StoreBusy, match="another process is writing to it"),
        reading(shop, 0),
    ):
        pass


def test_facts_that_are_not_those_of_their_version_are_not_served(shop: Path) -> None:
    kept = ox.Store(str(shop / "quads"))
    kept.remove(packed(next(iter(bench(COUNTED)))))
    del kept
    with pytest.raises(StoreError, match="not those of its version"):
        stated_in(shop)


def test_a_store_that_could_not_be_made_leaves_nothing_behind(tmp_path: Path) -> None:
    def broken() -> Iterator[ox.Quad]:
        yield packed(next(iter(facts(TWO_ENDS))))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_store(tmp_path / "shop", broken())
    assert not list(tmp_path.iterdir())


def test_a_store_is_not_made_over_something_else(shop: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="something here already"):
        store_of(shop)
    with pytest.raises(StoreError, match="not a store"), reading(tmp_path):
        pass
    (tmp_path / "empty").mkdir()
    store_of(tmp_path / "empty")


def test_a_store_of_the_first_format_is_upgraded_with_its_history(tmp_path: Path) -> None:
    # The fixture was written by the code that laid stores out as format 1.
    old = Path(__file__).parent / "fixtures" / "store-format-1.nq"
    shop = tmp_path / "shop"
    build_store(shop, ox.parse(path=old, format=ox.RdfFormat.N_QUADS))
    with pytest.raises(StoreFormat, match="knockon store upgrade"), reading(shop):
        pass
    assert upgrade(shop) == (1, FORMAT)
    assert upgrade(shop) == (FORMAT, FORMAT)
    with writing(shop) as store:
        assert version_of(store.quads()) == store.version
        face = (text.replace("end:hat", "end:face") for text in (TWO_ENDS, NARROWER, WIDER))
        began, old_step, new_step = next(face), next(face), next(face)
        assert frozenset(store.quads()) == facts(began) - bench(old_step) | bench(new_step) | bench(
            "end:face a ko:Envelope ."
        )
        said = [(e.who, e.why, e.state, e.added, e.removed) for e in store.history()]
        assert said == [
            ("Ann", "counted again", "undone", 1, 1),
            ("Bob", "the step is wider", "accepted", 4, 4),
            ("Cy", "a “chalk mark” was\ncounted", "accepted", 1, 1),
        ]
        steps = store.history()
        assert [steps[0].before, *(e.after for e in steps[:-1])] == [e.before for e in steps]
        store.undo("3", "Dee", NOON, "it was a tooth")
        assert store.undo("2", "Dee", NOON, "the gauge was off").number == 5


def test_a_store_of_a_newer_format_is_left_alone(shop: Path) -> None:
    kept = ox.Store(str(shop / "quads"))
    from knockon.reasoner.upkeep.layout import about

    kept.update(update_text(about(format="99"), about(format=str(FORMAT))))
    del kept
    for open_it in (reading, writing):
        with pytest.raises(StoreFormat, match="by a newer knockon"), open_it(shop):
            pass
    with pytest.raises(StoreFormat, match="by a newer knockon"):
        upgrade(shop)


def test_the_history_is_provenance_that_others_can_read(shop: Path) -> None:
    with writing(shop) as store:
        store.accept(edit(store.version, RECOUNTED, COUNTED, who="Ann O’Dell"))
    kept = ox.Store.read_only(str(shop / "quads"))
    rows = kept.query(
        """PREFIX prov: <http://www.w3.org/ns/prov#>
        PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
        SELECT ?who ?when ?source { GRAPH ?g { ?edit a prov:Activity ; prov:used ?source ;
            prov:endedAtTime ?when ; prov:wasAssociatedWith ?agent .
            ?agent a prov:Agent ; skos:prefLabel ?who } }"""
    )
    assert isinstance(rows, ox.QuerySolutions)
    assert [[term.value for term in row] for row in rows] == [
        ["Ann O’Dell", "2024-05-01T12:00:00Z", "https://knockon.example/source/bench"]
    ]
