"""Tables that follow from a catalogue and are asked on the path of a question.

Each is made from the whole catalogue when first asked for, or read from what was compiled with it.
A catalogue that was changed has its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final, TypeAlias

if TYPE_CHECKING:
    from .catalogue import Catalogue
    from .places import Place
    from .station_rules import StationRules

Works: TypeAlias = Mapping[tuple[str, tuple[tuple[str, ...], ...]], tuple[str, ...]]
Names: TypeAlias = Mapping[str, tuple[str, ...]]


class Lookups:
    """What can be looked up in one catalogue. Every list is in the catalogue's order."""

    __slots__ = ("_catalogue", "_kept", "_made")

    def __init__(
        self, catalogue: Catalogue, kept: Mapping[str, Mapping[Any, Any]] | None = None
    ) -> None:
        self._catalogue = catalogue
        self._kept: Mapping[str, Mapping[Any, Any]] = kept or {}
        self._made: dict[str, Mapping[Any, Any]] = {}

    @property
    def works(self) -> Works:
        """Which ends left the works together, by joint (and ends by member): who says so."""
        found: Works = self.table("works")
        return found

    @property
    def places(self) -> Mapping[str, Place | tuple[str, ...]]:
        """What can come to each place: see `places.Places`."""
        found: Mapping[str, Place | tuple[str, ...]] = self.table("places")
        return found

    @property
    def rules(self) -> Mapping[str, StationRules]:
        """What the parts of each station say about others."""
        found: Mapping[str, StationRules] = self.table("rules")
        return found

    @property
    def cars_of(self) -> Names:
        """The cars of each generation and of each line."""
        found: Names = self.table("cars_of")
        return found

    @property
    def cars_with(self) -> Names:
        """The cars that left the works with each part."""
        found: Names = self.table("cars_with")
        return found

    @property
    def parts_with(self) -> Names:
        """The parts that have each end."""
        found: Names = self.table("parts_with")
        return found

    @property
    def numbered(self) -> Mapping[str, str]:
        """The part of each number, its letters folded; the last of several."""
        found: Mapping[str, str] = self.table("numbered")
        return found

    @property
    def listed(self) -> Mapping[str, bool]:
        """The quantities that some end states as a list of records and not as one value."""
        found: Mapping[str, bool] = self.table("listed")
        return found

    def table(self, name: str) -> Any:
        """One of these by its name."""
        found = self._kept.get(name)
        if found is None:
            found = self._made.get(name)
        if found is None:
            # Two threads may both make it; they make the same.
            found = self._made[name] = LOOKUPS[name](self._catalogue)
        return found

    def __getstate__(self) -> tuple[Catalogue, Mapping[str, Mapping[Any, Any]]]:
        """Without what was made here: it is quicker made again than sent."""
        return self._catalogue, self._kept

    def __setstate__(self, state: tuple[Catalogue, Mapping[str, Mapping[Any, Any]]]) -> None:
        self._catalogue, self._kept = state
        self._made = {}


def kept_with(catalogue: Catalogue, tables: Mapping[str, Mapping[Any, Any]]) -> Catalogue:
    """The same catalogue, that finds its lookups in `tables`; to be called by who just made it."""
    object.__setattr__(catalogue, "lookups", Lookups(catalogue, tables))
    return catalogue


def _works(catalogue: Catalogue) -> Works:
    # Ends are told by `places`, which knows the catalogue, which knows this.
    from .works_met import met_on

    found: dict[tuple[str, tuple[tuple[str, ...], ...]], set[str]] = {}
    for car in catalogue.cars.values():
        for key, by in met_on(catalogue, car, catalogue.joints.values()):
            found.setdefault(key, set()).update(by)
    return {key: tuple(sorted(by)) for key, by in found.items()}


def _places(catalogue: Catalogue) -> Mapping[str, Place | tuple[str, ...]]:
    from .places import rows_of

    return dict(rows_of(catalogue))


def _rules(catalogue: Catalogue) -> Mapping[str, StationRules]:
    from .station_rules import all_rules

    return dict(all_rules(catalogue))


def _cars_of(catalogue: Catalogue) -> Names:
    found: dict[str, list[str]] = {}
    for iri, car in catalogue.cars.items():
        for of in dict.fromkeys((car.generation, car.line)):
            if of:
                found.setdefault(of, []).append(iri)
    return _sorted(found)


def _cars_with(catalogue: Catalogue) -> Names:
    found: dict[str, list[str]] = {}
    for iri, car in catalogue.cars.items():
        for part in {fit.part for fit in car.fits.values() if fit.part}:
            found.setdefault(part, []).append(iri)
    return _sorted(found)


def _parts_with(catalogue: Catalogue) -> Names:
    found: dict[str, list[str]] = {}
    for iri, part in catalogue.parts.items():
        for end in {end for ends in part.ends.values() for end in ends}:
            found.setdefault(end, []).append(iri)
    return _sorted(found)


def _numbered(catalogue: Catalogue) -> Mapping[str, str]:
    found = {part.number.casefold(): iri for iri, part in catalogue.parts.items()}
    return dict(sorted(found.items()))


def _listed(catalogue: Catalogue) -> Mapping[str, bool]:
    found = {
        quantity
        for end in catalogue.ends.values()
        for quantity, claims in end.claims.items()
        if any(isinstance(claim.value, tuple) for claim in claims)
    }
    return dict.fromkeys(sorted(found), True)


def _sorted(found: Mapping[str, list[str]]) -> Names:
    return {name: tuple(found[name]) for name in sorted(found)}


LOOKUPS: Final[Mapping[str, Callable[[Catalogue], Mapping[Any, Any]]]] = {
    "works": _works,
    "places": _places,
    "rules": _rules,
    "cars_of": _cars_of,
    "cars_with": _cars_with,
    "parts_with": _parts_with,
    "numbered": _numbered,
    "listed": _listed,
}
"""How each table is made of a whole catalogue."""
