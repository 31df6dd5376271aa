"""Findings about a catalogue in words, as they are printed and sent."""

from __future__ import annotations

from typing import Literal, TypeAlias

from ..reasoner.catalogue import Catalogue
from ..reasoner.errors import Fault
from ..reasoner.interfaces.kind import Outcome
from ..reasoner.upkeep.findings_note import FindingNote
from .answer import Value
from .words import finding_text

SeverityWord: TypeAlias = Literal["stops", "warns", "notes"]


class FindingOut(Value):
    """Something in a catalogue that a maintainer should look at."""

    severity: SeverityWord
    rule: str
    thing: str
    iri: str = ""
    place: str
    reason: str
    remedy: str
    because: tuple[str, ...] = ()


def finding_out(note: FindingNote, catalogue: Catalogue) -> FindingOut:
    """A finding with what was compared."""
    compared = (
        finding_text(finding, catalogue)
        for mate in note.mates
        for finding in mate.findings
        if finding.outcome is Outcome.CLASHES
    )
    return FindingOut(
        severity=note.severity.value,
        rule=note.rule,
        thing=note.thing,
        iri=note.subject,
        place=note.place,
        reason=note.reason,
        remedy=note.remedy,
        because=(*note.facts, *dict.fromkeys(compared)),
    )


def fault_out(fault: Fault) -> FindingOut:
    """A refusal by a shape, by OWL or by a plain check, which always stops."""
    shape = fault.rule.startswith("shape ")
    return FindingOut(
        severity="stops",
        rule=fault.rule,
        thing=fault.node,
        place=fault.place,
        reason=fault.what,
        remedy=_BY_RULE.get(
            fault.rule,
            "state what is asked for, or correct what is stated"
            if shape
            else "take back one of the statements that make it so",
        ),
        because=fault.facts,
    )


_BY_RULE = {
    "every fact has a source": "put the facts inside the graph of a source that is described",
    "known words": "use a word of the vocabulary",
    "plain values": "write the value as the vocabulary asks",
    "names of things": "name the thing itself",
    "things are stated": "state the thing, or correct its name",
    "no rings": "take one link of the ring away",
    "one part at one station": "keep the part that belongs there",
    "one tolerance": "keep one of the amounts",
    "a part is entered once": "keep one, and let everything name that one",
}
