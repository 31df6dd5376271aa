"""Change sets: what an edit adds and takes away, by whom, when, why and on whose word.

Pure values and functions; `store.py` makes them last.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any, Final, Literal, TypeAlias, get_args

from rdflib import URIRef

from ..errors import KnockonError
from ..terms import local_name
from .quads import (
    LooseQuad,
    NotAStatement,
    Quad,
    in_order,
    is_record,
    line,
    moved,
    read_lines,
    whole,
)
from .trig import fact_lines

_WHEN = re.compile(r"\d{4}-[01]\d-[0-3]\dT[0-2]\d:[0-5]\d:[0-5]\dZ")

State: TypeAlias = Literal["draft", "accepted", "undone"]

EMPTY_VERSION: Final = "0" * 64
"""The version of a catalogue that states nothing."""


class ChangeRefused(KnockonError):
    """A change set that cannot be read or applied as it stands."""


@dataclass(frozen=True, slots=True)
class ChangeSet:
    """One edit.

    `when` is ISO 8601 in UTC; `source` the graph of the source that the edit mainly speaks for;
    `base` the catalogue version it was made on; `undoes` the id of the change it takes back, or "".
    `added` and `removed` are in order, without doubles, and share nothing.
    """

    id: str
    who: str
    when: str
    why: str
    source: str
    added: tuple[Quad, ...]
    removed: tuple[Quad, ...]
    base: str
    state: State = "draft"
    undoes: str = ""

    @property
    def touched(self) -> frozenset[Key]:
        """The subjects and predicates at which it states something new or no longer."""
        return frozenset((s, p) for s, p, _, _ in (*self.added, *self.removed))


Key: TypeAlias = tuple[URIRef, URIRef]
"""A subject and a predicate: the place at which two edits can meet."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two edits of one place: what was stated at first, what is now, and what this edit wants."""

    subject: str
    predicate: str
    base: tuple[Quad, ...]
    theirs: tuple[Quad, ...]
    yours: tuple[Quad, ...]


class ChangeConflicts(KnockonError):
    """A change set that was made on an older version meets what others changed meanwhile."""

    def __init__(self, headline: str, conflicts: tuple[Conflict, ...]) -> None:
        self.headline, self.conflicts = headline, conflicts
        super().__init__("\n".join([headline, *(conflict_text(c) for c in conflicts)]))


def draft(
    who: str,
    when: datetime,
    why: str,
    source: str,
    added: Iterable[LooseQuad],
    removed: Iterable[LooseQuad],
    base: str,
    undoes: str = "",
) -> ChangeSet:
    """A change set with its id worked out from all it says; records may still be blank nodes.

    A statement both added and removed is left alone.

    Raises:
        NotAStatement: a statement cannot be one, or a record is not stated whole.
        ChangeRefused: `who` or `why` is empty; an edit nobody answers for is not kept.
    """
    for name, text in (("who", who), ("why", why)):
        if not text.strip():
            raise ChangeRefused(f"an edit needs to say {name}; it is kept with it for good")
    new, old = whole(added), whole(removed)
    made = ChangeSet(
        id="",
        who=who.strip(),
        when=_utc(when),
        why=why.strip(),
        source=source,
        added=tuple(in_order(new - old)),
        removed=tuple(in_order(old - new)),
        base=base,
        undoes=undoes,
    )
    return replace(made, id=_id(made))


def difference(
    before: AbstractSet[Quad], after: AbstractSet[Quad]
) -> tuple[frozenset[Quad], frozenset[Quad]]:
    """What `after` states more, and what it states no longer."""
    return frozenset(after - before), frozenset(before - after)


def apply(quads: AbstractSet[Quad], change: ChangeSet) -> frozenset[Quad]:
    """The statements after the change. Idempotent: what is stated already is not stated twice."""
    return frozenset(quads - set(change.removed)) | frozenset(change.added)


def invert(change: ChangeSet) -> ChangeSet:
    """The change that takes `change` back; still a draft, on the version that `change` made."""
    turned = replace(
        change,
        added=change.removed,
        removed=change.added,
        base=moved(change.base, change.added, change.removed),
        state="draft",
        undoes=change.id,
    )
    return replace(turned, id=_id(turned))


def effective(change: ChangeSet, now: Collection[Quad]) -> ChangeSet:
    """The change without what is so already, so that taking it back restores what was."""
    added = tuple(quad for quad in change.added if quad not in now)
    removed = tuple(quad for quad in change.removed if quad in now)
    return replace(change, added=added, removed=removed)


def conflicts(
    change: ChangeSet,
    now: Collection[Quad],
    added: Collection[Quad] = (),
    removed: Collection[Quad] = (),
) -> tuple[Conflict, ...]:
    """Where `change` cannot be applied to `now` without passing over what others did.

    `added` and `removed` are what became of the change's base meanwhile. Two edits meet where they
    touch the same subject and predicate, unless both did the very same there. Without a known
    base, what the change takes away must still be stated.
    """
    meanwhile = {(s, p) for s, p, _, _ in (*added, *removed)}
    gone = {(s, p) for s, p, o, g in change.removed if (s, p, o, g) not in now}
    met = (change.touched & meanwhile) | gone
    records = _contents((*now, *added, *removed, *change.added, *change.removed)) if met else {}
    found = []
    for key in sorted(met):
        theirs = _at(key, now)
        base = (theirs - _at(key, added)) | _at(key, removed)
        yours = (base - _at(key, change.removed)) | _at(key, change.added)
        if theirs != yours:
            s, p = map(str, key)
            found.append(Conflict(s, p, *(_in_full(x, records) for x in (base, theirs, yours))))
    return tuple(found)


def _contents(quads: Iterable[Quad]) -> dict[URIRef, set[Quad]]:
    found: dict[URIRef, set[Quad]] = {}
    for quad in quads:
        if is_record(quad[0]):
            found.setdefault(quad[0], set()).add(quad)
    return found


def _in_full(quads: frozenset[Quad], records: dict[URIRef, set[Quad]]) -> tuple[Quad, ...]:
    """Statements together with the records in them: a record's name alone tells nobody anything."""
    full = list(quads)
    for _, _, o, _ in full:  # grows while it is walked
        if isinstance(o, URIRef):
            full.extend(records.get(o, ()))
    return tuple(in_order(set(full)))


def _at(key: Key, quads: Iterable[Quad]) -> frozenset[Quad]:
    return frozenset(quad for quad in quads if quad[:2] == key)


def conflict_text(conflict: Conflict) -> str:
    """A conflict with both versions, in lines for people."""
    rows = []
    versions = (("was", conflict.base), ("is now", conflict.theirs), ("you say", conflict.yours))
    for title, quads in versions:
        said = fact_lines(quads) or ("nothing",)
        rows += [f"    {title + ':':9}{text}" for text in said]
    return "\n".join([f"{local_name(conflict.subject)}, {local_name(conflict.predicate)}:", *rows])


def as_json(change: ChangeSet) -> str:
    """One line of JSON; statements are N-Quads."""
    return json.dumps(
        {
            "id": change.id,
            "who": change.who,
            "when": change.when,
            "why": change.why,
            "source": change.source,
            "base": change.base,
            "state": change.state,
            "undoes": change.undoes,
            "added": [line(quad) for quad in change.added],
            "removed": [line(quad) for quad in change.removed],
        },
        ensure_ascii=False,
    )


def from_json(text: str) -> ChangeSet:
    """The change set in one line of JSON; a draft's id is checked against what it says.

    Raises:
        ChangeRefused: the text is no change set, or a draft was altered after its id was given.
    """
    try:
        found = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise ChangeRefused(f"not JSON: {error}") from None
    if not isinstance(found, dict):
        raise ChangeRefused("a change set is a JSON object with who, when, why, source, added …")
    words = ("id", "who", "when", "why", "source", "base")
    strange = sorted(set(found) - {*words, "state", "undoes", "added", "removed"})
    missing = [word for word in words if not isinstance(found.get(word), str)]
    if strange or missing:
        said = [f"lacks {', '.join(missing)}"] if missing else []
        said += [f"has unknown {', '.join(strange)}"] if strange else []
        raise ChangeRefused(f"the change set {' and '.join(said)}")
    if not _WHEN.fullmatch(found["when"]):
        raise ChangeRefused(
            f"“when” is “{found['when']}”; write it as 2024-05-01T12:00:00Z, in UTC"
        )
    state = found.get("state", "draft")
    if state not in get_args(State):
        raise ChangeRefused(f"the state is “{state}”; it may be {', '.join(get_args(State))}")
    made = ChangeSet(
        id=found["id"],
        who=found["who"],
        when=found["when"],
        why=found["why"],
        source=found["source"],
        added=_statements(found, "added"),
        removed=_statements(found, "removed"),
        base=found["base"],
        state=state,
        undoes=str(found.get("undoes", "")),
    )
    # What was accepted may say less than its draft did: what was so already is left out.
    if made.state == "draft" and made.id != _id(made):
        raise ChangeRefused(f"change {made.id} does not say what it said when it got its id")
    return made


def _statements(found: dict[str, Any], word: str) -> tuple[Quad, ...]:
    lines = found.get(word, [])
    if not isinstance(lines, list) or not all(isinstance(each, str) for each in lines):
        raise ChangeRefused(f"“{word}” is to be a list of N-Quads")
    try:
        return read_lines("\n".join(lines))
    except NotAStatement as error:
        raise ChangeRefused(f"“{word}”, {error}") from None


def as_lines(changes: Iterable[ChangeSet]) -> Iterator[str]:
    """Change sets as JSON lines."""
    return (f"{as_json(change)}\n" for change in changes)


def from_lines(text: str) -> tuple[ChangeSet, ...]:
    """Change sets from JSON lines. Raises `ChangeRefused` with the number of the line."""
    found = []
    for number, each in enumerate(text.split("\n"), 1):
        if each.strip():
            try:
                found.append(from_json(each))
            except ChangeRefused as error:
                raise ChangeRefused(f"line {number}: {error}") from None
    return tuple(found)


def _id(change: ChangeSet) -> str:
    """Twelve digits that stand for everything the edit says; its state is not part of that."""
    said = [change.who, change.when, change.why, change.source, change.base, change.undoes]
    said += [f"+{line(quad)}" for quad in change.added]
    said += [f"-{line(quad)}" for quad in change.removed]
    return sha256("\n".join(map(json.dumps, said)).encode()).hexdigest()[:12]


def _utc(when: datetime) -> str:
    if when.tzinfo is None:
        raise ChangeRefused("the time of an edit needs its time zone")
    return when.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
