"""Finds every interface kind of this package; others may add kinds without editing anything.

A kind is a module here with a `KIND`. A kind from elsewhere is registered for as long as it is
wanted: `with registered(kind): …`, or for good with `register(kind)`.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType

from .kind import EndValues, Finding, Kind, Tolerances

_added: dict[str, Kind] = {}


class UnknownKindError(LookupError):
    """No interface kind of that name; the message says which name is nearest."""


@cache
def _own() -> Mapping[str, Kind]:
    package = importlib.import_module(__package__ or "")
    found: dict[str, Kind] = {}
    for module in sorted(info.name for info in pkgutil.iter_modules(package.__path__)):
        if module == __name__.rpartition(".")[2]:
            continue
        kind = getattr(importlib.import_module(f".{module}", __package__), "KIND", None)
        if isinstance(kind, Kind):
            found[kind.name] = kind
    return found


def kinds() -> Mapping[str, Kind]:
    """Every interface kind by name, in order of name.

    >>> list(kinds())  # doctest: +NORMALIZE_WHITESPACE
    ['BoltCircle', 'BoreSeat', 'Capacity', 'Connector', 'Envelope', 'FlangeSpacing',
     'HydraulicUnion', 'Length', 'MountSpacing', 'Ratio', 'Signal', 'Spline']
    """
    every = {**_own(), **_added}
    return MappingProxyType({name: every[name] for name in sorted(every)})


def kind_named(name: str) -> Kind:
    """The kind of that name.

    Raises:
        UnknownKindError: there is none; the message names the nearest.
    """
    every = kinds()
    if name not in every:
        near = get_close_matches(name, every, n=1, cutoff=0.5)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise UnknownKindError(f"no interface kind {name!r}{hint}")
    return every[name]


def register(kind: Kind) -> None:
    """Adds a kind from outside this package.

    Raises:
        ValueError: a kind of that name is there already.
    """
    if kind.name in kinds():
        raise ValueError(f"interface kind {kind.name!r} is there already")
    _added[kind.name] = kind


@contextmanager
def registered(*more: Kind) -> Iterator[None]:
    """Adds kinds for the length of a with block."""
    added: list[str] = []
    try:
        for kind in more:
            register(kind)
            added.append(kind.name)
        yield
    finally:
        for name in added:
            _added.pop(name, None)


def compare(
    kind_name: str, ends: Sequence[EndValues], tolerances: Tolerances
) -> tuple[Finding, ...]:
    """What the rule of a kind finds about the ends that meet.

    >>> pipe = EndValues("external", {"thread": "M10", "unionSeat": "banjo"})
    >>> port = EndValues("internal", {"thread": "M10x1.5", "unionSeat": "banjo"})
    >>> {finding.outcome.value for finding in compare("HydraulicUnion", [pipe, port], {})}
    {'mates'}

    Raises:
        UnknownKindError: no such kind.
        MissingToleranceError: the rule needs a tolerance that is not among those given.
    """
    return kind_named(kind_name).rule(ends, tolerances)
