"""What a finding is: something in a catalogue that a maintainer should look at."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from rdflib import URIRef

from ..catalogue import Catalogue
from ..mating import Mate
from ..reading import Facts


class Severity(StrEnum):
    """How much a finding matters. STOPS: answers would be wrong, so nothing goes live with it."""

    STOPS = "stops"
    WARNS = "warns"
    NOTES = "notes"


@dataclass(frozen=True, slots=True)
class FindingNote:
    """One thing to look at.

    `rule` is what should hold, `subject` the IRI of what breaks it ("" where a whole file does),
    `thing` what people call it, `place` where it is stated, `reason` what is wrong and `remedy`
    what to do about it. `mates` are the meetings behind it, with the values that were compared;
    `facts` the statements behind it, in words.
    """

    severity: Severity
    rule: str
    subject: str
    thing: str
    place: str
    reason: str
    remedy: str
    mates: tuple[Mate, ...] = ()
    facts: tuple[str, ...] = ()

    @property
    def order(self) -> tuple[int, str, str, str, str]:
        """The worst first, then by rule and place."""
        return list(Severity).index(self.severity), self.rule, self.place, self.thing, self.reason


@dataclass(frozen=True, slots=True)
class Notebook:
    """Writes findings about things of one catalogue, each with its name and its place."""

    facts: Facts
    catalogue: Catalogue

    def note(
        self,
        severity: Severity,
        rule: str,
        subject: str,
        reason: str,
        remedy: str,
        mates: tuple[Mate, ...] = (),
    ) -> FindingNote:
        """A finding about the thing with IRI `subject`."""
        place = self.facts.place(URIRef(subject))
        return FindingNote(
            severity, rule, subject, self.name(subject), place, reason, remedy, mates
        )

    def name(self, iri: str) -> str:
        """A thing as a maintainer names it; a part with its number."""
        part = self.catalogue.parts.get(iri)
        if part is not None:
            return f"{part.label} ({part.number})"
        end = self.catalogue.ends.get(iri)
        return end.label if end is not None else self.catalogue.name(iri)


def listed(words: list[str], most: int = 4) -> str:
    """A short list in words.

    >>> listed(["a", "b", "c", "d", "e", "f"])
    'a, b, c, d and 2 more'
    """
    if len(words) > most:
        words = [*words[:most], f"{len(words) - most} more"]
    return " and ".join((", ".join(words[:-1]), words[-1]) if len(words) > 1 else words)
