"""A text made ready for the grammar: decoded, of bearable length, its comments blanked out."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from .errors import EmptyName, NotText, Problem, TooLong, UnclosedQuote, UnexpectedEnd
from .phrases import LONGEST_NAME, Span

MOST_BYTES: Final = 65_536
MOST_WORDS: Final = 2_000

# A `"` right after a digit is an inch mark. A `#` opens a comment where a word could start.
_OUTSIDE = re.compile(
    r'(?P<quoted>(?<!\d)"(?P<plain>(?:[^"\n]|"")*)"|“(?P<curly>[^”\n]*)”)'
    r'|(?P<open>(?<!\d)"|“)'
    r"|(?P<comment>(?<!\S)\#[^\n]*)"
)
# Longer than any name, even one in quotes that consists of quotation marks.
_ENDLESS = re.compile(rf"[^\s,]{{{2 * LONGEST_NAME + 3}}}")
_PIECE = re.compile(r'[^\s,"“]+|[,"“]')
# Among these are characters that turn the direction of writing or cannot be seen.
_FORBIDDEN: Final = {"Cc", "Cf", "Cs", "Cn", "Co"}


def ready(text: str | bytes) -> str:
    """The text with its comments turned to spaces, so that every place stays where it was.

    Raises:
        NotText: not UTF-8, or a character that no sentence has.
        TooLong: more than 64 kB, or more than 2000 words.
        UnclosedQuote: a quoted name does not end on its line.
        EmptyName: quotes with nothing between them.
        UnexpectedEnd: nothing is asked.
    """
    sentence = _decoded(text)
    if not sentence.isascii():
        _refuse_characters(sentence)
    elif found := re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", sentence):
        raise _stray(sentence, found.start())
    if has_too_many_words(sentence):
        raise TooLong(Problem(f"a sentence may have {MOST_WORDS} words at most"))
    sentence = _OUTSIDE.sub(lambda found: _blanked(sentence, found), sentence)
    if found := _ENDLESS.search(sentence):
        raise name_too_long(Span(*found.span()), sentence)
    if not sentence.strip():
        problem = Problem(
            "nothing is asked",
            hint="Ask for example: what else must change if I fit PART to CAR?",
        )
        raise UnexpectedEnd(problem)
    return sentence


def has_too_many_words(sentence: str) -> bool:
    """Whether a text has more words and marks than a sentence may have."""
    return sum(1 for _ in _PIECE.finditer(sentence)) > MOST_WORDS


def comments(text: str) -> tuple[Span, ...]:
    """Where the comments of any text are, even of one that is not a sentence yet."""
    found = _OUTSIDE.finditer(text)
    return tuple(Span(*each.span()) for each in found if each["comment"])


def without_comments(text: str) -> str:
    """The text with its comments turned to spaces, whatever else is wrong with it."""
    pieces, position = [], 0
    for span in comments(text):
        pieces += [text[position : span.start], " " * (span.end - span.start)]
        position = span.end
    return "".join((*pieces, text[position:]))


def _decoded(text: str | bytes) -> str:
    if isinstance(text, str):
        if len(text) > MOST_BYTES or len(text.encode("utf-8", "surrogatepass")) > MOST_BYTES:
            raise TooLong(Problem("a sentence may have 64 kB at most"))
        return text
    if len(text) > MOST_BYTES:
        raise TooLong(Problem("a sentence may have 64 kB at most"))
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError as error:
        before = text[: error.start].decode("utf-8")
        problem = Problem(
            f"byte {error.start + 1} is not part of any character: the text is not UTF-8",
            Span(len(before), len(before) + 1),
        )
        raise NotText(problem.within(before)) from None


def _refuse_characters(sentence: str) -> None:
    for position, character in enumerate(sentence):
        if character not in "\t\n\r" and unicodedata.category(character) in _FORBIDDEN:
            raise _stray(sentence, position)


def _stray(sentence: str, position: int) -> NotText:
    code = ord(sentence[position])
    problem = Problem(
        f"a character that no sentence has (U+{code:04X})", Span(position, position + 1)
    )
    return NotText(problem.within(sentence))


def _blanked(sentence: str, found: re.Match[str]) -> str:
    span = Span(*found.span())
    if found["open"]:
        end = sentence.find("\n", span.start)
        span = Span(span.start, len(sentence) if end < 0 else end)
        problem = Problem(
            "a quoted name does not end on its line",
            span,
            hint="Close it with a second quotation mark",
        )
        raise UnclosedQuote(problem.within(sentence))
    if found["comment"]:
        return " " * len(found["comment"])
    inside = found["plain"] if found["plain"] is not None else found["curly"]
    if not inside.strip():
        raise EmptyName(Problem("there is no name between the quotes", span).within(sentence))
    if len(inside) > LONGEST_NAME:
        raise name_too_long(span, sentence)
    return found["quoted"]


def name_too_long(span: Span, sentence: str) -> TooLong:
    """The error for a name of more characters than a name may have."""
    return TooLong(
        Problem(f"a name may have {LONGEST_NAME} characters at most", span).within(sentence)
    )
