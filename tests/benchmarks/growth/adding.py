"""Section `generation`: one more generation, in a process that has the whole catalogue at hand."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from .apart import DidNotFinish, apart
from .catalogues import one_more_generation
from .measured import Row
from .stand import Stand

_LARGE, _MOST_SECONDS = 100_000, 1.0


def measure(stand: Stand) -> Iterator[Row]:
    """A generation put in and taken out again; the whole closed and checked for comparison."""
    for size in stand.sizes:
        data = stand.data(size)
        name, text = one_more_generation(size)
        stand.say(f"adding a generation to {size.parts} parts")
        asked = {"data": str(data), "name": name, "text": text}
        try:
            took = apart("adding:add", asked, stand.cache, stand.patience)
        except DidNotFinish as error:
            stand.could_not(f"a generation added to {size.parts} parts", error)
            continue
        known = size.parts, size.generations
        limit = _MOST_SECONDS if size.parts >= _LARGE else None
        note = f"{took.value['facts']} facts more, {took.value['derived']} derived"
        for what, seconds in took.value["steps"].items():
            asked_of = limit if what == "checked" else None
            yield Row("generation", what, *known, seconds, "s", what, asked_of, note=note)
        yield Row("generation", "peak memory", *known, took.peak_mb, "MB")


def add(asked: dict[str, Any]) -> dict[str, Any]:
    """Close and check what is there; then check what is added, and take it back.

    What follows from the addition is found by closing the whole again: `steps` says how long that
    takes, so that the check of a change stands beside it.
    """
    from ..reasoner.closure import close
    from ..reasoner.files import TextFile, catalogue_files
    from ..reasoner.load import ontology_folder
    from ..reasoner.reading import read_facts
    from ..reasoner.standing_check import StandingCheck

    files = catalogue_files(ontology_folder(), Path(asked["data"]))
    facts = read_facts(files)
    derived = close(facts)
    steps: dict[str, float] = {}
    began = time.perf_counter()
    check = StandingCheck(facts, derived)
    steps["whole catalogue checked"] = time.perf_counter() - began
    after = read_facts((*files, TextFile(asked["name"], asked["text"], ontology=False)))
    began = time.perf_counter()
    derived_after = close(after)
    steps["whole catalogue closed"] = time.perf_counter() - began
    more = [t for t in after.sources if t not in facts.sources]
    gone = [t for t in facts.sources if t not in after.sources]
    follows = [t for t in derived_after if t not in derived]
    ends = [t for t in derived if t not in derived_after]
    began = time.perf_counter()
    check.change(after, more, gone, follows, ends)
    steps["checked"] = time.perf_counter() - began
    began = time.perf_counter()
    check.change(facts, gone, more, ends, follows)
    steps["taken out"] = time.perf_counter() - began
    return {"steps": steps, "facts": len(more), "derived": len(follows)}
