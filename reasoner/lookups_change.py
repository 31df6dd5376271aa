"""Carry what is looked up in a catalogue over to the catalogue after a change.

Each table is what `lookups.LOOKUPS` would make of the whole; a test holds the two against each
other. A table that nothing here carries over is made of the whole when it is asked for.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from .assemble_change import CatalogueChange, overlaid
from .backward import Backward
from .catalogue import Car, Catalogue, End, Part
from .place_rows import PlaceRows
from .places import EndKey, Place, end_key, kinds_of_places
from .rules_change import rules_after
from .works_met import WorksKey, met_on

_EVERYWHERE: Final = ("joints", "tolerances", "stations")
"""Where one of these differs, what comes to places and what left the works is made of the whole."""


class LookupsChange:
    """The tables for lookups in `after`, from those of `before`; `change` leads there."""

    def __init__(
        self,
        before: Catalogue,
        after: Catalogue,
        change: CatalogueChange,
        backward: Backward,
        rows: PlaceRows,
    ) -> None:
        self._before, self._after, self._change = before, after, change
        self._backward, self._rows = backward, rows
        look = before.lookups.table
        self.tables: dict[str, Mapping[Any, Any]] = {
            "cars_of": _moved(look("cars_of"), self._of_cars(_groups)),
            "cars_with": _moved(look("cars_with"), self._of_cars(_parts)),
            "parts_with": _moved(look("parts_with"), self._of_parts(_ends)),
            "numbered": overlaid(look("numbered"), self._numbered()),
            "listed": overlaid(look("listed"), self._listed()),
        }
        if all(getattr(before, name) == getattr(after, name) for name in _EVERYWHERE):
            self.tables["works"] = overlaid(look("works"), self._works())
            self.tables["places"] = overlaid(look("places"), self._places())
            parts = {i: (before.parts.get(i), now) for i, now in change.parts.items()}
            places = look("places"), self.tables["places"]
            rules = rules_after(look("rules"), after, places, parts)
            self.tables["rules"] = overlaid(look("rules"), rules)

    # ------------------------------------------------------------ who has what

    def _of_cars(self, names: Any) -> Iterator[tuple[str, set[str], set[str]]]:
        for iri, now in self._change.cars.items():
            yield iri, names(self._before.cars.get(iri)), names(now)

    def _of_parts(self, names: Any) -> Iterator[tuple[str, set[str], set[str]]]:
        for iri, now in self._change.parts.items():
            yield iri, names(self._before.parts.get(iri)), names(now)

    def _numbered(self) -> dict[str, str | None]:
        numbers: set[str] = set()
        for iri, now in self._change.parts.items():
            for part in (self._before.parts.get(iri), now):
                if part is not None:
                    numbers.add(part.number.casefold())
        parts = self._after.parts
        found: dict[str, str | None] = {}
        for number in numbers:
            having = [str(s) for s in self._backward.numbered(number) if str(s) in parts]
            found[number] = max(having, default=None)
        return found

    def _listed(self) -> dict[str, bool | None]:
        found: dict[str, bool | None] = {}
        for iri, now in self._change.ends.items():
            found |= dict.fromkeys(_lists(now), True)
            for quantity in _lists(self._before.ends.get(iri)) - _lists(now):
                found.setdefault(quantity, None)
        for quantity in [q for q, held in found.items() if held is None]:
            if any(quantity in _lists(end) for end in self._after.ends.values()):
                found[quantity] = True
        return found

    # ------------------------------------------------------------ what left the works together

    def _works(self) -> dict[WorksKey, tuple[str, ...] | None]:
        then, now = self._met(self._before), self._met(self._after)
        old = self._before.lookups.works
        found: dict[WorksKey, tuple[str, ...] | None] = {}
        for key in then.keys() | now.keys():
            by = {s for said in now.get(key, {}).values() for s in said}
            lost = any(said != now.get(key, {}).get(car) for car, said in then.get(key, {}).items())
            if lost:
                by = self._by_others(key, by, set(old.get(key, ())))
            else:
                by |= set(old.get(key, ()))
            still = by or key in now or (lost and self._is_met(key))
            found[key] = tuple(sorted(by)) if still else None
        return {key: by for key, by in found.items() if by != old.get(key)}

    def _met(self, catalogue: Catalogue) -> dict[WorksKey, dict[str, set[str]]]:
        """What met, on which of the cars concerned, by whose word."""
        cars, is_after = set(self._change.cars), catalogue is self._after
        having = self.tables["cars_with"] if is_after else catalogue.lookups.cars_with
        for part in self._change.parts:
            cars.update(having.get(part, ()))
        found: dict[WorksKey, dict[str, set[str]]] = {}
        for iri in cars:
            car = catalogue.cars.get(iri)
            if car is not None:
                for key, by in met_on(catalogue, car, catalogue.joints.values()):
                    found.setdefault(key, {})[iri] = by
        return found

    def _by_others(self, key: WorksKey, by: set[str], before: set[str]) -> set[str]:
        """Who says now that ends met: looked for until all who said so before are found."""
        for said in self._meetings(key):
            by = by | said
            if by >= before:
                break
        return by

    def _is_met(self, key: WorksKey) -> bool:
        return any(True for _ in self._meetings(key))

    def _meetings(self, key: WorksKey) -> Iterator[set[str]]:
        """Who says it, car by car that ends met on."""
        joint = self._after.joints[key[0]]
        having, with_part = self.tables["parts_with"], self.tables["cars_with"]
        fewest = min((having.get(ends[0], ()) for ends in key[1] if ends), key=len, default=None)
        cars: Iterable[str] = self._after.cars
        if fewest is not None:
            cars = dict.fromkeys(car for part in fewest for car in with_part.get(part, ()))
        for iri in cars:
            for met, by in met_on(self._after, self._after.cars[iri], (joint,)):
                if met == key:
                    yield by

    # ------------------------------------------------------------ what comes to a place

    def _places(self) -> dict[str, Place | tuple[str, ...] | None]:
        old, after = self._before.lookups.places, self._after
        kind_of = kinds_of_places(after)
        sitting: dict[str, tuple[set[str], set[str]]] = {}
        moves: dict[str, dict[EndKey, set[str]]] = {}

        def group(at: str, key: EndKey) -> set[str]:
            held = moves.setdefault(at, {})
            if key not in held:
                row = old.get(at)
                groups = row.groups if isinstance(row, Place) else ()
                where = bisect_left(groups, (key,))
                is_there = where < len(groups) and groups[where][0] == key
                held[key] = set(groups[where][1]) if is_there else set()
            return held[key]

        for iri, now in self._change.parts.items():
            for came, part in ((0, self._before.parts.get(iri)), (1, now)):
                if part is None:
                    continue
                for at in (*part.stations, *(f"set {matched}" for matched in part.sets)):
                    sitting.setdefault(at, (set(), set()))[came].add(iri)
                for at, key in seats_of(part, kind_of):
                    (group(at, key).add if came else group(at, key).discard)(iri)
        otherwise = self._change.ends.keys() | {e for pair in self._change.tried for e in pair}
        self._rows.forget(otherwise)
        for iri in otherwise:
            for part_iri in self.tables["parts_with"].get(iri, ()):
                for at, key in seats_of(after.parts[part_iri], kind_of):
                    group(at, key)
        lists = {at: {k: tuple(parts) for k, parts in g.items()} for at, g in moves.items()}
        found: dict[str, Place | tuple[str, ...] | None] = {**self._rows.rows(after, old, lists)}
        for at, (left, came_in) in sitting.items():
            row = old.get(at, ())
            stay = {p for p in row if p not in left} if isinstance(row, tuple) else set()
            found[at] = tuple(sorted(stay | came_in)) or None
        return found


def seats_of(part: Part, kind_of: Mapping[str, str]) -> Iterator[tuple[str, EndKey]]:
    """The places that a part comes to, and what it brings there."""
    for station in part.stations:
        for role in part.ends:
            at = f"{station} {role}"
            if at in kind_of:
                yield at, end_key(part, role)


def _moved(
    table: Mapping[str, tuple[str, ...]], moves: Iterable[tuple[str, set[str], set[str]]]
) -> Mapping[str, tuple[str, ...]]:
    """Names that each thing was under and is under, applied to who is under each name."""
    left: dict[str, set[str]] = {}
    came: dict[str, set[str]] = {}
    for iri, was, now in moves:
        for name in was - now:
            left.setdefault(name, set()).add(iri)
        for name in now - was:
            came.setdefault(name, set()).add(iri)
    rows: dict[str, tuple[str, ...] | None] = {}
    for name in left.keys() | came.keys():
        stay = set(table.get(name, ())) - left.get(name, set())
        rows[name] = tuple(sorted(stay | came.get(name, set()))) or None
    return overlaid(table, rows)


def _groups(car: Car | None) -> set[str]:
    return set() if car is None else {of for of in (car.generation, car.line) if of}


def _parts(car: Car | None) -> set[str]:
    return set() if car is None else {fit.part for fit in car.fits.values() if fit.part}


def _ends(part: Part | None) -> set[str]:
    return set() if part is None else {end for ends in part.ends.values() for end in ends}


def _lists(end: End | None) -> set[str]:
    if end is None:
        return set()
    return {
        q for q, claims in end.claims.items() if any(isinstance(c.value, tuple) for c in claims)
    }
