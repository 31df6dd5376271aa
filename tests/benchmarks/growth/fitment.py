"""Section `matrix`: every part against every car, by one process and by two."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from .apart import DidNotFinish, apart
from .measured import Row
from .stand import Stand

_ALL_CARS = 1_000
"""Of larger catalogues only the first cars are measured: all of them take hours."""
_FIRST_CARS = 4


def measure(stand: Stand) -> Iterator[Row]:
    """Cells a second over the demo and over each size, and what the second process brings."""
    from ..reasoner.matrix.parquet import NEEDED, can_write

    if not can_write():
        stand.could_not("matrix", NEEDED)
        return
    yield from _of(stand, None, None)
    for size in stand.sizes:
        yield from _of(stand, stand.data(size), None if size.parts <= _ALL_CARS else _FIRST_CARS)


def _of(stand: Stand, data: Path | None, cars: int | None) -> Iterator[Row]:
    rates = []
    for workers in (1, 2):
        stand.say(f"filling a matrix of {data or 'the demo'} by {workers}")
        asked = {"data": str(data or ""), "cars": cars, "workers": workers}
        try:
            took = apart("fitment:fill", asked, stand.cache, stand.patience)
        except DidNotFinish as error:
            stand.could_not(f"matrix of {data or 'the demo'}", error)
            return
        found = took.value
        known = found["parts"], found["generations"]
        rates.append(found["cells"] / found["seconds"])
        note = f"{found['cells']:,} cells of {found['cars']} cars" if workers == 1 else ""
        of = "1 process" if workers == 1 else f"{workers} processes"
        yield Row("matrix", f"cells, {of}", *known, rates[-1], "1/s", of, note=note)
        if workers == 1:
            yield Row("matrix", "peak memory of one process", *known, found["memory"], "MB")
    yield Row("matrix", "second process", *known, rates[1] / rates[0], "×")


def fill(asked: dict[str, Any]) -> dict[str, Any]:
    """Fill a folder from the start to the file that is read."""
    from ..reasoner.load import load_catalogue
    from ..reasoner.matrix.chunks import cut
    from ..reasoner.matrix.filling import Folder
    from ..reasoner.matrix.running import Here
    from ..reasoner.matrix.working import Place

    data = Path(asked["data"]) if asked["data"] else None
    catalogue = load_catalogue(data)
    parts, generations = len(catalogue.parts), len(catalogue.generations)
    known = cut(catalogue, tuple(catalogue.cars)[: asked["cars"]])
    with TemporaryDirectory(prefix="knockon-matrix-") as name:
        folder = Folder(Path(name), known)
        began = time.perf_counter()
        engine = Here(asked["workers"])
        place = Place(data, known.catalogue, known.code)
        folder.fill(place, engine, folder.missing(), lambda _: None)
        seconds = time.perf_counter() - began
    return {
        "parts": parts, "generations": generations, "cars": len(known.cars),
        "cells": known.cells, "seconds": seconds, "memory": _most_memory_mb(),
    }  # fmt: skip


def _most_memory_mb() -> float:
    """The most that one of the processes had."""
    import resource
    import sys

    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return most / (1024 if sys.platform != "darwin" else 1024**2)
