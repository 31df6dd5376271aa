"""The names of a catalogue, with what tells lookalikes apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..reasoner.catalogue import Car, Catalogue, Part
from .names import Entry, Label


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
                _labels(part.label, part.synonyms),
                part.number,
                self._about_part(part),
            )
        for family in known.families.values():
            at = ", ".join(known.name(s) for s in family.stations)
            detail = f"family of {len(family.parts)} parts{' for the ' + at if at else ''}"
            yield Entry(family.iri, "family", _labels(family.label, family.synonyms), "", detail)
        for station in known.stations.values():
            yield Entry(
                station.iri, "station", _labels(station.label, station.synonyms), "", station.area
            )
        for car in known.cars.values():
            yield Entry(car.iri, "car", _labels(car.label, car.synonyms), "", about_car(car))
        for generation in known.generations.values():
            yield Entry(
                generation.iri, "generation", _labels(generation.label, generation.synonyms)
            )
        for source in known.sources.values():
            yield Entry(source.iri, "source", (Label(source.label),), "", source.standing.word)
        for maker in known.makers.values():
            yield Entry(maker.iri, "maker", _labels(maker.label, maker.synonyms))

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


def _labels(preferred: str, synonyms: Sequence[str]) -> tuple[Label, ...]:
    return tuple(Label(text) for text in (preferred, *synonyms))
