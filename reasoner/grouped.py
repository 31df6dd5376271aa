"""Statements by their property: most checks look at one property and leave the others alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from rdflib.term import Node

from .reading import Triple

Grouped: TypeAlias = Mapping[Node, Sequence[Triple]]
"""For each property the statements that use it."""


def by_property(triples: Iterable[Triple]) -> Grouped:
    """The statements in the order in which they come, by property."""
    found: defaultdict[Node, list[Triple]] = defaultdict(list)
    for triple in triples:
        found[triple[1]].append(triple)
    found.default_factory = None  # asking for a property that nobody uses adds none
    return found
