"""Section `start`: a whole process over a catalogue that has been loaded before; nothing is derived."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import Any

from .apart import DidNotFinish, Took, apart, run
from .measured import Row
from .stand import Stand

_LARGE, _MOST_SECONDS, _TIMES = 100_000, 2.0, 3
_COMMAND = "from knockon.query.command import main; main()"


def measure(stand: Stand) -> Iterator[Row]:
    """The middle one of three starts: of the catalogue alone, and of a whole question."""
    for size in stand.sizes:
        data = stand.data(size)
        known = size.parts, size.generations
        question = stand.asked(size, 1)[0].sentence
        words = [sys.executable, "-c", _COMMAND, "ask", "--data", str(data), question]
        stand.say(f"starting over {size.parts} parts")
        limit = _MOST_SECONDS if size.parts >= _LARGE else None
        try:
            apart("starting:open_catalogue", {"data": str(data)}, stand.cache, stand.patience)
            opened = [
                apart("starting:open_catalogue", {"data": str(data)}, stand.cache)
                for _ in range(_TIMES)
            ]
            yield Row("start", "process ready", *known, _middle(opened), "s", "ready", limit)
            yield Row("start", "memory when ready", *known, opened[0].peak_mb, "MB", "memory")
            asked = [run(words, stand.cache)[1] for _ in range(_TIMES)]
            yield Row("start", "process answers", *known, _middle(asked), "s", "answers")
            yield Row("start", "memory with an answer", *known, asked[0].peak_mb, "MB")
        except DidNotFinish as error:
            stand.could_not(f"start over {size.parts} parts", error)


def _middle(took: list[Took]) -> float:
    return median(one.wall for one in took)


def open_catalogue(asked: dict[str, Any]) -> dict[str, Any]:
    """Be ready to answer."""
    from ..query.desk import Desk
    from ..reasoner.load import load_catalogue

    return {"parts": len(Desk(load_catalogue(Path(asked["data"]))).catalogue.parts)}
