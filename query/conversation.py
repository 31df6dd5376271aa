"""What one person said before: the last question, and the builds they named."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..reasoner.build import Build
from . import syntax as s
from .parse import parse


@dataclass(slots=True)
class Conversation:
    """The state of one conversation. Kept by whoever asks; never shared between people.

    `last` is the last question that was answered, in full. `builds` are those named with `let`,
    by the name in small letters.
    """

    last: s.Sentence | None = None
    builds: dict[str, Build] = field(default_factory=dict)

    @classmethod
    def after(cls, question: str) -> Conversation:
        """A conversation in which one question was asked before; none if it is empty.

        Raises:
            QueryError: the question is not understood.
        """
        return cls(parse(question) if question.strip() else None)

    def heard(self, sentence: s.Sentence) -> None:
        """Remember a question that was answered; a `let` is no question to go on from."""
        if not isinstance(sentence, s.Let):
            self.last = sentence

    def name(self, alias: str, build: Build) -> None:
        """Remember a build under the name it was given."""
        self.builds[alias.casefold()] = build
