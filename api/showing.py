"""From the catalogue's values to what lists and details show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache, cached_property
from typing import Any
from urllib.parse import quote

from pyoxigraph import NamedNode, RdfFormat, parse
from rapidfuzz.fuzz import ratio
from rapidfuzz.process import extract

from ..query.answer import Citation, Number, PartRef, Shown, Thing
from ..query.compose import Composer, number, shown
from ..query.words import unit_word
from ..reasoner.catalogue import Car, Catalogue, Claim, End, Family, Part, Source, Station
from ..reasoner.interfaces.registry import kinds
from ..reasoner.load import ontology_folder
from ..reasoner.places import Places
from . import things as t

_QUANTITY_OF = NamedNode("https://knockon.example/ns#quantityOf")


class Showing:
    """Shows the things of one catalogue. `names` are the names that things have in addresses."""

    def __init__(self, catalogue: Catalogue, composer: Composer, places: Places) -> None:
        self.catalogue, self._composer, self._places = catalogue, composer, places

    @cached_property
    def _names(self) -> Mapping[str, Mapping[str, str]]:
        """What things of each collection are called in addresses: name → IRI."""
        tables: dict[str, Iterable[str]] = {
            "cars": self.catalogue.cars,
            "families": self.catalogue.families,
            "parts": self.catalogue.parts,
            "sources": self.catalogue.sources,
            "stations": self.catalogue.stations,
        }
        return {collection: _names_of(iris) for collection, iris in tables.items()}

    @cached_property
    def _short(self) -> Mapping[str, str]:
        return {iri: name for names in self._names.values() for name, iri in names.items()}

    def found(self, collection: str, key: str) -> str | None:
        """The IRI that a name in an address means: its last piece, or all of it."""
        names = self._names[collection]
        return names.get(key) or (key if names.get(self._short.get(key, "")) == key else None)

    def nearest(self, collection: str, key: str) -> tuple[str, ...]:
        """Names of a collection most like one that is not there."""
        names = list(self._names[collection])
        return tuple(n for n, *_ in extract(key, names, scorer=ratio, limit=3, score_cutoff=60))

    def linked(self, collection: str, iri: str) -> dict[str, str]:
        """The name of a thing in addresses, and its address."""
        name = self._short[iri]
        return {"id": name, "href": f"/v1/{collection}/{quote(name, safe='')}"}

    def things(self, iris: Iterable[str]) -> tuple[Thing, ...]:
        """Things by their labels."""
        return tuple(map(self._composer.thing, iris))

    def part_refs(self, iris: Iterable[str]) -> tuple[PartRef, ...]:
        """Parts by number, maker and price."""
        return tuple(map(self._composer.part, iris))

    def cited(self, sources: Iterable[str]) -> tuple[Citation, ...]:
        """Who says so."""
        return tuple(map(self._composer.citation, sources))

    def _maybe(self, iri: str) -> Thing | None:
        return self._composer.thing(iri) if iri else None

    # ------------------------------------------------------------------ stations and cars

    def station(self, station: Station) -> t.StationItem:
        """A station as lists show it."""
        return t.StationItem(
            iri=station.iri,
            label=station.label,
            **self.linked("stations", station.iri),
            area=self.catalogue.name(station.area) if station.area else "",
            quantity=station.quantity,
            may_stand_empty=station.may_stand_empty,
        )

    def station_detail(self, station: Station) -> t.StationDetail:
        """A station in full."""
        joints = [j for j in self.catalogue.joints.values() if station.iri in j.stations]
        return t.StationDetail(
            **dict(self.station(station)),
            synonyms=station.synonyms,
            joints=tuple(
                t.JointNote(
                    iri=joint.iri,
                    label=joint.label,
                    kind=joint.kind,
                    with_stations=self.things(
                        dict.fromkeys(s for s in joint.stations if s != station.iri)
                    ),
                )
                for joint in joints
            ),
            parts=len(self._places.sitting(station.iri)),
            parts_href=f"/v1/parts?station={quote(self._short[station.iri], safe='')}",
        )

    def car(self, car: Car) -> t.CarItem:
        """A car as lists show it."""
        return t.CarItem(
            iri=car.iri,
            label=car.label,
            **self.linked("cars", car.iri),
            generation=self._maybe(car.generation),
            line=self._maybe(car.line),
            body=car.body,
            market=car.market,
            first_year=car.years[0],
            last_year=car.years[1],
            first_serial=car.serials[0],
            last_serial=car.serials[1],
        )

    def car_detail(self, car: Car) -> t.CarDetail:
        """A car in full."""
        fits = tuple(
            t.FitNote(
                station=self._composer.thing(station),
                quantity=self.catalogue.stations[station].quantity,
                part=self._composer.part(fit.part),
                cited=self.cited(fit.sources),
            )
            for station, fit in car.fits.items()
        )
        return t.CarDetail(**dict(self.car(car)), synonyms=car.synonyms, fits=fits)

    # ------------------------------------------------------------------ parts and families

    def part(self, part: Part) -> t.PartItem:
        """A part as lists show it."""
        known: dict[str, Any] = {
            **dict(self._composer.part(part.iri)),
            **self.linked("parts", part.iri),
        }
        return t.PartItem(
            **known,
            family=self._maybe(part.family),
            stations=self.things(part.stations),
        )

    def part_detail(self, part: Part) -> t.PartDetail:
        """A part in full."""
        return t.PartDetail(
            **dict(self.part(part)),
            synonyms=part.synonyms,
            weight_kg=number(part.weight),
            one_use=part.one_use,
            ends=tuple(
                self._end(self.catalogue.ends[end], part.via.get(role, ""))
                for role, ends in part.ends.items()
                for end in ends
            ),
            requires=self.things(part.requires),
            excludes=self.things(part.excludes),
            sets=self.things(part.sets),
            superseded_by=self.part_refs(part.superseded_by),
            interchanges_with=self.part_refs(part.interchanges),
            rework_of=self._composer.part(part.rework_of) if part.rework_of else None,
            rework_act=part.rework_act,
            cannot_be_undone=part.irreversible,
            cited=self.cited(part.sources),
        )

    def _end(self, end: End, via: str) -> t.EndNote:
        return t.EndNote(
            label=end.label,
            role=self._composer.thing(end.role),
            kind=end.kind,
            side=end.side,
            stated_by=self._maybe(via),
            values=tuple(
                self._stated(quantity, claim)
                for quantity, claims in end.claims.items()
                for claim in claims
            ),
            made_to_suit=tuple(
                t.OpenNote(
                    quantity=each.quantity,
                    label=self._label(each.quantity),
                    least=number(each.least),
                    most=number(each.most),
                    one_of=tuple(shown(v) for v in each.one_of if not isinstance(v, tuple)),
                )
                for each in end.open
            ),
        )

    def _stated(self, quantity: str, claim: Claim) -> t.StatedValue:
        known = self.catalogue.quantities.get(quantity)
        value: Shown | tuple[dict[str, Shown], ...]
        if isinstance(claim.value, tuple):
            value = tuple({name: shown(v) for name, v in each.items()} for each in claim.value)
        else:
            value = shown(claim.value)
        return t.StatedValue(
            quantity=quantity,
            label=self._label(quantity),
            value=value,
            unit=unit_word(known.unit) if known else "",
            cited=self.cited(claim.sources),
        )

    def _label(self, quantity: str) -> str:
        known = self.catalogue.quantities.get(quantity)
        return known.label if known else quantity

    def family(self, family: Family) -> t.FamilyItem:
        """A family as lists show it."""
        return t.FamilyItem(
            iri=family.iri,
            label=family.label,
            **self.linked("families", family.iri),
            stations=self.things(family.stations),
            parts=len(family.parts),
        )

    def family_detail(self, family: Family) -> t.FamilyDetail:
        """A family in full."""
        return t.FamilyDetail(
            **dict(self.family(family)),
            synonyms=family.synonyms,
            members=self.part_refs(family.parts),
            requires=self.things(family.requires),
        )

    # ------------------------------------------------------------------ interfaces and sources

    def interface(self, name: str) -> t.InterfaceItem:
        """An interface kind as lists show it."""
        known = self.catalogue.kinds.get(name)
        return t.InterfaceItem(
            id=name,
            label=known.label if known else name,
            href=f"/v1/interfaces/{quote(name, safe='')}",
            rule=known.rule if known else "",
        )

    def interface_detail(self, name: str) -> t.InterfaceDetail:
        """An interface kind in full."""
        tolerances: dict[str, Number] = {}
        for tolerance, amount in self.catalogue.tolerances.get(name, {}).items():
            told = number(amount)
            assert told is not None
            tolerances[tolerance] = told
        stated = self._figures[1].get(name, set())
        rule = kinds().get(name)
        return t.InterfaceDetail(
            **dict(self.interface(name)),
            quantities=tuple(
                t.QuantityNote(
                    name=quantity,
                    label=self._label(quantity),
                    unit=unit_word(known.unit) if known else "",
                    measure_by=known.measure_by if known else "",
                    tolerance=tolerances.get(quantity),
                )
                for quantity in sorted(stated | declared_quantities().get(name, set()))
                for known in (self.catalogue.quantities.get(quantity),)
            ),
            tolerances=tolerances,
            remedies=rule.remedies if rule else (),
        )

    def source(self, source: Source) -> t.SourceItem:
        """A source as lists show it."""
        return t.SourceItem(
            iri=source.iri,
            label=source.label,
            **self.linked("sources", source.iri),
            standing=source.standing.word,
            by=source.by,
            date=source.date,
        )

    def source_detail(self, source: Source) -> t.SourceDetail:
        """A source with how much rests on it."""
        counted = self._figures[0][source.iri]
        return t.SourceDetail(
            **dict(self.source(source)),
            parts=counted["parts"],
            values=counted["values"],
            sole_values=counted["sole values"],
            fits=counted["fits"],
        )

    @cached_property
    def _figures(self) -> tuple[Mapping[str, dict[str, int]], Mapping[str, set[str]]]:
        """How much rests on each source, and the quantities stated of each kind: found at once.

        It goes through the whole catalogue, when somebody first asks.
        """
        counted = {
            iri: dict.fromkeys(("parts", "values", "sole values", "fits"), 0)
            for iri in self.catalogue.sources
        }
        stated: dict[str, set[str]] = {}

        def count(sources: Iterable[str], what: str) -> None:
            for source in dict.fromkeys(sources):
                if source in counted:
                    counted[source][what] += 1

        for end in self.catalogue.ends.values():
            stated.setdefault(end.kind, set()).update(end.claims)
            for claims in end.claims.values():
                for claim in claims:
                    count(claim.sources, "values")
                    if len(claim.sources) == 1:
                        count(claim.sources, "sole values")
        for part in self.catalogue.parts.values():
            count(part.sources, "parts")
        for car in self.catalogue.cars.values():
            for fit in car.fits.values():
                count(fit.sources, "fits")
        return counted, stated


def local(iri: str) -> str:
    """The last piece of an IRI.

    >>> local("https://knockon.example/part/OW-42310")
    'OW-42310'
    """
    return iri.rstrip("/#").rpartition("#")[2].rpartition("/")[2]


def _names_of(iris: Iterable[str]) -> dict[str, str]:
    """The last piece of each IRI, or all of it where two would be called the same."""
    found: dict[str, list[str]] = {}
    for iri in iris:
        found.setdefault(local(iri), []).append(iri)
    return {
        name if len(same) == 1 and name else iri: iri
        for name, same in found.items()
        for iri in same
    }


@cache
def declared_quantities() -> dict[str, set[str]]:
    """The quantities that the vocabulary declares for each interface kind."""
    found: dict[str, set[str]] = {}
    for path in sorted((ontology_folder() / "interfaces").glob("*.ttl")):
        for quad in parse(path=path, format=RdfFormat.TURTLE):
            kind, quantity = quad.object, quad.subject
            if quad.predicate != _QUANTITY_OF:
                continue
            if isinstance(kind, NamedNode) and isinstance(quantity, NamedNode):
                found.setdefault(local(kind.value), set()).add(local(quantity.value))
    return found
