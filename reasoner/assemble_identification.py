"""Make observations and identification rules from closed facts."""

from __future__ import annotations

from decimal import Decimal

from rdflib import RDF, Literal, URIRef
from rdflib.term import Node

from .index import FactIndex, scalar
from .observations import (
    Allowed,
    IdentificationRule,
    Observation,
    ObservationKind,
    Reach,
    Span,
    WorkedOut,
    months,
)
from .terms import KO, QUDT, local_name

_KINDS = {
    KO.OwnNumber: ObservationKind.OWN_NUMBER,
    KO.CarNumber: ObservationKind.CAR_NUMBER,
    KO.BuildDate: ObservationKind.DATE,
    KO.VisibleFeature: ObservationKind.FEATURE,
    KO.Count: ObservationKind.COUNT,
    KO.Measurement: ObservationKind.MEASURE,
}
_REACHES = {
    str(KO.OnTheCar): Reach.ON_THE_CAR,
    str(KO.OffTheCar): Reach.OFF_THE_CAR,
    str(KO.TakenApart): Reach.TAKEN_APART,
}
_WAYS = {
    str(KO.Chord): WorkedOut.CHORD,
    str(KO.OverPins): WorkedOut.OVER_PINS,
    str(KO.BetweenPins): WorkedOut.BETWEEN_PINS,
}


def observations_of(index: FactIndex) -> dict[str, Observation]:
    """Every observation by its IRI."""
    found = {
        str(node): _observation(index, node, kind)
        for cls, kind in _KINDS.items()
        for node in index.instances(cls)
    }
    return dict(sorted(found.items()))


def rules_of(index: FactIndex) -> tuple[IdentificationRule, ...]:
    """Every identification rule, ordered by what it tells and by which observation."""
    found = [
        IdentificationRule(
            subject=subject,
            observation=index.iri(node, KO.byObservation),
            allowed=_allowed(index, node),
            sources=index.sources(node, RDF.type, KO.IdentificationRule),
        )
        for node in index.subjects(RDF.type, KO.IdentificationRule)
        for subject in index.iris(node, KO.tells)
    ]
    return tuple(sorted(found, key=lambda r: (r.subject, r.observation, r.sources, str(r.allowed))))


def _observation(index: FactIndex, node: URIRef, kind: ObservationKind) -> Observation:
    quantity = index.iri(node, KO.ofQuantity)
    unit = index.iri(URIRef(quantity), QUDT.hasUnit) if quantity else ""
    return Observation(
        iri=str(node),
        label=index.label(node, local_name(node)),
        kind=kind,
        synonyms=index.synonyms(node),
        how=index.text(node, KO.measureBy),
        reach=_REACHES.get(index.iri(node, KO.reach), Reach.OFF_THE_CAR),
        answers=tuple(sorted(str(o) for o in index.objects(node, KO.mayRead))),
        unit=local_name(unit) if unit else "",
        grace=index.decimal(node, KO.readTo),
        role=index.iri(node, KO.withRole),
        quantity=local_name(quantity) if quantity else "",
        worked_out=_WAYS.get(index.iri(node, KO.workedOut)),
        pin=index.decimal(node, KO.pinDiameter),
        prefix=index.text(node, KO.numberPrefix),
        only_on=frozenset(index.iris(node, KO.onlyOn)),
    )


def _allowed(index: FactIndex, node: Node) -> tuple[Allowed, ...]:
    found: list[Allowed] = []
    for low, high in ((KO.fromNumber, KO.toNumber), (KO.least, KO.most)):
        span = Span(index.decimal(node, low), index.decimal(node, high))
        if span != Span():
            found.append(span)
    first, last = index.text(node, KO.fromDate), index.text(node, KO.toDate)
    if first or last:
        found.append(Span(months(first) if first else None, months(last) if last else None))
    found.extend(_read(o) for o in index.objects(node, KO.reads) if isinstance(o, Literal))
    return tuple(found)


def _read(literal: Literal) -> Allowed:
    value = scalar(literal)
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return Span(Decimal(value), Decimal(value))
    return str(literal)
