"""Make stations, joints and cars from closed facts.

A car keeps the fits of the car it is based on except where it states its own, which OWL cannot
say because it never takes anything back.
"""

from __future__ import annotations

from rdflib import URIRef

from .catalogue import Car, Fit, Joint, Member, Station
from .index import FactIndex
from .terms import KO, local_name

_HAS, _LEAVES_EMPTY = str(KO.has), str(KO.leavesEmpty)
_AT_STATION, _PART = str(KO.atStation), str(KO.part)


def stations_of(index: FactIndex) -> dict[str, Station]:
    """Every station by its IRI."""
    return {str(node): _station(index, node) for node in index.instances(KO.Station)}


def joints_of(index: FactIndex) -> dict[str, Joint]:
    """Every joint by its IRI, its members in their order."""
    return {str(node): _joint(index, node) for node in index.instances(KO.Joint)}


def _station(index: FactIndex, node: URIRef) -> Station:
    return Station(
        iri=str(node),
        label=index.label(node, local_name(node)),
        synonyms=index.synonyms(node),
        quantity=index.whole(node, KO.quantity) or 1,
        area=index.text(node, KO.inArea),
        may_stand_empty=index.true(node, KO.mayStandEmpty),
        fixed=index.true(node, KO.fixed),
    )


def _joint(index: FactIndex, node: URIRef) -> Joint:
    members = sorted(index.objects(node, KO.member), key=lambda m: index.whole(m, KO.place) or 0)
    return Joint(
        iri=str(node),
        label=index.label(node, local_name(node)),
        kind=local_name(index.iri(node, KO.kind)),
        members=tuple(
            Member(
                station=index.iri(m, KO.atStation),
                role=index.iri(m, KO.withRole),
                sign=index.whole(m, KO["sign"]) or 1,
                alone=local_name(index.iri(m, KO.alone)) or "MustMeet",
            )
            for m in members
        ),
        via=index.iri(node, KO.via),
        via_roles=(index.iri(node, KO.viaFirstRole), index.iri(node, KO.viaSecondRole)),
        only_on=frozenset(index.iris(node, KO.onlyOn)),
    )


def cars_of(index: FactIndex) -> dict[str, Car]:
    """Every car by its IRI."""
    making = CarsIn(index)
    return {str(node): making.car(node) for node in index.instances(KO.Car)}


class CarsIn:
    """The cars in one index, made one by one as they are asked for."""

    def __init__(self, index: FactIndex) -> None:
        self._index = index
        self._cars = index.things_of(KO.Car)

    def car(self, node: URIRef) -> Car:
        """One car, with a fit for each station that it or its base states."""
        index, iri = self._index, str(node)
        body = self._inherited(node, KO.body)
        generation = self._inherited(node, KO.ofGeneration)
        return Car(
            iri=iri,
            label=index.label(node, local_name(iri)),
            synonyms=index.synonyms(node),
            line=index.iri(URIRef(generation), KO.ofLine),
            generation=generation,
            body=index.label(URIRef(body), local_name(body)) if body else "",
            fits=self._fits(node),
            years=(index.whole(node, KO.fromYear), index.whole(node, KO.toYear)),
            serials=(index.whole(node, KO.fromSerial), index.whole(node, KO.toSerial)),
            market=index.text(node, KO.market),
        )

    def _base(self, node: URIRef) -> URIRef | None:
        base = URIRef(self._index.iri(node, KO.basedOn))
        return base if base in self._cars else None

    def _fits(self, node: URIRef) -> dict[str, Fit]:
        index, base = self._index, self._base(node)
        own: dict[str, Fit] = {} if base is None else dict(self._fits(base))
        stated: dict[tuple[str, str], set[str]] = {}
        for empty, by in index.said(node, _LEAVES_EMPTY):
            own[str(empty)] = Fit(None, by)
        for fit, by in index.said(node, _HAS):
            station, part = index.iri(fit, _AT_STATION), index.iri(fit, _PART)
            stated.setdefault((station, part), set()).update(by)
        for (station, part), sources in stated.items():
            own[station] = Fit(part, tuple(sorted(sources)))
        return dict(sorted(own.items()))

    def _inherited(self, node: URIRef, prop: URIRef) -> str:
        value, base = self._index.iri(node, prop), self._base(node)
        return value or ("" if base is None else self._inherited(base, prop))
