"""What is measured, as values: rows of figures, the machine they were taken on, and growth."""

from __future__ import annotations

import json
import math
import os
import platform
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from importlib import metadata, resources
from typing import Any

AT_MOST, AT_LEAST = "at most", "at least"
SCHEMA = "bench.schema.json"
_LIBRARIES = (
    "knockon",
    "rdflib",
    "owlrl",
    "reasonable",
    "pyshacl",
    "python-sat",
    "ortools",
    "pyoxigraph",
    "dask",
    "distributed",
)


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: what was measured of a catalogue of this size, by whom, in which unit.

    `limit` is what it is meant to keep to (`bound` says on which side), None if nothing is asked.
    `estimated` marks a figure that was worked out from smaller sizes and not measured.
    """

    section: str
    what: str
    parts: int
    generations: int
    value: float
    unit: str
    series: str = ""
    limit: float | None = None
    bound: str = AT_MOST
    estimated: bool = False
    note: str = ""

    @property
    def kept(self) -> bool | None:
        """Whether the figure keeps to its limit; None if there is none."""
        if self.limit is None:
            return None
        return self.value <= self.limit if self.bound == AT_MOST else self.value >= self.limit


def of_several(rows: Iterable[Row]) -> frozenset[str]:
    """What was measured of more than one."""
    series: dict[str, set[str]] = {}
    for row in rows:
        series.setdefault(row.what, set()).add(row.series)
    return frozenset(what for what, own in series.items() if len(own) > 1)


@dataclass(frozen=True, slots=True)
class Report:
    """All figures of one run, with the machine and the versions they hold for."""

    taken: str
    machine: dict[str, str | int | float]
    versions: dict[str, str]
    sections: tuple[str, ...]
    rows: tuple[Row, ...]
    missing: tuple[str, ...] = field(default=())
    """What could not be measured, and why."""

    def as_json(self) -> str:
        """The report as JSON, of the shape of `schema()`."""
        found = asdict(self)
        found["rows"] = [{**asdict(row), "kept": row.kept} for row in self.rows]
        return json.dumps(found, indent=1, ensure_ascii=False) + "\n"


def schema() -> dict[str, Any]:
    """The JSON Schema of a report."""
    text = (resources.files(__package__) / SCHEMA).read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def machine() -> dict[str, str | int | float]:
    """What the figures were taken on."""
    memory = 0
    if hasattr(os, "sysconf") and "SC_PHYS_PAGES" in os.sysconf_names:
        memory = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    return {
        "system": platform.platform(),
        "processor": _processor(),
        "cores": usable or 1,
        "memory_gib": round(memory / 2**30, 1),
        "load_at_start": round(load, 2),
        "python": platform.python_version(),
    }


def _processor() -> str:
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as told:
            names = [line.partition(":")[2] for line in told if line.startswith("model name")]
    except OSError:
        names = []
    return names[0].strip() if names else platform.processor() or platform.machine()


def versions() -> dict[str, str]:
    """The versions of knockon and of what its speed rests on, as far as they are installed."""
    found = {}
    for name in _LIBRARIES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    return found


def power_law(points: Iterable[tuple[float, float]]) -> tuple[float, float] | None:
    """`a` and `b` of y = a·x^b through the points by least squares of the logarithms.

    None with fewer than two different sizes.

    >>> a, b = power_law([(10, 1), (100, 100), (1000, 10000)])
    >>> round(a, 6), round(b, 6)
    (0.01, 2.0)
    """
    logs = [(math.log(x), math.log(y)) for x, y in points if x > 0 and y > 0]
    if len({x for x, _ in logs}) < 2:
        return None
    mean_x = sum(x for x, _ in logs) / len(logs)
    mean_y = sum(y for _, y in logs) / len(logs)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in logs)
    slope /= sum((x - mean_x) ** 2 for x, _ in logs)
    return math.exp(mean_y - slope * mean_x), slope


def percentile(values: Sequence[float], share: float) -> float:
    """The smallest value that at least so large a share of the values does not exceed.

    >>> percentile([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], 0.95), percentile([1, 2, 3], 0.5)
    (10, 2)
    """
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]
