"""Section `load`: from text files to a catalogue that may be served; time of each step, memory."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

from .apart import DidNotFinish, apart
from .catalogues import Size
from .measured import Row
from .stand import Stand

_LARGE = 100_000
_MOST_SECONDS, _MOST_MB = 90.0, 3072.0
_STEPS = (
    # step, where it is looked up when a catalogue is made, the function
    ("read", "reading", "read_facts"),
    ("close", "closure", "close"),
    ("check", "validate", "check_shapes"),
    ("assemble", "assemble", "assemble"),
    ("compile", "load", "write_compiled"),
)


def measure(stand: Stand) -> Iterator[Row]:
    """Each size in a process of its own, with an empty cache."""
    for size in stand.sizes:
        data = stand.data(size)
        stand.say(f"loading {size.parts} parts from text")
        asked = {"data": str(data), "cache": str(stand.cache)}
        try:
            took = apart("loading:load", asked, stand.cache, stand.patience)
        except DidNotFinish as error:
            stand.could_not(f"load of {size.parts} parts", error)
            continue
        large = size.parts >= _LARGE
        for step, seconds in took.value["steps"].items():
            yield _row(size, step, seconds, "s", series="step")
        note = f"{took.value['stated']} facts stated, {took.value['derived']} derived"
        limits = (_MOST_SECONDS, _MOST_MB) if large else (None, None)
        yield _row(size, "all, from text to served", took.wall, "s", limits[0], note, "all")
        yield _row(size, "processor time", took.cpu, "s")
        yield _row(size, "peak memory", took.peak_mb, "MB", limits[1], "", "memory")


def _row(
    size: Size,
    what: str,
    value: float,
    unit: str,
    limit: float | None = None,
    note: str = "",
    series: str = "",
) -> Row:
    return Row("load", what, size.parts, size.generations, value, unit, series, limit, note=note)


def load(asked: dict[str, Any]) -> dict[str, Any]:
    """Load a catalogue as any command does, with an eye on the clock at each step."""
    steps: dict[str, float] = {}
    for name, module, function in _STEPS:
        _time(steps, name, module, function)
    from ..reasoner import load as loading

    for kept in Path(asked["cache"]).glob("*"):
        if kept.is_file():
            kept.unlink()
    catalogue = loading.load_catalogue(Path(asked["data"]), Path(asked["cache"]))
    return {
        "steps": steps,
        "parts": len(catalogue.parts),
        "stated": catalogue.asserted,
        "derived": catalogue.derived,
    }


def _time(steps: dict[str, float], name: str, module: str, function: str) -> None:
    """Have a function of the reasoner note how long it takes, wherever it is called by name."""
    place = import_module(f"knockon.reasoner.{module}")
    called: Callable[..., Any] | None = getattr(place, function, None)
    if called is None:
        return  # the reasoner has no such step; the others still say what they take

    def timed(*words: Any, **named: Any) -> Any:
        began = time.perf_counter()
        try:
            return called(*words, **named)
        finally:
            steps[name] = steps.get(name, 0.0) + time.perf_counter() - began

    setattr(place, function, timed)
