"""What an edit says: exactly what it adds and takes away, and where it meets another."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from knockon.reasoner.upkeep.changes import (
    ChangeRefused,
    apply,
    as_lines,
    conflict_text,
    conflicts,
    difference,
    effective,
    from_lines,
    invert,
)
from knockon.reasoner.upkeep.history import net
from knockon.reasoner.upkeep.quads import (
    LooseQuad,
    NotAStatement,
    Quad,
    line,
    moved,
    named,
    read_lines,
    version_of,
)
from rdflib import BNode, Literal, URIRef

from .edits import bench, edit, facts, loose, quad_sets

P = URIRef("https://knockon.example/ns#p")
G = URIRef("https://knockon.example/source/bench")


@given(quad_sets, quad_sets)
def test_an_edit_and_its_inverse_leave_things_as_they_were(
    before: frozenset[Quad], after: frozenset[Quad]
) -> None:
    change = edit(before, *difference(before, after))
    assert apply(before, change) == after
    back = invert(change)
    assert apply(after, back) == before
    assert back.base == version_of(after)


@given(quad_sets, quad_sets)
def test_the_version_follows_from_what_is_stated_and_nothing_else(
    before: frozenset[Quad], after: frozenset[Quad]
) -> None:
    added, removed = difference(before, after)
    assert moved(version_of(before), added, removed) == version_of(after)
    assert (version_of(before) == version_of(after)) == (before == after)


@given(quad_sets, quad_sets, quad_sets)
def test_edits_in_a_row_come_to_what_differs_in_the_end(
    a: frozenset[Quad], b: frozenset[Quad], c: frozenset[Quad]
) -> None:
    steps = [edit(a, *difference(a, b)), edit(b, *difference(b, c))]
    assert net(steps) == difference(a, c)


@given(quad_sets, quad_sets)
def test_an_edit_survives_being_written_as_a_line(
    before: frozenset[Quad], after: frozenset[Quad]
) -> None:
    change = edit(before, *difference(before, after), why="two\nlines, “quoted”")
    text = "".join(as_lines([change, invert(change)]))
    assert from_lines(text) == (change, invert(change))


@given(loose())
def test_a_record_is_named_by_what_it_says_whatever_it_was_called(quads: list[LooseQuad]) -> None:
    renamed: dict[BNode, BNode] = {}

    def other(node: object) -> object:
        return renamed.setdefault(node, BNode()) if isinstance(node, BNode) else node

    again = [tuple(map(other, quad)) for quad in reversed(quads)]
    assert named(again) == named(quads)  # type: ignore[arg-type]
    assert named(named(quads)) == named(quads)


@given(quad_sets)
def test_statements_survive_as_lines(quads: frozenset[Quad]) -> None:
    assert frozenset(read_lines("\n".join(map(line, quads)))) == quads


def test_a_step_is_changed_by_taking_it_away_whole() -> None:
    (owned,) = (q for q in bench("end:hat ko:step [ ko:radius 110 ; ko:to 42 ] .") if "hat" in q[0])
    inside = (owned[2], P, Literal(3), G)
    with pytest.raises(NotAStatement, match="changed in part"):
        edit((), [inside])
    with pytest.raises(NotAStatement, match="changed in part"):
        edit((), (), [owned])


@pytest.mark.parametrize(
    ("quads", "what"),
    [
        ([(BNode("a"), P, BNode("a"), G)], "part of itself"),
        ([(P, P, BNode("a"), G), (G, P, BNode("a"), G)], "write it out for each"),
        ([(P, P, BNode("a"), G), (BNode("a"), P, Literal(1), P)], "one source states all"),
        ([(Literal(1), P, P, G)], "only a thing can have facts"),
        ([(P, P, P, URIRef(""))], "name its source"),
        ([(P, P, P, URIRef("https://knockon.example/store/history"))], "not the graph of a source"),
        ([(P, P, P, URIRef("https://knockon.example/ns"))], "not the graph of a source"),
    ],
)
def test_what_no_source_can_state_is_refused_in_words(quads: list[LooseQuad], what: str) -> None:
    with pytest.raises(NotAStatement, match=what):
        named(quads)


def test_an_edit_that_nobody_answers_for_is_refused() -> None:
    with pytest.raises(ChangeRefused, match="say who"):
        edit((), "end:a ko:teeth 3 .", who=" ")
    with pytest.raises(ChangeRefused, match="say why"):
        edit((), "end:a ko:teeth 3 .", why="")


def test_a_draft_that_was_altered_is_refused() -> None:
    text = "".join(as_lines([edit((), "end:a ko:teeth 27 .")]))
    with pytest.raises(ChangeRefused, match=r"line 1: change .* does not say what it said"):
        from_lines(text.replace('27\\"', '28\\"'))


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"who": 3}, "lacks who"),
        ({"colour": "red"}, "unknown colour"),
        ({"state": "maybe"}, "draft, accepted, undone"),
        ({"when": "yesterday"}, "2024-05-01T12:00:00Z"),
        ({"added": ["<a> <b> <c> ."]}, "“added”"),
        ({"added": "all of it"}, "a list of N-Quads"),
    ],
)
def test_what_is_no_change_set_is_refused_in_words(change: dict[str, object], what: str) -> None:
    (text,) = as_lines([edit((), "end:a ko:teeth 27 .")])
    with pytest.raises(ChangeRefused, match=what):
        from_lines(json.dumps({**json.loads(text), **change}))
    with pytest.raises(ChangeRefused, match="line 2: not JSON"):
        from_lines(f"{text}{{")


def test_two_counts_of_one_spline_meet_and_both_are_shown() -> None:
    before = bench("end:s ko:teeth 27 .")
    first = edit(before, "end:s ko:teeth 28 .", "end:s ko:teeth 27 .")
    second = edit(before, "end:s ko:teeth 29 .", "end:s ko:teeth 27 .")
    now = apply(before, first)
    (met,) = conflicts(second, now, first.added, first.removed)
    assert [q[2].toPython() for q in (*met.base, *met.theirs, *met.yours)] == [27, 28, 29]
    assert "is now:  end:s ko:teeth 28 (src:bench)" in conflict_text(met)


def test_a_conflict_over_a_step_shows_the_step() -> None:
    before = bench("end:hat ko:step [ ko:radius 110 ] .")
    first = edit(before, "end:hat ko:step [ ko:radius 111 ] .", before)
    second = edit(before, "end:hat ko:step [ ko:radius 112 ] .", before)
    (met,) = conflicts(second, apply(before, first), first.added, first.removed)
    assert "is now:  end:hat ko:step [ ko:radius 111 ] (src:bench)" in conflict_text(met)


def test_edits_of_different_values_do_not_meet() -> None:
    before = bench("end:s ko:teeth 27 .")
    first = edit(before, "end:s ko:module 1.0 .")
    second = edit(before, "end:s ko:teeth 28 .", before)
    assert not conflicts(second, apply(before, first), first.added, first.removed)


def test_the_same_correction_made_twice_is_no_conflict_and_nothing_is_left_of_it() -> None:
    before = bench("end:s ko:teeth 27 .")
    first = edit(before, "end:s ko:teeth 28 .", before, who="Ann")
    second = edit(before, "end:s ko:teeth 28 .", before, who="Bob")
    now = apply(before, first)
    assert not conflicts(second, now, first.added, first.removed)
    left = effective(second, now)
    assert (left.added, left.removed) == ((), ())


def test_what_is_taken_away_must_still_be_stated_where_the_base_is_not_known() -> None:
    change = edit("", "end:s ko:teeth 28 .", "end:s ko:teeth 27 .")
    assert conflicts(change, bench("end:s ko:teeth 30 ."))
    assert not conflicts(change, bench("end:s ko:teeth 27 ."))


def test_sources_that_differ_are_two_statements() -> None:
    two = facts("src:bench { end:s ko:teeth 27 . } src:drawings { end:s ko:teeth 27 . }")
    assert len(two) == 2


def test_the_state_of_a_change_is_not_part_of_what_it_says() -> None:
    change = edit((), "end:a ko:teeth 27 .")
    (text,) = as_lines([replace(change, state="accepted")])
    assert from_lines(text)[0].id == change.id
