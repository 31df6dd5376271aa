"""What each piece of a sentence is, for colouring it on a terminal or a page, whole or half typed.

One definition serves both: `pieces` cuts any text, `LOOKS` says how each sort of piece looks.
Colour never says anything that the words do not.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Final, Literal, TypeAlias

from lark.exceptions import UnexpectedInput

from .grammar import CHOICES, is_keyword, parser, reserved, takes
from .reading import MOST_BYTES, comments, has_too_many_words, without_comments

Sort: TypeAlias = Literal["keyword", "name", "amount", "value", "mark", "comment", "wrong", "space"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of the text and what it is; the pieces of a text make up the whole of it."""

    text: str
    sort: Sort


@dataclass(frozen=True, slots=True)
class Look:
    """How a sort of piece looks: terminal (SGR numbers) and web (a CSS class)."""

    sgr: str
    css: str


LOOKS: Final[dict[Sort, Look]] = {
    "keyword": Look("1", "say-word"),
    "name": Look("36", "say-name"),
    "amount": Look("35", "say-amount"),
    "value": Look("35", "say-value"),
    "mark": Look("", ""),
    "comment": Look("2;3", "say-comment"),
    "wrong": Look("4;31", "say-wrong"),
    "space": Look("", ""),
}
_AMOUNTS: Final = {"AMOUNT", "QUANTITY", "NUMBER", "DATE"}
_REST = re.compile(r'"[^"\n]*"?|“[^”\n]*”?|\d[\d.,/]*|[^\s,?"“\d][^\s,?"“]*|[,?]|\s+')


def pieces(text: str) -> tuple[Piece, ...]:
    """The pieces of a text, in order; any text will do, and joined they are the text again.

    >>> [(p.text, p.sort) for p in pieces("show OW-1") if p.sort != "space"]
    [('show', 'keyword'), ('OW-1', 'name')]
    """
    return tuple(_filled(text, _marked(text)))


def for_terminal(text: str) -> str:
    """The text with terminal colours."""
    return "".join(
        f"\x1b[{LOOKS[p.sort].sgr}m{p.text}\x1b[0m" if LOOKS[p.sort].sgr else p.text
        for p in pieces(text)
    )


def for_web(text: str) -> str:
    """The text as HTML, each piece in a span of its class."""
    return "".join(
        f'<span class="{LOOKS[p.sort].css}">{escape(p.text)}</span>'
        if LOOKS[p.sort].css
        else escape(p.text)
        for p in pieces(text)
    )


_Marked: TypeAlias = tuple[int, int, Sort]


def _marked(text: str) -> Iterator[_Marked]:
    """Where each piece starts and ends; first by the grammar, and from where it stops by looks."""
    if len(text) > MOST_BYTES:
        return
    plain = without_comments(text)
    marked = [] if has_too_many_words(plain) else list(_by_grammar(plain))
    position = marked[-1][1] if marked else 0
    marked += _by_looks(plain, position, refused=True)
    marked += [(span.start, span.end, "comment") for span in comments(text)]
    yield from sorted(marked)


def _by_grammar(plain: str) -> Iterator[_Marked]:
    point = parser().parse_interactive(plain)
    try:
        for token in point.iter_parse():
            start, end = token.start_pos or 0, token.end_pos or 0
            # A word that the grammar will refuse is only known as such on the next step.
            if not takes(point, token.type):
                return
            if token.type == "_JOIN":
                yield from _by_looks(plain[:end], start)
            else:
                yield start, end, _sort(token.type)
    except UnexpectedInput:
        return


def _by_looks(plain: str, start: int, *, refused: bool = False) -> Iterator[_Marked]:
    words = set(reserved())
    for found in _REST.finditer(plain, start):
        text = found[0]
        if text.isspace():
            continue
        sort: Sort = "name"
        # The word at which the grammar stopped is wrong, unless it may still be being typed.
        if refused and found.end() < len(plain.rstrip()):
            sort = "wrong"
        elif text in ",?":
            sort = "mark"
        elif text.lower() in words:
            sort = "keyword"
        elif text[0].isdigit():
            sort = "amount"
        refused = False
        yield found.start(), found.end(), sort


def _sort(terminal: str) -> Sort:
    if is_keyword(terminal):
        return "keyword"
    if terminal in CHOICES:
        return "value"
    if terminal in _AMOUNTS:
        return "amount"
    return "mark" if terminal in ("END", "_COMMA") else "name"


def _filled(text: str, marked: Iterator[_Marked]) -> Iterator[Piece]:
    position = 0
    for start, end, sort in marked:
        if start > position:
            yield from _between(text[position:start])
        if end > max(start, position):
            yield Piece(text[max(start, position) : end], sort)
            position = end
    if position < len(text):
        yield from _between(text[position:])


def _between(text: str) -> Iterator[Piece]:
    yield Piece(text, "space" if text.isspace() else "name")
