"""Section `closure`: what follows from the facts, by three engines side by side in one run.

knockon's own engine derives what the catalogue needs and looks for contradictions; `owlrl` is the
reference that it is held against; `reasonable` derives the OWL 2 RL closure without being asked
for reasons. owlrl is not run where it would not finish: its time there is worked out from the
sizes that it finished.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from .apart import DidNotFinish, apart
from .catalogues import Size
from .measured import Row, power_law
from .stand import Stand, size_of

OWN, REFERENCE, OTHER = "knockon", "owlrl", "reasonable"
_REFERENCE_SIZES = (120, 250, 500)
_MORE_REFERENCE_SIZES = (1_000, 2_000)
_MOST_FOR_OTHER = 2_000
"""Beyond so many parts `reasonable` wants more memory than most machines have: at 10,000 it took
23 GB and 231 s where knockon took 0.2 GB and 1.6 s."""


def measure(stand: Stand) -> Iterator[Row]:
    """Every engine on every size that it can be asked to do."""
    small = _REFERENCE_SIZES + (_MORE_REFERENCE_SIZES if stand.full else ())
    finished: list[tuple[float, float]] = []
    for parts in small:
        size = size_of(parts)
        for engine in (OWN, REFERENCE, OTHER):
            for row in _one(stand, size, engine):
                yield row
                if engine == REFERENCE and row.unit == "s":
                    finished.append((facts_of(row), row.value))
    law = power_law(finished)
    for size in stand.sizes:
        if size.parts in small:
            continue
        own = list(_one(stand, size, OWN))
        yield from own
        yield from _one(stand, size, OTHER)
        if law and own:
            a, b = law
            yield Row(
                "closure", "closure", size.parts, size.generations, a * facts_of(own[0]) ** b, "s",
                REFERENCE, estimated=True,
                note=f"worked out from smaller sizes: time grows as facts to the power of {b:.2f}",
            )  # fmt: skip


def facts_of(row: Row) -> float:
    """How many facts the closure was taken of."""
    return float(row.note.split()[0])


def _one(stand: Stand, size: Size, engine: str) -> Iterator[Row]:
    if engine == OTHER and find_spec("reasonable") is None:
        if not any(OTHER in line for line in stand.missing):
            stand.could_not(OTHER, 'not installed; pip install "knockon[bench]"')
        return
    if engine == OTHER and size.parts > _MOST_FOR_OTHER:
        stand.could_not(f"closure of {size.parts} parts by {engine}", "its memory would not do")
        return
    stand.say(f"closing {size.parts} parts with {engine}")
    try:
        took = apart(
            "closing:close", {"data": str(stand.data(size)), "engine": engine},
            stand.cache, stand.patience,
        )  # fmt: skip
    except DidNotFinish as error:
        stand.could_not(f"closure of {size.parts} parts by {engine}", error)
        return
    known = size.parts, size.generations
    note = f"{took.value['stated']} facts, {took.value['derived']} triples derived"
    yield Row("closure", "closure", *known, took.value["seconds"], "s", engine, note=note)
    yield Row("closure", "peak memory", *known, took.peak_mb, "MB", engine)


def close(asked: dict[str, Any]) -> dict[str, Any]:
    """Read the files (not timed) and close them (timed) with one engine."""
    from ..reasoner.files import catalogue_files
    from ..reasoner.load import ontology_folder
    from ..reasoner.reading import read_facts

    facts = read_facts(catalogue_files(ontology_folder(), Path(asked["data"])))
    by = {OWN: _own, REFERENCE: _reference, OTHER: _other}[asked["engine"]]
    seconds, derived = by(facts)
    return {"seconds": seconds, "derived": derived, "stated": len(facts.sources)}


def _own(facts: Any) -> tuple[float, int]:
    from ..reasoner.closure import close as close_own

    began = time.perf_counter()
    derived = close_own(facts)
    return time.perf_counter() - began, len(derived)


def _reference(facts: Any) -> tuple[float, int]:
    from owlrl import DeductiveClosure, OWLRL_Semantics

    graph = _graph(facts)
    before = len(graph)
    began = time.perf_counter()
    DeductiveClosure(OWLRL_Semantics, rdfs_closure=False, axiomatic_triples=False).expand(graph)
    return time.perf_counter() - began, len(graph) - before


def _other(facts: Any) -> tuple[float, int]:
    from reasonable import PyReasoner

    graph = _graph(facts)
    began = time.perf_counter()
    engine = PyReasoner()
    engine.from_graph(graph)
    derived = engine.reason()
    return time.perf_counter() - began, len(derived)


def _graph(facts: Any) -> Any:
    from rdflib import Graph

    graph = Graph()
    for triple in facts.sources:
        graph.add(triple)
    return graph
