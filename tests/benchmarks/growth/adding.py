"""Section `generation`: one more generation, in a process that has the whole catalogue at hand."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from .apart import DidNotFinish, apart
from .catalogues import one_more_generation
from .measured import AT_LEAST, Row
from .stand import Stand

_LARGE, _MOST_SECONDS = 100_000, 1.0
_ADDED = "generation added"


def measure(stand: Stand) -> Iterator[Row]:
    """A generation put in and taken out again; the same from scratch for comparison."""
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
        note = f"{took.value['facts']} statements more, {took.value['derived']} derived"
        steps = took.value["steps"]
        for what, seconds in steps.items():
            asked_of = limit if what == _ADDED else None
            yield Row("generation", what, *known, seconds, "s", what, asked_of, note=note)
        times = steps["all from scratch"] / steps[_ADDED]
        yield Row("generation", "as often in the time from scratch", *known, times, "times",
                  bound=AT_LEAST)  # fmt: skip
        yield Row("generation", "peak memory", *known, took.peak_mb, "MB")


def add(asked: dict[str, Any]) -> dict[str, Any]:
    """Take the catalogue in; then add the generation, take it out again, and do it from scratch.

    The stages of adding are timed one by one; `all from scratch` is the same without reading files.
    """
    from ..reasoner.files import TextFile, catalogue_files
    from ..reasoner.load import ontology_folder
    from ..reasoner.reading import read_facts
    from ..reasoner.resident import Resident

    files = catalogue_files(ontology_folder(), Path(asked["data"]))
    generation = TextFile(asked["name"], asked["text"], ontology=False)
    facts = read_facts(files)
    after = read_facts((*files, generation))
    more = [
        (*triple, source)
        for triple, sources in after.sources.items()
        for source in sources
        if source not in facts.sources.get(triple, ())
    ]
    steps: dict[str, float] = {}
    _timed(steps, "all from scratch", partial(_from_scratch, after))
    del after
    resident = _timed(steps, "taken in", lambda: Resident("before", facts))
    _timed(steps, "made ready", resident.ready)
    derived = resident.catalogue.derived
    stages: dict[str, float] = {}
    last = time.perf_counter()

    def done(stage: str) -> None:
        nonlocal last
        now = time.perf_counter()
        stages[f"of that {stage}"] = now - last
        last = now

    # Once in and out before: what is measured is not the first of its kind.
    resident.change("warm", more, ())
    resident.change("before", (), more)
    last = time.perf_counter()
    _timed(steps, _ADDED, lambda: resident.change("after", more, (), done))
    derived = resident.catalogue.derived - derived
    _timed(steps, "generation taken out", lambda: resident.change("before", (), more))
    return {"steps": {**steps, **stages}, "facts": len(more), "derived": derived}


def _timed(steps: dict[str, float], what: str, act: Callable[[], Any]) -> Any:
    began = time.perf_counter()
    found = act()
    steps[what] = time.perf_counter() - began
    return found


def _from_scratch(facts: Any) -> None:
    """Close, check and assemble, with all that is looked up."""
    from ..reasoner.assemble import assemble
    from ..reasoner.closure import close
    from ..reasoner.lookups import LOOKUPS
    from ..reasoner.validate import check_shapes

    derived = close(facts)
    check_shapes(facts, derived)
    catalogue = assemble("after", facts, derived)
    for name in LOOKUPS:
        catalogue.lookups.table(name)
