"""Everything that is wrong with facts that may not even make a catalogue, in one go."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from ..assemble import assemble
from ..catalogue import Catalogue
from ..closure import close
from ..errors import CatalogueRefused, Fault
from ..mating import Mating
from ..reading import Facts
from ..sense import check_sense
from ..statements import check_statements
from ..validate import check_shapes
from .findings import FindingNote, find_faults

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Checked:
    """What shapes and OWL refuse, and what the trade objects to.

    `catalogue` is None where the facts are too broken for the trade's own checks; where they are
    merely refused it is there to be looked at, but must not be served.
    """

    faults: tuple[Fault, ...]
    findings: tuple[FindingNote, ...]
    catalogue: Catalogue | None


def check_everything(facts: Facts) -> Checked:
    """Close, check against shapes, and put the trade's own checks, as far as each can go."""
    try:
        derived = close(facts)
    except CatalogueRefused as refused:
        # What follows from a contradiction is worth nothing; what is stated can still be checked.
        stated = {finding.fault for finding in check_statements(facts)}
        return Checked(_ordered({*refused.faults, *stated, *check_sense(facts, ())}), (), None)
    faults: tuple[Fault, ...] = ()
    try:
        check_shapes(facts, derived)
    except CatalogueRefused as refused:
        faults = refused.faults
    try:
        catalogue = assemble("not served", facts, derived)
        findings = find_faults(facts, catalogue, Mating(catalogue))
    except Exception:
        # Refused facts may be anything: texts for numbers, rings, names that nobody states.
        if not faults:
            raise
        _log.debug("the trade's own checks need facts that keep to the shapes", exc_info=True)
        return Checked(faults, (), None)
    told = {fault.rule for fault in faults}
    return Checked(faults, tuple(note for note in findings if note.rule not in told), catalogue)


def _ordered(faults: set[Fault]) -> tuple[Fault, ...]:
    return tuple(sorted(faults, key=lambda f: (f.place, f.node, f.rule, f.what)))
