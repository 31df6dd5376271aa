"""The history inside a store: who changed what, when and why, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import pyoxigraph as ox

from .changes import ChangeSet, State, as_json, from_json
from .layout import HISTORY, change_node, word
from .quads import Quad


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of history: an accepted change without its statements.

    `number` counts from 1; `before` and `after` are versions; `added` and `removed` count
    statements; `state` turns to "undone" when another entry takes it back.
    """

    number: int
    id: str
    who: str
    when: str
    why: str
    source: str
    state: State
    undoes: str
    before: str
    after: str
    added: int
    removed: int


def entry_quads(entry: Entry, change: ChangeSet) -> list[ox.Quad]:
    """An entry as the store keeps it."""
    node = change_node(entry.number)
    said = {
        "json": as_json(change),
        "state": entry.state,
        "number": str(entry.number),
        "before": entry.before,
        "after": entry.after,
    }
    return [ox.Quad(node, word(name), ox.Literal(text), HISTORY) for name, text in said.items()]


def state_quad(number: int, state: str) -> ox.Quad:
    """What the store keeps of an entry's state."""
    return ox.Quad(change_node(number), word("state"), ox.Literal(state), HISTORY)


def entries(store: ox.Store) -> tuple[Entry, ...]:
    """All entries, oldest first."""
    found = []
    for quad in store.quads_for_pattern(None, word("json"), None, HISTORY):
        change = from_json(_text(quad))
        said = {
            q.predicate.value.rsplit("#")[1]: _text(q)
            for q in store.quads_for_pattern(quad.subject, None, None, HISTORY)
        }
        found.append(
            Entry(
                number=int(said["number"]),
                id=change.id,
                who=change.who,
                when=change.when,
                why=change.why,
                source=change.source,
                state="undone" if said["state"] == "undone" else "accepted",
                undoes=change.undoes,
                before=said["before"],
                after=said["after"],
                added=len(change.added),
                removed=len(change.removed),
            )
        )
    return tuple(sorted(found, key=lambda entry: entry.number))


def _text(quad: ox.Quad) -> str:
    assert isinstance(quad.object, ox.Literal)
    return quad.object.value


def change_of(store: ox.Store, entry: Entry) -> ChangeSet:
    """The change set of an entry, with all its statements."""
    node = change_node(entry.number)
    quad = next(iter(store.quads_for_pattern(node, word("json"), None, HISTORY)))
    return replace(from_json(_text(quad)), state=entry.state)


def net(changes: Iterable[ChangeSet]) -> tuple[frozenset[Quad], frozenset[Quad]]:
    """What several changes in a row add and take away together."""
    added: set[Quad] = set()
    removed: set[Quad] = set()
    for change in changes:
        for quad in change.removed:
            added.discard(quad) if quad in added else removed.add(quad)
        for quad in change.added:
            removed.discard(quad) if quad in removed else added.add(quad)
    return frozenset(added), frozenset(removed)
