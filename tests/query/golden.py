"""Texts that are kept as files and read when they change.

`KNOCKON_REWRITE_GOLDEN=1 pytest tests/query` writes them anew; look at the difference before you
keep it.
"""

from __future__ import annotations

import os
from pathlib import Path

FOLDER = Path(__file__).parent / "golden"


def same_as_golden(name: str, text: str) -> None:
    """Hold a text against its file."""
    file = FOLDER / name
    if os.environ.get("KNOCKON_REWRITE_GOLDEN"):
        file.write_text(text, "utf-8")
    assert text == file.read_text("utf-8")
