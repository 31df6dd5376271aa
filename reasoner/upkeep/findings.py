"""Find what is wrong with a catalogue that neither shapes nor OWL can see: the trade's own checks.

A catalogue with findings that stop should not go live; the others tell where to look.
"""

from __future__ import annotations

from ..catalogue import Catalogue
from ..mating import Mating
from ..reading import Facts
from .findings_builds import (
    parts_that_fit_nowhere,
    stock_builds_that_lack,
    unsound_stock_builds,
)
from .findings_entries import entered_twice, exceptions_that_contradict, without_source
from .findings_loose import empty_families, idle_roles_and_ends, idle_stations, serial_numbers
from .findings_note import FindingNote, Notebook, Severity
from .findings_units import inches_for_millimetres

__all__ = ["FindingNote", "Severity", "find_faults", "stops"]


def find_faults(facts: Facts, catalogue: Catalogue, mating: Mating) -> tuple[FindingNote, ...]:
    """Everything a maintainer should look at, the worst first.

    `catalogue` was made of `facts`, and `mating` belongs to it.
    """
    book = Notebook(facts, catalogue)
    found = [
        *without_source(book),
        *unsound_stock_builds(book, mating),
        *stock_builds_that_lack(book),
        *parts_that_fit_nowhere(book, mating),
        *exceptions_that_contradict(book),
        *entered_twice(book),
        *inches_for_millimetres(book),
        *empty_families(book),
        *idle_stations(book),
        *idle_roles_and_ends(book),
        *serial_numbers(book),
    ]
    return tuple(sorted(set(found), key=lambda note: note.order))


def stops(findings: tuple[FindingNote, ...]) -> bool:
    """Whether a catalogue with these findings must not go live."""
    return any(note.severity is Severity.STOPS for note in findings)
