"""The fixture files of sentences: blocks of a question (`> `) and what comes of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
_ESCAPE = re.compile(r"\\x([0-9a-f]{2})|\\u([0-9a-f]{4})")


def blocks(file: str) -> Iterator[tuple[str, str]]:
    """Each block's question, and the lines that follow it without their mark."""
    text = (HERE / file).read_text(encoding="utf-8")
    for block in text.split("\n\n"):
        lines = [line for line in block.splitlines() if not line.startswith("#")]
        asked = [line[2:] for line in lines if line.startswith(">")]
        if asked:
            rest = [line[2:] for line in lines if not line.startswith(">")]
            yield unescaped("\n".join(asked)), "\n".join(rest)


def unescaped(text: str) -> str:
    """`\\x00` and `\\u200b` in a fixture stand for that character."""
    return _ESCAPE.sub(lambda found: chr(int(found[1] or found[2], 16)), text)
