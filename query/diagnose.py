"""Why the grammar refuses a sentence: where, what it expected, how to put it right."""

from __future__ import annotations

import re
from collections.abc import Callable

from lark import Token
from lark.exceptions import UnexpectedInput
from lark.parsers.lalr_interactive_parser import InteractiveParser

from .errors import Problem, QueryError, UnexpectedEnd, UnexpectedWord
from .format import format_sentence
from .grammar import expected, parser, reserved, words_at
from .phrases import Span
from .repair import filled, near_words, only_repair, respelt
from .syntax import Sentence

Reader = Callable[[str], Sentence]
_WORD = re.compile(r"(?:the\s+)?[^\s,;?\"“”]+", re.I)


def diagnosed(
    sentence: str, read: Reader, sound: Callable[[Sentence], object] | None = None
) -> QueryError:
    """The error for a sentence that the grammar refuses.

    `read` gives the tree of a sentence, or raises a QueryError or the parser's own error; `sound`
    raises a QueryError for a tree that is not worth offering.
    """
    before, after_name, point, start, end = _stop(sentence)
    text = sentence[start:end]

    def canonical(edited: str) -> str:
        try:
            tree = read(edited)
        except UnexpectedInput:
            raise UnexpectedWord(Problem("still wrong")) from None
        if sound is not None:
            sound(tree)
        return format_sentence(tree)

    corrected = only_repair(respelt(sentence, before, end), canonical)
    corrected = corrected or only_repair(filled(sentence, start, end, point), canonical)
    if not sentence[start:].strip(" \t\r\n?."):
        last = len(sentence[:start].rstrip())
        problem = Problem(
            "the sentence stops too early",
            Span(last, last),
            expected(point),
            corrected=corrected,
        )
        if last and not _is_whole(sentence[:start]):
            return UnexpectedEnd(problem.within(sentence))
    nearest = near_words(text, words_at(point)) if corrected is None else ()
    hint = ""
    if after_name and text.lower() in reserved():
        hint = f"A name that has the word “{text}” in it goes in quotes"
    problem = Problem(
        f"“{_short(text)}” cannot stand here",
        Span(start, end),
        expected(point),
        tuple(f"“{word}”" for word in nearest),
        hint=hint if corrected is None else "",
        corrected=corrected,
    )
    return UnexpectedWord(problem.within(sentence))


def _is_whole(sentence: str) -> bool:
    """Whether the text so far is a sentence, so that only its final mark is too much."""
    try:
        parser().parse(sentence)
    except UnexpectedInput:
        return False
    return True


def _stop(sentence: str) -> tuple[int, bool, InteractiveParser, int, int]:
    """Where the grammar stops.

    The start of the last good token and whether it is a name, the point after it, and the start and
    end of the bad word.
    """
    point = parser().parse_interactive(sentence)
    state = point.parser_state
    stack, position = list(state.state_stack), 0
    tokens: list[Token] = []
    try:
        for token in point.iter_parse():
            stack, position = list(state.state_stack), token.start_pos or 0
            tokens.append(token)
        stack, position = list(state.state_stack), len(sentence)
        point.feed_eof()  # type: ignore[no-untyped-call]
    except UnexpectedInput as error:
        found = getattr(error, "pos_in_stream", None)
        if isinstance(found, int) and found > position:
            stack, position = list(state.state_stack), found
    good = [token for token in tokens[-2:] if (token.start_pos or 0) < position]
    last = good[-1] if good else None
    before = (last.start_pos or 0) if last else 0
    # Reductions may have been made before the bad word was refused: go back to before them.
    state.state_stack[:] = stack
    state.value_stack[:] = [None] * (len(stack) - 1)
    word = _WORD.match(sentence, position)
    end = word.end() if word else min(position + 1, len(sentence))
    return before, last is not None and last.type in ("NAME", "FEATURE"), point, position, end


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"
