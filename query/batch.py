"""A file of questions in, an answer or an error for each out, in order."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

from .answer import Answer
from .conversation import Conversation
from .errors import QueryError
from .report import Report, says_no


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of the question on one line (from 1): an answer, or the error it made."""

    line: int
    question: str
    reply: Answer | Report | None = None
    error: QueryError | None = None

    @property
    def code(self) -> int:
        """0 answered, 1 answered with “no”, 2 not understood: the worst is the batch's own."""
        if self.reply is None:
            return 2
        return 1 if says_no(self.reply) else 0

    def as_json(self) -> str:
        """One line of JSON: line, question, and either answer or error."""
        found: dict[str, Any] = {"line": self.line, "question": self.question}
        if self.reply is not None:
            found["answer"] = self.reply.model_dump(mode="json")
        if self.error is not None:
            found["error"] = self.error.as_data()
        return json.dumps(found, ensure_ascii=False)


class Asks(Protocol):
    """Whoever answers as a desk does: a desk, or one that passes questions on to it."""

    def ask(
        self, text: str, *, plans: int = 3, talk: Conversation | None = None
    ) -> Answer | Report:
        """See `Desk.ask`."""


def answered(lines: Iterable[str], desk: Asks, *, plans: int = 3) -> Iterator[Outcome]:
    """What comes of each line that asks something, as soon as it is answered.

    Lines of a file are one conversation: `let` and “and if …” go on from the lines before. Empty
    lines, and lines that begin with `#`, ask nothing.
    """
    talk = Conversation()
    for number, line in enumerate(lines, 1):
        question = line.strip()
        if not question or question.startswith("#"):
            continue
        try:
            yield Outcome(number, question, reply=desk.ask(question, plans=plans, talk=talk))
        except QueryError as error:
            yield Outcome(number, question, error=error)
