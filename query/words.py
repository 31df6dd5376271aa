"""Findings and reasons as sentences of the trade. Nothing else in knockon makes words of them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from ..reasoner.catalogue import Catalogue
from ..reasoner.interfaces.kind import Finding, Outcome, Relation, Scalar
from ..reasoner.problem import Reason, ReasonKind

_UNITS = {
    "MilliM": "mm",
    "DEG": "°",
    "N-M": "N·m",
    "KiloGM": "kg",
    "NUM": "",
    "UNITLESS": "",
    "REV-PER-MIN": "rev/min",
    "N": "N",
    "KiloN": "kN",
}

CAUTIONS = {
    "always": "knockon advises; it does not certify. A licensed technician decides, by the maker's "
    "procedure and torque figures. Modified vehicles may need approval, inspection and the "
    "insurer's consent where you are.",
    "lifting": "Support the car on stands rated for it before going underneath or taking a wheel "
    "or axle off; never rely on a jack.",
    "brakes": "Brakes: renew one-use fasteners and hoses, bleed, check the parking brake holds, "
    "and test before the car goes on the road.",
    "steering and suspension": "Steering and suspension: tighten at ride height where the maker "
    "says so, and have the alignment set.",
    "wheels": "Wheels: seat form, thread and length of engagement must suit; retighten after the "
    "first drive.",
    "driveline": "Driveline: check joint angles, plunge and balance; new one-use nuts and "
    "circlips, fresh seals and the right oil.",
}

_AREAS = {
    "brakes": ("brake", "corner"),
    "steering and suspension": ("suspension", "steering", "corner"),
    "wheels": ("wheel", "corner"),
    "driveline": ("half-shaft", "gearbox", "propshaft", "final drive", "clutch", "driveline"),
}


def cautions_for(areas: set[str]) -> tuple[str, ...]:
    """The cautions that belong to the touched areas of the car, the general ones first."""
    lowered = {area.lower() for area in areas}
    touched = [
        text
        for name, text in CAUTIONS.items()
        if any(word in area for word in _AREAS.get(name, ()) for area in lowered)
    ]
    return (CAUTIONS["always"], CAUTIONS["lifting"], *touched)


def unit_word(unit: str) -> str:
    """How a unit is written on paper.

    >>> unit_word("MilliM")
    'mm'
    """
    return _UNITS.get(unit, unit)


def plain(value: Scalar | None) -> str:
    """A value as people write it.

    >>> plain(Decimal("114.30")), plain(True), plain(None)
    ('114.3', 'yes', 'not known')
    """
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        text = f"{value:f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    return str(value)


def finding_text(finding: Finding, catalogue: Catalogue) -> str:
    """One finding as a phrase: the numbers, what had to hold, and by how much it does or not."""
    quantity = catalogue.quantities.get(finding.quantity)
    label = quantity.label if quantity else _spaced(finding.quantity)
    unit = unit_word(quantity.unit) if quantity else ""

    def show(value: Scalar | None) -> str:
        text = plain(value)
        bare = value is None or isinstance(value, (str, bool)) or not unit
        return text if bare else f"{text}{'' if unit == '°' else ' '}{unit}"

    note = f" ({finding.note})" if finding.note else ""
    if finding.first is None and finding.second is None:
        if finding.outcome is Outcome.UNPROVEN:
            return f"{label}: not known on either side{note}"
        return f"{label}: {finding.note}" if finding.note else label
    pair = f"{label} {show(finding.first)} against {show(finding.second)}"
    if finding.outcome is Outcome.UNPROVEN:
        return f"{pair}: unproven{note}"
    return f"{pair}{_verdict_of(finding, show)}{note}"


def _verdict_of(finding: Finding, show: Callable[[Scalar | None], str]) -> str:
    holds = finding.outcome is Outcome.MATES
    margin = None if finding.margin is None else show(abs(finding.margin))
    if finding.relation is Relation.SAME:
        return "" if holds else ": must be the same"
    if finding.relation is Relation.OPPOSITE:
        return "" if holds else ": must be opposite"
    if finding.relation in (Relation.WITHIN, Relation.CLOSES) and finding.tolerance is not None:
        bound = show(finding.tolerance)
        return f", within {bound}" if holds else f": {margin} beyond the tolerance of {bound}"
    if margin is not None:
        return f": {margin} to spare" if holds else f": {margin} short"
    return "" if holds else f": must be {finding.relation.value}"


def _spaced(name: str) -> str:
    """camelCase as words.

    >>> _spaced("circleDiameter")
    'circle diameter'
    """
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()


def reason_text(reason: Reason, catalogue: Catalogue) -> str:
    """One reason of a conflict or a chain, in trade words."""
    subject, other = catalogue.name(reason.subject), catalogue.name(reason.other)
    texts = {
        ReasonKind.FIT: f"fit {other} as {subject}",
        ReasonKind.KEEP: f"keep the {subject}" + (f" ({other})" if reason.other else ""),
        ReasonKind.JOINT: f"{subject} must mate",
        ReasonKind.UNPROVEN: f"{subject} is not proven",
        ReasonKind.REQUIREMENT: f"{subject} need {other}",
        ReasonKind.EXCLUSION: f"{subject} rule out {other}",
        ReasonKind.MATCHED_SET: f"{subject} is only used complete",
        ReasonKind.LIMIT: reason.subject,
    }
    return texts[reason.kind]
