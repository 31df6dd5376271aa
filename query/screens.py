"""The two screens of the prompt: one with colour, completion and history, one plain.

The plain one writes no escape code at all, for screen readers, old terminals and pipes.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from prompt_toolkit import PromptSession
from prompt_toolkit.auto_suggest import AutoSuggestFromHistory
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.filters import Condition
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.history import FileHistory, History, InMemoryHistory
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.lexers import Lexer

from .colour import LOOKS, pieces
from .complete import complete
from .names import NameIndex
from .prompt import COMMANDS, joined, unfinished

PROMPT, MORE = "knockon> ", "    ...> "
_LOOKS = {
    "1": "bold", "2": "", "3": "italic", "4": "underline", "31": "ansired", "35": "ansimagenta",
    "36": "ansicyan",
}  # fmt: skip
_WIDEST = 110


class PlainScreen:
    """Lines in, lines out. A prompt is shown only to a person."""

    def __init__(self) -> None:
        self._person = sys.stdin.isatty()

    def read(self) -> str:
        """See `Screen.read`."""
        try:
            text = self._line(PROMPT)
            while unfinished(text):
                text += "\n" + self._line(MORE)
        except KeyboardInterrupt:
            self.write("\n")
            raise
        except EOFError:
            if self._person:
                self.write("\n")
            raise
        return joined(text)

    def _line(self, prompt: str) -> str:
        # input() would load readline in some set-ups, which sends escape codes of its own.
        if self._person:
            sys.stdout.write(prompt)
            sys.stdout.flush()
        line = sys.stdin.readline()
        if not line:
            raise EOFError
        return line.rstrip("\n")

    def write(self, text: str) -> None:
        """See `Screen.write`."""
        sys.stdout.write(text)
        sys.stdout.flush()

    def note(self, text: str) -> None:
        """See `Screen.note`: a line of its own, as nothing can be taken away again."""
        if text and self._person:
            self.write(f"{text}\n")

    def width(self) -> int:
        """See `Screen.width`."""
        return _columns()


class RichScreen:
    """Colour, completion as you type, and a history that outlives the session.

    `names` gives the names that can be completed, None as long as they are not there. `history` is
    the file to keep it in; None keeps it for this session only.
    """

    def __init__(
        self, names: Callable[[], NameIndex | None], history: Path | None, *, colour: bool = True
    ) -> None:
        self._noted = 0
        self._session: PromptSession[str] = PromptSession(
            history=_history(history),
            completer=_Names(names),
            complete_while_typing=False,
            lexer=_Colours() if colour else None,
            auto_suggest=AutoSuggestFromHistory(),
            multiline=Condition(self._goes_on),
            prompt_continuation=MORE,
            key_bindings=_keys(),
        )

    def read(self) -> str:
        """See `Screen.read`."""
        return joined(self._session.prompt(PROMPT))

    def write(self, text: str) -> None:
        """See `Screen.write`."""
        sys.stdout.write(text)
        sys.stdout.flush()

    def note(self, text: str) -> None:
        """See `Screen.note`."""
        text = text[: _columns() - 1]
        sys.stderr.write("\r" + " " * self._noted + "\r" + text)
        sys.stderr.flush()
        self._noted = len(text)

    def width(self) -> int:
        """See `Screen.width`."""
        return _columns()

    def _goes_on(self) -> bool:
        return unfinished(self._session.default_buffer.text)


class _Names(Completer):
    """Completion from the language and the catalogue."""

    def __init__(self, names: Callable[[], NameIndex | None]) -> None:
        self._names = names

    def get_completions(
        self,
        document: Document,
        complete_event: CompleteEvent,  # noqa: ARG002
    ) -> Iterable[Completion]:
        """What may stand at the cursor; commands at the start of a line."""
        text, cursor = document.text, document.cursor_position
        before = text[:cursor]
        if " " not in before.strip() and not before.endswith(" "):
            for word in COMMANDS:
                if word.startswith(before) and before:
                    yield Completion(word, -len(before), display_meta="about the prompt")
        for each in complete(text, cursor, self._names()):
            meta = ", ".join(filter(None, (each.what, each.detail)))
            yield Completion(each.text, each.start - cursor, display_meta=meta)


class _Colours(Lexer):
    """Colours of the language's own pieces."""

    def lex_document(self, document: Document) -> Callable[[int], StyleAndTextTuples]:
        """The pieces of each line."""
        lines = list(_styled_lines(document.text))

        def line(number: int) -> StyleAndTextTuples:
            return lines[number] if number < len(lines) else []

        return line


def _styled_lines(text: str) -> Iterator[StyleAndTextTuples]:
    line: StyleAndTextTuples = []
    for piece in pieces(text):
        codes = LOOKS[piece.sort].sgr.split(";")
        look = " ".join(filter(None, (_LOOKS.get(code, "") for code in codes)))
        first, *rest = piece.text.split("\n")
        line.append((look, first))
        for more in rest:
            yield line
            line = [(look, more)]
    yield line


def _keys() -> KeyBindings:
    keys = KeyBindings()

    @keys.add("escape", "enter")
    def _(event: KeyPressEvent) -> None:
        """A new line, wherever the cursor stands."""
        event.current_buffer.insert_text("\n")

    return keys


def _history(file: Path | None) -> History:
    if file is None:
        return InMemoryHistory()
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        file.touch(mode=0o600)
    except OSError:
        return InMemoryHistory()  # a history that cannot be kept is no reason not to answer
    return FileHistory(str(file))


def _columns() -> int:
    return min(shutil.get_terminal_size((88, 24)).columns, _WIDEST)
