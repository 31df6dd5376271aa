"""What the language says of bad sentences. `python -m tests.query.bad_sentences` writes anew."""

from __future__ import annotations

import re

from knockon.query.errors import QueryError, render_error

from .blocks import HERE, unescaped
from .counter import counter, understand

FILE = HERE / "bad_sentences.txt"


def said_of(text: str) -> str:
    """The rendered error of a sentence, with a line for its code; empty if nothing is wrong."""
    try:
        understand(text, counter())
    except QueryError as error:
        shown = f"[{error.code}]\n{render_error(text, error)}"
        return "\n".join(line.rstrip() for line in shown.splitlines())
    return ""


def written_anew(text: str) -> str:
    """The fixture with every answer as it is now."""
    made = []
    for block in text.rstrip("\n").split("\n\n"):
        lines = block.splitlines()
        kept = [line for line in lines if line.startswith(("#", ">"))]
        asked = "\n".join(line[2:] for line in kept if line.startswith(">"))
        if asked or any(line.startswith(">") for line in kept):
            answer = said_of(unescaped(asked)) or "NOTHING IS WRONG"
            kept += [re.sub(r"^", "  ", line).rstrip() for line in answer.splitlines()]
        made.append("\n".join(kept))
    return "\n\n".join(made) + "\n"


if __name__ == "__main__":
    FILE.write_text(written_anew(FILE.read_text(encoding="utf-8")), encoding="utf-8")
