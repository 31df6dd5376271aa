"""Why the grammar refuses a sentence: where, what it expected, how to put it right."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Final

from lark.exceptions import UnexpectedInput
from lark.parsers.lalr_interactive_parser import InteractiveParser
from rapidfuzz.distance import OSA

from .errors import Problem, QueryError, UnexpectedEnd, UnexpectedWord
from .format import format_sentence
from .grammar import accepted_keywords, expected, keyword, keywords, parser, reserved
from .phrases import Span
from .syntax import Sentence

Reader = Callable[[str], Sentence]

_LONGEST_REPAIRED: Final = 1_000
_MOST_TRIALS: Final = 40
_WORD = re.compile(r"[^\s,?\"“”]+")


def diagnosed(sentence: str, read: Reader) -> QueryError:
    """The error for a sentence that the grammar refuses; `read` reads a sentence or raises."""
    before, point, start, end = _stop(sentence)
    words = expected(point)
    text = sentence[start:end]
    corrected = _corrected(sentence, before, start, end, point, read)
    nearest = tuple(_near(text)) if corrected is None and text else ()
    if not text:
        last = len(sentence.rstrip())
        problem = Problem(
            "the sentence stops too early", Span(last, last), words, corrected=corrected
        )
        return UnexpectedEnd(problem.within(sentence))
    hint = ""
    if text.lower() in reserved() and re.match(r"[^\s,?]", sentence[before:start]):
        hint = f"A name that has the word “{text}” in it goes in quotes"
    problem = Problem(
        f"“{_short(text)}” cannot stand here",
        Span(start, end),
        words,
        tuple(f"“{word}”" for word in nearest),
        hint=hint,
        corrected=corrected,
    )
    return UnexpectedWord(problem.within(sentence))


def _stop(sentence: str) -> tuple[int, InteractiveParser, int, int]:
    """Where the grammar stops: start of the last good token, the point after it, the bad word."""
    point = parser().parse_interactive(sentence)
    state = point.parser_state
    stack, before = list(state.state_stack), 0
    position = last = 0
    try:
        for token in point.iter_parse():
            stack, position = list(state.state_stack), token.start_pos or 0
            before, last = last, position
        stack, position = list(state.state_stack), len(sentence)
        before = last
        point.feed_eof()  # type: ignore[no-untyped-call]
    except UnexpectedInput as error:
        found = getattr(error, "pos_in_stream", None)
        if isinstance(found, int) and found > position:
            stack, position = list(state.state_stack), found
            before = last
    # Reductions may have been made before the bad word was refused: go back to before them.
    state.state_stack[:] = stack
    state.value_stack[:] = [None] * (len(stack) - 1)
    word = _WORD.match(sentence, position)
    end = word.end() if word else min(position + 1, len(sentence))
    return before, point, position, end


def _corrected(
    sentence: str, before: int, start: int, end: int, point: InteractiveParser, read: Reader
) -> str | None:
    """The sentence put right if one small edit does it, and only one reading comes of it."""
    if len(sentence) > _LONGEST_REPAIRED:
        return None
    for edits in (
        _respelt(sentence, before, end),
        _filled(sentence, start, end, point),
    ):
        found: dict[str, None] = {}
        for count, edited in enumerate(edits):
            if count >= _MOST_TRIALS:
                break
            try:
                found[format_sentence(read(edited))] = None
            except (QueryError, UnexpectedInput):
                continue
        if found:
            return next(iter(found)) if len(found) == 1 else None
    return None


def _respelt(sentence: str, start: int, end: int) -> Iterator[str]:
    """A word near the place that is almost a keyword, as that keyword."""
    for word in _WORD.finditer(sentence, start, end):
        for near in _near(word[0]):
            yield f"{sentence[: word.start()]}{near}{sentence[word.end() :]}"


def _filled(sentence: str, start: int, end: int, point: InteractiveParser) -> Iterator[str]:
    """A keyword put in, or in place of the bad word; or a word left out that was typed twice."""
    for terminal in accepted_keywords(point):
        yield f"{sentence[:start]} {keyword(terminal)} {sentence[start:]}"
        if end > start:
            yield f"{sentence[:start]} {keyword(terminal)} {sentence[end:]}"
    if re.search(rf"(?<!\S){re.escape(sentence[start:end])}\s+\Z", sentence[:start], re.I):
        yield sentence[:start] + sentence[end:]


def _near(word: str) -> list[str]:
    """Single-word keywords that differ from a word by a slip of the fingers."""
    slips = 1 if len(word) < 6 else 2
    if len(word) < 2 or word.lower() in keywords():
        return []
    scored = [
        (OSA.distance(word.lower(), k, score_cutoff=slips), k)
        for k in keywords()
        if " " not in k and len(k) > 1
    ]
    return [k for distance, k in sorted(scored) if distance <= slips]


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"
