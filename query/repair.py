"""One small edit that puts a sentence right, offered only where there is just one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final

from lark.parsers.lalr_interactive_parser import InteractiveParser
from rapidfuzz.distance import OSA

from .errors import QueryError, UnknownName
from .format import format_name
from .grammar import accepted_keywords, keyword, reserved, words
from .phrases import PartName
from .spelling import words_of

_LONGEST: Final = 1_000
_MOST_TRIALS: Final = 40
_LONGEST_WORD: Final = 24
_WORD = re.compile(r"[^\s,;?()\"“”]+")

Canonical = Callable[[str], str]
"""The canonical form of a sentence; a QueryError if it is not understood."""


def only_repair(edits: Iterable[str], canonical: Canonical) -> str | None:
    """The canonical sentence that some of the edits make, if all that make one make the same."""
    found: dict[str, None] = {}
    for count, edited in enumerate(edits):
        if count >= _MOST_TRIALS or len(edited) > _LONGEST:
            break
        try:
            found[canonical(edited)] = None
        except QueryError:
            continue
    return next(iter(found)) if len(found) == 1 else None


def respelt(sentence: str, start: int, end: int) -> Iterator[str]:
    """The sentence with a word between two places that is almost a keyword as that keyword."""
    for word in _WORD.finditer(sentence, start, end):
        for near in near_words(word[0]):
            yield f"{sentence[: word.start()]}{near}{sentence[word.end() :]}"


def filled(sentence: str, start: int, end: int, point: InteractiveParser) -> Iterator[str]:
    """The sentence with a keyword put in, or the bad word replaced if only one word can be meant.

    A word that was typed twice, or a little word where a name should be, is left out.
    """
    if len(sentence) > _LONGEST:
        return
    accepted = [keyword(terminal) for terminal in accepted_keywords(point)]
    for word in accepted:
        yield f"{sentence[:start]} {word} {sentence[start:]}"
    bad = sentence[start:end]
    if len(accepted) == 1 and bad.lower() in words():
        yield f"{sentence[:start]} {accepted[0]} {sentence[end:]}"
    twice = bad and re.search(rf"(?<!\S){re.escape(bad)}\s+\Z", sentence[:start], re.I)
    if twice or (not accepted and bad.lower() in reserved()):
        yield sentence[:start] + sentence[end:]


def near_words(word: str, among: Iterable[str] | None = None) -> list[str]:
    """Words of the language that differ from a word by a slip of the fingers."""
    typed = word.lower()
    known = words() if among is None else sorted(among)
    if not 2 <= len(typed) <= _LONGEST_WORD or typed in known:
        return []
    slips = _slips(typed)
    scored = [(OSA.distance(typed, each, score_cutoff=slips), each) for each in known]
    return [each for distance, each in sorted(scored) if distance <= slips and len(each) > 1]


def with_correction(error: UnknownName, text: str, canonical: Canonical) -> UnknownName:
    """The same error with the sentence put right, if there is just one way.

    Either a keyword was mistyped and swallowed by the name, or the name is a slip away from one
    real name. Digits are never corrected: another number is another thing.
    """
    span, phrase = error.problem.span, text[error.problem.span.start : error.problem.span.end]
    corrected = only_repair(respelt(text, span.start, span.end), canonical)
    if corrected is None:
        names = [name for name in error.problem.nearest if _is_slip(phrase, name)]
        edits = (f"{text[: span.start]}{_typed(name)}{text[span.end :]}" for name in names)
        corrected = only_repair(edits, canonical)
    return UnknownName(replace(error.problem, corrected=corrected))


def _typed(name: str) -> str:
    return format_name(PartName(name))


def _is_slip(phrase: str, name: str) -> bool:
    typed, real = " ".join(words_of(phrase)), " ".join(words_of(name))
    digits = re.findall(r"\d", typed), re.findall(r"\d", real)
    slips = _slips(typed)
    return digits[0] == digits[1] and OSA.distance(typed, real, score_cutoff=slips) <= slips


def _slips(word: str) -> int:
    return 1 if len(word) < 6 else 2
