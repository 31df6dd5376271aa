"""A table with changed rows is the table that has them."""

from __future__ import annotations

import pickle

from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.lookups import LOOKUPS, Lookups
from knockon.reasoner.measured import Measured, Tried, with_findings
from knockon.reasoner.overlay import Overlay


def test_changed_and_new_rows_stand_in_their_places() -> None:
    table = Overlay({"a": 1, "c": 3}, {"b": 2, "c": 4})
    assert table == {"a": 1, "b": 2, "c": 4}
    assert list(table.items()) == [("a", 1), ("b", 2), ("c", 4)]
    assert "d" not in table


def test_a_table_changed_twice_is_laid_over_once() -> None:
    table = Overlay(Overlay({"a": 1}, {"b": 2}), {"a": 3})
    assert table == pickle.loads(pickle.dumps(table)) == {"a": 3, "b": 2}
    assert len(table) == 2


def test_what_was_measured_is_looked_up_as_if_all_were_made_anew(demo: Catalogue) -> None:
    ends = [e for e in demo.ends.values() if e.kind == "Spline" and "teeth" in e.claims]
    first, second = ends[0], ends[1]
    found = with_findings(demo, [Measured(first.iri, "teeth", 99)], [Tried(first.iri, second.iri)])
    assert isinstance(found.ends, Overlay)
    for name in LOOKUPS:
        assert dict(found.lookups.table(name)) == dict(Lookups(found).table(name)), name


def test_rows_that_are_gone_are_left_out_until_they_come_again() -> None:
    table = Overlay({"a": 1, "b": 2, "c": 3}, {"d": 4}, ["b", "x"])
    assert table == {"a": 1, "c": 3, "d": 4}
    assert "b" not in table
    assert table.get("b") is None
    again = Overlay(table, {"b": 5}, ["d", "a"])
    assert list(again.items()) == [("b", 5), ("c", 3)]
    assert pickle.loads(pickle.dumps(again)) == again
    assert len(again) == 2
    assert again.changes == ({"b": 5}, {"a"})
