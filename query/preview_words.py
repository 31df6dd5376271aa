"""A changed fact and a changed build in words, and which changed facts the reasons rest on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from ..reasoner.catalogue import Catalogue
from ..reasoner.interfaces.kind import Outcome
from ..reasoner.upkeep.preview import BuildDifference, Edit, FitDifference, JointDifference
from ..reasoner.upkeep.preview_facts import NOTHING, ChangedFact
from .answer import PartRef, Thing
from .compose import Composer
from .preview_answers import Mentions
from .preview_note import BuildChange, FactNote, FitChange, JointChange
from .words import finding_text

_PROPERTIES = {
    "number": "number",
    "label": "label",
    "synonyms": "other names",
    "price": "price",
    "weight": "weight",
    "families": "families",
    "family": "family",
    "stations": "stations",
    "ends": "ends",
    "requires": "what it requires",
    "asks": "what it requires",
    "excludes": "what it rules out",
    "superseded_by": "what supersedes it",
    "interchanges": "what it interchanges with",
    "sets": "matched sets",
    "tolerances": "own tolerances",
    "attributes": "sizes",
    "sources": "who states it",
    "years": "years",
    "serials": "serial numbers",
    "standing": "standing",
    "open": "what is made to suit",
    "parts": "parts",
}


_ONE = {
    "joints": "joint",
    "stations": "station",
    "families": "family",
    "cars": "car",
    "sources": "source",
    "operations": "operation",
    "consumables": "consumable",
}


def _turned(before: str, after: str) -> str:
    """What became of a value; of a list only what it gains and loses.

    >>> _turned("A, B", "A, B, C")
    'gains C'
    >>> _turned("27", "30")
    '27 → 30'
    """
    old, new = before.split(", "), after.split(", ")
    if max(len(old), len(new)) < 3 or not set(old) & set(new):
        return f"{before} → {after}"
    gained = [each for each in new if each not in old]
    lost = [each for each in old if each not in new]
    pieces = [f"{verb} {', '.join(those)}" for verb, those in
              (("gains", gained), ("loses", lost)) if those]  # fmt: skip
    return " and ".join(pieces) or f"{before} → {after}"


class PreviewWords:
    """Makes words of one edit."""

    def __init__(self, edit: Edit) -> None:
        self.edit = edit
        self.catalogues = edit.after.catalogue, edit.before.catalogue
        self._composers = tuple(map(Composer, self.catalogues))

    # ------------------------------------------------------------------ facts

    def fact(self, fact: ChangedFact) -> FactNote:
        """A changed fact in words and values."""
        about = self._about(fact)
        whole = not fact.about
        if whole:
            news = "is new" if fact.before == NOTHING else "is gone"
            text = f"{self._subject(fact)} {news}"
        else:
            text = f"{self._subject(fact)}, {about}: {_turned(fact.before, fact.after)}"
        return FactNote(
            thing=self.thing(fact.subject),
            about=about,
            before=fact.before,
            after=fact.after,
            text=text,
        )

    def _about(self, fact: ChangedFact) -> str:
        catalogue = self._knowing(fact.about)
        if fact.sort == "tried":
            return f"tried with {catalogue.ends[fact.about].label}"
        if fact.about in catalogue.quantities:
            return catalogue.quantities[fact.about].label
        if "/" in fact.about:
            return catalogue.name(fact.about)
        return _PROPERTIES.get(fact.about, fact.about.replace("_", " "))

    def _subject(self, fact: ChangedFact) -> str:
        catalogue = self._knowing(fact.subject)
        if fact.sort in ("ends", "tried"):
            numbers = sorted(
                part.number
                for part in catalogue.parts.values()
                if any(fact.subject in ends for ends in part.ends.values())
            )
            some = ", ".join(numbers[:3]) + (" …" if len(numbers) > 3 else "")
            end = catalogue.ends[fact.subject]
            return f"{catalogue.name(end.role)} of {some or end.label}"
        if fact.sort == "parts":
            part = catalogue.parts[fact.subject]
            return f"{part.label} ({part.number})"
        if fact.sort == "tolerances":
            kind = catalogue.kinds.get(fact.subject)
            return f"tolerance of the {kind.label if kind else fact.subject}"
        return f"{_ONE.get(fact.sort, fact.sort)} {catalogue.name(fact.subject)}"

    def _knowing(self, iri: str) -> Catalogue:
        """The version that has a thing, the later one first."""
        for catalogue in self.catalogues:
            tables = (
                catalogue.parts, catalogue.ends, catalogue.joints, catalogue.stations,
                catalogue.families, catalogue.cars, catalogue.sources, catalogue.operations,
                catalogue.consumables, catalogue.advice, catalogue.kinds, catalogue.quantities,
            )  # fmt: skip
            if any(iri in table for table in tables):
                return catalogue
        return self.catalogues[0]

    def thing(self, iri: str) -> Thing:
        """A thing by the label it has after the edit, or had before."""
        catalogue = self._knowing(iri)
        end = catalogue.ends.get(iri)
        return Thing(iri=iri, label=end.label if end else catalogue.name(iri))

    def part(self, iri: str) -> PartRef:
        """A part as it is after the edit, or was before."""
        composer = self._composers[0 if iri in self.catalogues[0].parts else 1]
        return composer.part(iri)

    # ------------------------------------------------------------------ why

    def why(self, mentions: Mentions) -> tuple[FactNote, ...]:
        """The changed facts that the reasons of two answers rest on; else all that could matter.

        An answer may turn on a fact that neither version of its reasons shows, such as a part
        that could now be chosen; then every changed fact near it is told.
        """
        shown = [fact for fact in self.edit.facts if self._is_mentioned(fact, mentions)]
        near = [fact for fact in self.edit.facts if self._is_near(fact, mentions)]
        return tuple(map(self.fact, shown or near or self.edit.facts))

    def _is_mentioned(self, fact: ChangedFact, mentions: Mentions) -> bool:
        match fact.sort:
            case "ends":
                if not self._bearers(fact.subject) & mentions.things:
                    return False
                quantity = self._about(fact)
                tables = [c.ends for c in self.catalogues if fact.subject in c.ends]
                labels = {table[fact.subject].label for table in tables}
                values = any((label, quantity) in mentions.claims for label in labels)
                return values or fact.about in ("", "side", "role", "kind", "open")
            case "tried":
                pair = (fact.subject, fact.about)
                return all(self._bearers(end) & mentions.things for end in pair)
            case "cars":
                on_it = fact.subject in mentions.things or mentions.by_works
                near = mentions.things | mentions.stations
                return on_it and ("/" not in fact.about or fact.about in near)
            case "tolerances":
                kind = self._knowing(fact.subject).kinds.get(fact.subject)
                return (kind.label if kind else fact.subject) in mentions.kinds
            case "sources":
                return fact.about != ""
            case _:
                return fact.subject in mentions.things

    def _is_near(self, fact: ChangedFact, mentions: Mentions) -> bool:
        near = mentions.things | mentions.stations
        match fact.sort:
            case "ends" | "tried":
                return bool(self._bearers(fact.subject) & near or self._places(fact.subject) & near)
            case "parts":
                return bool(self._places(fact.subject) & near)
            case _:
                return fact.subject in near

    def _bearers(self, end: str) -> set[str]:
        return {
            part.iri
            for catalogue in self.catalogues
            for part in catalogue.parts.values()
            if any(end in ends for ends in part.ends.values())
        }

    def _places(self, iri: str) -> set[str]:
        parts = {iri, *self._bearers(iri)}
        return {
            station
            for catalogue in self.catalogues
            for part in parts & set(catalogue.parts)
            for station in catalogue.parts[part].stations
        }

    # ------------------------------------------------------------------ builds

    def build(self, difference: BuildDifference, saved: bool, note: str) -> BuildChange:
        """A build that changes."""
        status: Literal["changes", "breaks", "is new", "is gone"] = "changes"
        if not all(difference.there):
            status = "is new" if difference.there[1] else "is gone"
        if difference.breaks:
            status = "breaks"
        return BuildChange(
            name=difference.name,
            saved=saved,
            status=status,
            note=note,
            fits=tuple(map(self._fit, difference.fits)),
            joints=tuple(map(self._joint, difference.joints)),
        )

    def _fit(self, fit: FitDifference) -> FitChange:
        parts = [None if iri is None else self.part(iri) for iri in (fit.before, fit.after)]
        why = tuple(map(self.fact, fit.why))
        return FitChange(station=self.thing(fit.station), before=parts[0], after=parts[1], why=why)

    def _joint(self, joint: JointDifference) -> JointChange:
        return JointChange(
            joint=self.thing(joint.joint),
            before=None if joint.before is None else joint.before.value,
            after=None if joint.after is None else joint.after.value,
            because=tuple(dict.fromkeys(self._compared(joint))),
            why=tuple(map(self.fact, joint.why)),
        )

    def _compared(self, joint: JointDifference) -> Iterable[str]:
        """What does not mate after the edit, or did not before it."""
        for mates, catalogue in zip(reversed(joint.mates), self.catalogues, strict=True):
            told = [
                finding_text(finding, catalogue)
                for mate in mates
                for finding in mate.findings
                if finding.outcome is not Outcome.MATES
            ]
            if told:
                return told
        return ()
