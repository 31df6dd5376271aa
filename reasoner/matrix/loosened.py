"""A catalogue in which every station may be changed, to ask about many bodies at once."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from ..catalogue import Catalogue
from ..lookups import kept_with

_SAME: Final = ("works", "places")
"""What does not hang on whether a station is fixed, and is asked for here."""


def loosened(catalogue: Catalogue) -> Catalogue:
    """The same catalogue without fixed stations."""
    stations = {s: replace(station, fixed=False) for s, station in catalogue.stations.items()}
    tables = {name: catalogue.lookups.table(name) for name in _SAME}
    return kept_with(replace(catalogue, stations=stations), tables)
