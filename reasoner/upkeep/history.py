"""The history inside a store: who changed what, when and why, and what came of it.

An entry is a `prov:Activity` by a `prov:Agent`, in words that others can read; what it added and
took away is kept beside it as N-Quads, so that a long history is listed without reading that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

import pyoxigraph as ox
from rdflib import URIRef

from .changes import ChangeSet, State
from .layout import HISTORY, Asked, change_node, number_of, word
from .quads import KEPT_GRAPHS, Quad, line, read_lines, to_store

_PROV = "http://www.w3.org/ns/prov#"
_TYPE: Final = ox.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")
_ACTIVITY: Final = ox.NamedNode(f"{_PROV}Activity")
_AGENT: Final = ox.NamedNode(f"{_PROV}Agent")
_BY: Final = ox.NamedNode(f"{_PROV}wasAssociatedWith")
_USED: Final = ox.NamedNode(f"{_PROV}used")
_ENDED: Final = ox.NamedNode(f"{_PROV}endedAtTime")
_DATE_TIME: Final = ox.NamedNode("http://www.w3.org/2001/XMLSchema#dateTime")
_LABEL: Final = ox.NamedNode("http://www.w3.org/2004/02/skos/core#prefLabel")
_WHY: Final = ox.NamedNode("http://www.w3.org/2000/01/rdf-schema#comment")


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


def entry_of(number: int, change: ChangeSet, before: str, after: str, state: State) -> Entry:
    """The entry of a change set that is accepted as it stands."""
    return Entry(
        number=number,
        id=change.id,
        who=change.who,
        when=change.when,
        why=change.why,
        source=change.source,
        state=state,
        undoes=change.undoes,
        before=before,
        after=after,
        added=len(change.added),
        removed=len(change.removed),
    )


def entry_quads(entry: Entry, change: ChangeSet) -> list[ox.Quad]:
    """An entry as the store keeps it. Raises `NotAStatement` if its source has no proper name."""
    node = change_node(entry.number)
    agent = ox.NamedNode(f"{KEPT_GRAPHS}agent/{quote(entry.who, safe='')}")
    facts: list[tuple[ox.NamedNode, ox.NamedNode, ox.NamedNode | ox.Literal]] = [
        (node, _TYPE, _ACTIVITY),
        (node, _BY, agent),
        (agent, _TYPE, _AGENT),
        (agent, _LABEL, ox.Literal(entry.who)),
        (node, _ENDED, ox.Literal(entry.when, datatype=_DATE_TIME)),
        (node, _WHY, ox.Literal(entry.why)),
        (node, _USED, to_store(URIRef(entry.source))),
    ]
    texts = {
        "id": entry.id,
        "number": str(entry.number),
        "state": entry.state,
        "undoes": entry.undoes,
        "base": change.base,
        "before": entry.before,
        "after": entry.after,
        "addedCount": str(entry.added),
        "removedCount": str(entry.removed),
        "added": "\n".join(map(line, change.added)),
        "removed": "\n".join(map(line, change.removed)),
    }
    facts += [(node, word(name), ox.Literal(text)) for name, text in texts.items()]
    return [ox.Quad(*fact, HISTORY) for fact in facts]


def state_quad(number: int, state: State) -> ox.Quad:
    """What the store keeps of an entry's state."""
    return ox.Quad(change_node(number), word("state"), ox.Literal(state), HISTORY)


def entry_at(store: Asked, number: int) -> Entry:
    """The entry with this number, which there is."""
    node = change_node(number)

    def own(name: str) -> str:
        return _value(store, node, word(name))

    agent = ox.NamedNode(_value(store, node, _BY))
    return Entry(
        number=number,
        id=own("id"),
        who=_value(store, agent, _LABEL),
        when=_value(store, node, _ENDED),
        why=_value(store, node, _WHY),
        source=_value(store, node, _USED),
        state=_state(own("state")),
        undoes=own("undoes"),
        before=own("before"),
        after=own("after"),
        added=int(own("addedCount")),
        removed=int(own("removedCount")),
    )


def change_at(store: Asked, number: int) -> ChangeSet:
    """The change set of the entry with this number."""
    entry, node = entry_at(store, number), change_node(number)
    return ChangeSet(
        id=entry.id,
        who=entry.who,
        when=entry.when,
        why=entry.why,
        source=entry.source,
        added=read_lines(_value(store, node, word("added"))),
        removed=read_lines(_value(store, node, word("removed"))),
        base=_value(store, node, word("base")),
        state=entry.state,
        undoes=entry.undoes,
    )


def numbers_where(store: Asked, name: str, text: str) -> list[int]:
    """The numbers of the entries whose property `name` has this text, in order."""
    found = store.quads_for_pattern(None, word(name), ox.Literal(text), HISTORY)
    return sorted(number_of(quad.subject) for quad in found)


def all_numbers(store: Asked) -> list[int]:
    """The numbers of all entries, in order."""
    found = store.quads_for_pattern(None, word("number"), None, HISTORY)
    return sorted(number_of(quad.subject) for quad in found)


def net(changes: Iterable[ChangeSet]) -> tuple[frozenset[Quad], frozenset[Quad]]:
    """What several changes in a row add and take away together."""
    added: set[Quad] = set()
    removed: set[Quad] = set()
    for change in changes:
        _pass(change.removed, out_of=added, into=removed)
        _pass(change.added, out_of=removed, into=added)
    return frozenset(added), frozenset(removed)


def _pass(quads: Iterable[Quad], out_of: set[Quad], into: set[Quad]) -> None:
    for quad in quads:
        if quad in out_of:
            out_of.remove(quad)
        else:
            into.add(quad)


def _state(text: str) -> State:
    return "undone" if text == "undone" else "accepted"


def _value(store: Asked, node: ox.NamedNode, predicate: ox.NamedNode) -> str:
    found: Iterator[ox.Quad] = store.quads_for_pattern(node, predicate, None, HISTORY)
    for quad in found:
        if isinstance(quad.object, (ox.Literal, ox.NamedNode)):
            return quad.object.value
    return ""
