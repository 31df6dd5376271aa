"""README's printed answers, checked against the command, and refreshed from it.

`python -m tests.readme` writes what the command prints today into README.md.
"""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner
from knockon.query.command import main

README = Path(__file__).parent.parent / "README.md"
PRINTED = re.compile(r"(<!-- printed: (?P<question>.+?) -->\n```text\n)(?P<text>.*?)(```\n)", re.S)
WIDTH = 88


def printed(question: str) -> str:
    """What the command prints for a question, at the width README shows."""
    result = CliRunner().invoke(main, ["ask", question, "--width", str(WIDTH)])
    if result.exit_code not in (0, 1):
        raise RuntimeError(result.output)
    return result.output


def refreshed(text: str) -> str:
    """README with every printed answer as it is today."""
    return PRINTED.sub(lambda m: f"{m[1]}{printed(m['question'])}{m[4]}", text)


if __name__ == "__main__":
    README.write_text(refreshed(README.read_text("utf-8")), "utf-8")
