"""The names of a catalogue, with what tells lookalikes apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from ..reasoner.catalogue import Car, Catalogue, Part
from .name_table import Entry, Label


class _Called(Protocol):
    @property
    def iri(self) -> str: ...

    @property
    def label(self) -> str: ...

    @property
    def synonyms(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True)
class CatalogueLexicon:
    """Every part, family, station, car, generation, source and maker that can be named."""

    catalogue: Catalogue

    def entries(self) -> Iterable[Entry]:
        """All of them, in the catalogue's order."""
        known = self.catalogue
        for part in known.parts.values():
            yield Entry(
                part.iri,
                "part",
                self._labels(part),
                part.number,
                self._about_part(part),
            )
        for family in known.families.values():
            at = ", ".join(known.name(s) for s in family.stations)
            detail = f"family of {len(family.parts)} parts{' for the ' + at if at else ''}"
            yield Entry(family.iri, "family", self._labels(family), "", detail)
        for station in known.stations.values():
            yield Entry(station.iri, "station", self._labels(station), "", station.area)
        for car in known.cars.values():
            yield Entry(car.iri, "car", self._labels(car), "", about_car(car))
        for generation in known.generations.values():
            yield Entry(generation.iri, "generation", self._labels(generation))
        for source in known.sources.values():
            yield Entry(source.iri, "source", (Label(source.label),), "", source.standing.word)
        for maker in known.makers.values():
            yield Entry(maker.iri, "maker", self._labels(maker))

    def _labels(self, thing: _Called) -> tuple[Label, ...]:
        regional = self.catalogue.regional.get(thing.iri, {})
        names = (thing.label, *thing.synonyms)
        return tuple(Label(text, regional.get(text, "en")) for text in names)

    def _about_part(self, part: Part) -> str:
        pieces = [self.catalogue.name(s) for s in part.stations[:2]]
        if part.maker:
            pieces.append(f"by {self.catalogue.name(part.maker)}")
        if part.superseded_by:
            pieces.append("superseded")
        return ", ".join(pieces)


def about_car(car: Car) -> str:
    """Body, years and serial range: what tells the cars of a generation apart."""
    pieces = [car.body] if car.body else []
    for word, (first, last) in (("built", car.years), ("serial", car.serials)):
        if first is not None and last is not None:
            pieces.append(f"{word} {first} to {last}")
        elif first is not None:
            pieces.append(f"{word} from {first}")
        elif last is not None:
            pieces.append(f"{word} to {last}")
    return ", ".join(pieces)
