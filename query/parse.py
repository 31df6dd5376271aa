"""From text to tree."""

from __future__ import annotations

from collections.abc import Callable

from lark.exceptions import UnexpectedInput, VisitError

from .diagnose import diagnosed
from .errors import QueryError
from .grammar import parser
from .reading import ready
from .syntax import Sentence
from .to_syntax import ToSyntax


def parse(text: str | bytes, sound: Callable[[Sentence], object] | None = None) -> Sentence:
    """The tree of one sentence.

    `sound` may raise a QueryError for a tree that makes no sense (a name that nothing has); such a
    sentence is then not offered as the corrected one.

    Raises:
        QueryError: and nothing else, whatever the text is.

    >>> parse("does OW-1 mate with OW-2?")
    DoesMate(first=PartName(text='OW-1'), second=PartName(text='OW-2'), kind='does-mate')
    """
    sentence = ready(text)
    try:
        return _read(sentence)
    except UnexpectedInput:
        pass
    raise diagnosed(sentence, _read, sound)


def _read(sentence: str) -> Sentence:
    """The tree of a sentence that is ready; the parser's own error if the grammar refuses it."""
    try:
        tree: Sentence = ToSyntax(sentence).transform(parser().parse(sentence))
    except VisitError as error:
        if isinstance(error.orig_exc, QueryError):
            raise error.orig_exc from None
        raise
    return tree
