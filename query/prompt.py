"""The prompt: a conversation with the desk on a terminal.

Sentences are answered by a worker, so that Ctrl-C cancels a question and never the session. Lines
that begin with a word of `COMMANDS` are about the last answer or the prompt itself. No sentence of
the language begins with one of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final, Protocol

from ..reasoner.errors import KnockonError
from .answer import Answer
from .conversation import Conversation
from .errors import QueryError, render_error
from .faces import Face, shown
from .page import Paint, unpainted
from .render_markdown import NoSuchPlan, job_sheet
from .render_plan import render_plan
from .report import Report
from .style import Style, restyled
from .worker import CatalogueUnusable, Worker

NOTE_AFTER: Final = 0.5
"""Seconds after which the prompt says that it is working."""

COMMANDS: Final = {
    "plan": "plan 2: one plan of the last answer by itself",
    "sheet": "sheet 2: the job sheet of one plan, in Markdown",
    "full": "the last answer with every comparison and every source",
    "again": "the last answer once more, in the units and words of now",
    "units": "units mm, units in, units both",
    "language": "language en-GB, language en-US",
    "help": "this page",
    "leave": "end (so does Ctrl-D)",
}

_HELP: Final = """\
Ask in a sentence, for example
  what else must change if I fit HD rear hub to Wether W2 late?
  and if I keep the wheels?
  why must the rear half-shaft change?
  let the red one be Wether W2 late with BR-6001
A sentence goes on after a comma, a quote that is open, or a \\ at the end of a line.
Ctrl-C cancels a question.

About the last answer, and this prompt:"""


class Screen(Protocol):
    """Where the prompt reads and writes."""

    def read(self) -> str:
        """One sentence or command. Raises KeyboardInterrupt (drop it) or EOFError (leave)."""

    def write(self, text: str) -> None:
        """Show text that ends in a newline."""

    def note(self, text: str) -> None:
        """Show a passing note; an empty text takes it away."""

    def width(self) -> int:
        """How many columns there are."""


@dataclass(slots=True)
class Session:
    """One person at the prompt. `american` looks up the vocabulary's American labels."""

    worker: Worker
    screen: Screen
    paint: Paint = unpainted
    plans: int = 3
    style: Style = field(default_factory=Style)
    american: Callable[[], dict[str, str]] = dict
    talk: Conversation = field(default_factory=Conversation)
    last: Answer | Report | None = None

    def run(self) -> None:
        """Read and answer until the person leaves.

        Raises:
            CatalogueUnusable: there is nothing to ask.
        """
        self.worker.start()
        while True:
            try:
                text = self.screen.read().strip()
            except KeyboardInterrupt:
                continue
            except EOFError:
                return
            if not text or text.startswith("#"):
                continue
            if not self.hear(text):
                return

    def hear(self, text: str) -> bool:
        """Answer one line; False if it says to leave."""
        word, *rest = text.rstrip("?.").split()
        if word in ("leave", "exit", "quit") and not rest:
            return False
        try:
            if word in COMMANDS and len(rest) <= 1:
                self._obey(word, rest[0] if rest else "")
            else:
                self._ask(text)
        except QueryError as error:
            self.screen.write(render_error(text, error) + "\n")
        except CatalogueUnusable:
            raise
        except KnockonError as error:
            self.screen.write(f"{error}\n")
        except KeyboardInterrupt:
            self.screen.note("")
            self.screen.write("Cancelled.\n")
            self.worker.start()
        return True

    # ------------------------------------------------------------------ sentences

    def _ask(self, text: str) -> None:
        noted = 0

        def waiting(seconds: float) -> None:
            nonlocal noted
            if seconds >= NOTE_AFTER and int(seconds) >= noted:
                noted = int(seconds) + 1
                what = "working" if self.worker.names() else "reading the catalogue"
                self.screen.note(f"… {what}, {int(seconds)} s; Ctrl-C cancels")

        try:
            heard = self.worker.ask(text, self.talk, plans=self.plans, waiting=waiting)
        finally:
            if noted:
                self.screen.note("")
        self.talk, self.last = heard.talk, heard.reply
        self._show(heard.reply)

    def _show(self, reply: Answer | Report, *, full: bool = False) -> None:
        face = Face("text", self.style, self.screen.width(), self.paint, full)
        self.screen.write(shown(reply, face))

    # ------------------------------------------------------------------ commands

    def _obey(self, word: str, argument: str) -> None:
        match word:
            case "help":
                lines = [f"  {name:<9} {what}" for name, what in COMMANDS.items()]
                self.screen.write("\n".join([_HELP, *lines]) + "\n")
            case "units":
                self._units(argument)
            case "language":
                self._language(argument)
            case "full":
                self._show(self._answered(), full=True)
            case "again":
                self._show(self._answered())
            case _:
                self._plan(word, argument)

    def _answered(self) -> Answer | Report:
        if self.last is None:
            raise KnockonError("Nothing has been answered yet.")
        return self.last

    def _plan(self, word: str, argument: str) -> None:
        answer = self._answered()
        if not isinstance(answer, Answer):
            raise KnockonError("The last answer has no plans.")
        if argument and not argument.isdecimal():
            raise KnockonError(f"“{argument}” is no number of a plan: say {word} 1.")
        number = int(argument or 1)
        answer = restyled(answer, self.style)
        if word == "sheet":
            self.screen.write(job_sheet(answer, number))
            return
        if not 1 <= number <= len(answer.plans):
            count = len(answer.plans)
            raise NoSuchPlan(
                f"The last answer has {count or 'no'} plan{'' if count == 1 else 's'}."
            )
        self.screen.write(render_plan(answer, number, width=self.screen.width(), paint=self.paint))

    def _units(self, argument: str) -> None:
        if argument not in ("mm", "in", "both"):
            raise KnockonError("Say units mm, units in or units both.")
        self.style = replace(
            self.style, units="in" if argument == "in" else "mm", both=argument == "both"
        )

    def _language(self, argument: str) -> None:
        if argument == "en-US":
            self.style = replace(self.style, language="en-US", terms=self.american())
        elif argument == "en-GB":
            self.style = replace(self.style, language="en-GB", terms={})
        else:
            raise KnockonError("Say language en-GB or language en-US.")


def unfinished(text: str) -> bool:
    r"""Whether a sentence goes on in the next line.

    >>> unfinished("what fits rear hub on W2,"), unfinished("does A fit \\"), unfinished("help")
    (True, True, False)
    """
    line = text.rstrip()
    quotes = line.count('"') + line.count("“") + line.count("”")
    inches = sum(a.isdigit() and b == '"' for a, b in pairwise(line))
    return line.endswith((",", "\\")) or (quotes - inches) % 2 == 1


def joined(text: str) -> str:
    r"""A sentence of several lines as one.

    >>> joined("does A fit \\\nW2?")
    'does A fit W2?'
    """
    lines = (line.strip().removesuffix("\\").strip() for line in text.split("\n"))
    return " ".join(filter(None, lines))
