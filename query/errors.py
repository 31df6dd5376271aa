"""What can be wrong with a sentence, as data, and how it is shown.

Only these errors leave the language: reading a text, resolving a name, amending the last question,
reading the JSON form.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from .phrases import NOWHERE, Span, What

_WIDEST = 100


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that an ambiguous name may mean, and what tells it from the others."""

    iri: str
    what: What
    label: str
    number: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, where, and what would be right."""

    message: str
    """One sentence without its full stop."""
    span: Span = NOWHERE
    expected: tuple[str, ...] = ()
    """What could have stood there, in words."""
    nearest: tuple[str, ...] = ()
    """Real names or words most like what was found, the likest first."""
    candidates: tuple[Candidate, ...] = ()
    hint: str = ""
    corrected: str | None = None
    """The whole sentence put right, if there is just one way."""
    line: int = 1
    column: int = 1

    def within(self, text: str) -> Problem:
        """The same with the line and column (from 1) that its span starts at in `text`."""
        start = min(self.span.start, len(text))
        line = text.count("\n", 0, start) + 1
        return replace(self, line=line, column=start - (text.rfind("\n", 0, start) + 1) + 1)


class QueryError(Exception):
    """Base of everything that the language raises."""

    code = "query"

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem

    def as_data(self) -> dict[str, Any]:
        """The problem in plain values, ready for JSON."""
        return {"error": self.code, **asdict(self.problem)}


class NotText(QueryError):
    """The bytes are not UTF-8, or hold characters that no sentence has."""

    code = "not-text"


class TooLong(QueryError):
    """The text, a name in it or a list in it is longer than the language takes."""

    code = "too-long"


class UnclosedQuote(QueryError):
    """A quoted name does not end on its line."""

    code = "unclosed-quote"


class EmptyName(QueryError):
    """Quotes with nothing between them."""

    code = "empty-name"


class UnexpectedWord(QueryError):
    """A word stands where the sentence cannot go on with it."""

    code = "unexpected-word"


class UnexpectedEnd(QueryError):
    """The sentence stops too early (or there is none)."""

    code = "unexpected-end"


class BadQuantity(QueryError):
    """A number that cannot be read, an unknown unit, or one that measures something else."""

    code = "bad-quantity"


class SaidTwice(QueryError):
    """Two values for what can have only one."""

    code = "said-twice"


class UnknownName(QueryError):
    """No thing of that name, or none of a sort that may stand there."""

    code = "unknown-name"


class NotOnCar(QueryError):
    """The thing exists, but the car that the sentence speaks of has none."""

    code = "not-on-car"


class AmbiguousName(QueryError):
    """Several things have that name: the candidates say what tells them apart."""

    code = "ambiguous-name"


class NothingToFollow(QueryError):
    """A follow-up with no question before it, or one that cannot take it."""

    code = "nothing-to-follow"


class BadTree(QueryError):
    """JSON that is no tree of a sentence."""

    code = "bad-tree"


def render_error(text: str, error: QueryError) -> str:
    """The error as a few lines for a terminal: what, where (with a caret), what would be right."""
    problem = error.problem.within(text)
    lines = [f"{problem.message}."]
    lines += _pointer(text, problem)
    if problem.expected:
        lines.append(f"Expected: {either(problem.expected)}.")
    if problem.candidates:
        lines.append("It may mean:")
        lines += [f"  - {_candidate(c)}" for c in problem.candidates]
    if problem.nearest:
        lines.append(f"Nearest: {'; '.join(problem.nearest)}.")
    if problem.hint:
        lines.append(problem.hint if problem.hint.endswith("?") else f"{problem.hint}.")
    if problem.corrected:
        lines.append(f"Did you mean: {problem.corrected}")
    return "\n".join(lines)


def either(words: tuple[str, ...]) -> str:
    """A list of alternatives in words.

    >>> either(("“to”", "“at”", "“and”"))
    '“to”, “at” or “and”'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} or {words[-1]}"


def _pointer(text: str, problem: Problem) -> list[str]:
    lines = text.split("\n")
    if problem.span == NOWHERE or problem.line > len(lines):
        return []
    line = "".join(
        " " if c.isspace() or not c.isprintable() else c for c in lines[problem.line - 1]
    )
    column = problem.column - 1
    width = max(1, min(problem.span.end - problem.span.start, len(line) - column))
    # A long line is shown around the place only.
    first = max(0, column - _WIDEST // 2) if len(line) > _WIDEST else 0
    shown = line[first : first + _WIDEST].rstrip()
    width = min(width, max(1, _WIDEST - (column - first)))
    if first:
        shown = f"…{shown[1:]}"
    if len(line.rstrip()) > first + _WIDEST:
        shown = f"{shown[:-1]}…"
    where = f"line {problem.line}, column {problem.column}"
    return [where, f"  {shown}", f"  {' ' * (column - first)}{'^' * width}"]


def _candidate(candidate: Candidate) -> str:
    told = ", ".join(filter(None, (candidate.number, candidate.detail)))
    return f"{candidate.label} ({candidate.what}){': ' if told else ''}{told}"
