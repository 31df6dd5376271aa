"""What could be typed next: words of the grammar and names of the catalogue, at any place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Final

from lark import Token
from lark.exceptions import UnexpectedInput
from lark.parsers.lalr_interactive_parser import InteractiveParser

from .format import format_name
from .grammar import CHOICES, accepted_keywords, accepts, keyword, parser, places
from .names import Entry, NameIndex, Scope
from .phrases import Name, What
from .reading import MOST_BYTES, has_too_many_words, without_comments

MOST: Final = 50
_LONGEST_PHRASE: Final = 4
"""Words in the longest phrase, such as “the propshaft critical speed”."""

_UNITS: Final[dict[str, tuple[str, ...]]] = {
    "_AT_MOST": ("EUR", "hours", "mm wheels", "inch wheels"),
    "_AT": ("km/h", "mph"),
    "_IS": ("rev/min",),
    "_CHORD_OF": ("mm", "in"),
}
_AMOUNT = re.compile(r"(\d+(?:\.\d+)?)(?:\s*-?\s*([^\s\d]*))?")
_LAST_WORDS = re.compile(r"[^\s,]*\Z")


@dataclass(frozen=True, slots=True)
class Completion:
    """A text to put in place of characters `start` to `end`; `what` it is, in words."""

    text: str
    start: int
    end: int
    what: str
    detail: str = ""


def complete(
    text: str,
    cursor: int,
    names: NameIndex | None = None,
    scope: Scope | None = None,
    usable: Callable[[Entry], bool] = lambda _: True,
) -> tuple[Completion, ...]:
    """What can be typed at the cursor, keywords first; nothing if the text before it is wrong.

    With a `scope` only stations of that car are offered, and `usable` leaves out what makes no
    sense at that place (such as parts for other cars).
    """
    before = without_comments(text[:cursor])
    if len(before) > MOST_BYTES or has_too_many_words(before):
        return ()
    found: dict[str, Completion] = {}
    for each in chain(_fixed(before), _names(before, names, scope, usable)):
        found.setdefault(each.text, each)
        if len(found) == MOST:
            break
    return tuple(found.values())


@dataclass(frozen=True, slots=True)
class _Point:
    """How far the grammar follows a text."""

    parser: InteractiveParser
    last: Token | None
    before_last: InteractiveParser


def _follow(text: str) -> _Point | None:
    point = parser().parse_interactive(text)
    before, last = _copy(point), None
    try:
        for token in point.iter_parse():
            before, last = _copy(point), token
    except UnexpectedInput:
        return None
    return _Point(point, last, before)


def _copy(point: InteractiveParser) -> InteractiveParser:
    copied: InteractiveParser = point.copy(deepcopy_values=False)  # type: ignore[no-untyped-call]
    return copied


def _cuts(before: str) -> Iterator[tuple[str, str]]:
    """The text split before its last word, its last two words, and so on."""
    position = len(before)
    for _ in range(_LONGEST_PHRASE):
        head = before[:position]
        start = _LAST_WORDS.search(head if position == len(before) else head.rstrip())
        assert start is not None  # an empty last word always matches
        position = start.start()
        yield before[:position], before[position:]


def _fixed(before: str) -> Iterator[Completion]:
    """Keywords, words from short lists, and units after a number."""
    for head, partial in _cuts(before):
        point = _follow(head)
        if point is None:
            continue
        start, end = len(head), len(before)
        typed = " ".join(partial.lower().split())
        typed += " " if typed and partial[-1].isspace() else ""
        for terminal in accepted_keywords(point.parser):
            word = keyword(terminal)
            if word.lower().startswith(typed) and word.lower() != typed:
                yield Completion(word, start, end, "word")
        for terminal in sorted(accepts(point.parser) & CHOICES.keys()):
            for value in CHOICES[terminal]:
                if value.startswith(typed) or value.removeprefix("the ").startswith(typed):
                    yield Completion(value, start, end, "value")
        amount = _AMOUNT.fullmatch(typed.strip())
        if amount and point.last is not None and "AMOUNT" in accepts(point.parser):
            for unit in _UNITS.get(point.last.type, ()):
                if unit.lower().startswith(amount[2] or ""):
                    yield Completion(f"{amount[1]} {unit}", start, end, "amount")


def _names(
    before: str, names: NameIndex | None, scope: Scope | None, usable: Callable[[Entry], bool]
) -> Iterator[Completion]:
    if names is None:
        return
    for point, partial in _name_places(before):
        kinds = places(point)
        if not kinds:
            continue
        start = len(before) - len(partial)

        def offered(entry: Entry) -> bool:
            here = scope is None or entry.what != "station" or entry.iri in scope.fits
            return here and usable(entry)

        for entry in filter(offered, names.beginning(partial.lstrip('"“'), _wanted(kinds))):
            yield Completion(
                format_name(Name(_typable(entry, names, offered))),
                start,
                len(before),
                entry.what,
                _about(entry),
            )


def _name_places(before: str) -> Iterator[tuple[InteractiveParser, str]]:
    """Points at which a name may start that the cursor is in, with what is typed of it."""
    head = before[: _LAST_WORDS.search(before).start()]  # type: ignore[union-attr]
    quote = re.search(r'(?<!\d)(?:"[^"\n]*|“[^”\n]*)\Z', before)
    if quote and (point := _follow(before[: quote.start()])):
        yield point.parser, quote[0]
    elif (whole := _follow(before)) and whole.last is not None and whole.last.type == "NAME":
        yield whole.before_last, before[whole.last.start_pos :]
    elif point := _follow(head):
        yield point.parser, before[len(head) :]


def _wanted(kinds: tuple[type[Name], ...]) -> set[What]:
    return {what for kind in kinds for what in kind.wanted}


def _typable(entry: Entry, names: NameIndex, offered: Callable[[Entry], bool]) -> str:
    """The label, or the part number if others of its sort share the label."""
    if not entry.number:
        return entry.label
    same = [e for e in names.called(entry.label) if e.what == entry.what and offered(e)]
    return entry.number if len(same) > 1 else entry.label


def _about(entry: Entry) -> str:
    return ", ".join(filter(None, (entry.number, entry.detail)))
