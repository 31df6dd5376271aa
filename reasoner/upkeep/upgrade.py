"""Bring a store that an older knockon laid out to the layout of this one, one format at a time.

Each step is one transaction, the format's number with it: a step that is cut short never happened.

Format 1 kept an accepted change as one JSON text. Format 2 keeps it as a PROV activity, with its
statements beside it, so that history can be listed and searched without reading every statement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import pyoxigraph as ox

from .changes import State, from_json
from .history import entry_of, entry_quads
from .layout import FORMAT, HISTORY, about, format_of, number_of, word
from .opening import StoreError, StoreFormat, opened
from .shelf import Shelf

_Step = tuple[Iterable[ox.Quad], Iterable[ox.Quad]]


def upgrade(folder: Path) -> tuple[int, int]:
    """Upgrade a store where it stands; the formats before and after, equal if nothing was to do.

    Raises:
        StoreError: it is no store, other processes use it, or it is newer than this code.
    """
    with opened(folder, to_write=True) as store:
        first = format_of(store)
        if first == 0:
            raise StoreError(folder, "not a store of knockon; it says nothing of itself")
        if first > FORMAT:
            raise StoreFormat(folder, f"laid out as format {first} by a newer knockon")
        for number in range(first, FORMAT):
            added, removed = _STEPS[number](store)
            store.change(
                added=[*added, *about(format=str(number + 1))],
                removed=[*removed, *about(format=str(number))],
            )
    return first, FORMAT


def _from_1(store: Shelf) -> _Step:
    old = list(store.quads_for_pattern(None, None, None, HISTORY))
    said: dict[int, dict[str, str]] = {}
    for quad in old:
        if isinstance(quad.object, ox.Literal):
            name = quad.predicate.value.removeprefix(word("").value)
            said.setdefault(number_of(quad.subject), {})[name] = quad.object.value
    new: list[ox.Quad] = []
    for number, texts in sorted(said.items()):
        change = from_json(texts["json"])
        state: State = "undone" if texts["state"] == "undone" else "accepted"
        entry = entry_of(number, change, texts["before"], texts["after"], state)
        new += entry_quads(entry, change)
    # What both layouts say alike is stated anew after it is taken away.
    return [*new, *about(edits=str(len(said)))], old


_STEPS: dict[int, Callable[[Shelf], _Step]] = {1: _from_1}
"""From each older format to the next."""
