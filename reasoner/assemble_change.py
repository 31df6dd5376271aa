"""Make the catalogue of facts that have changed from the one before: only what the change touches.

What a thing is made of is stated in the makers (`assemble_parts`, `assemble_ends` …); here stands
who has to be made anew when something else changes. Tests hold the outcome against a catalogue
that was assembled from scratch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from rdflib import URIRef
from rdflib.term import Node

from .assemble import CALLED_BY_NAME, SMALL, makers_of, pairs_tried, tried_by
from .assemble_cars import CarsIn
from .assemble_ends import EndsIn
from .assemble_parts import PartsIn
from .backward import Backward
from .catalogue import Catalogue, Family, Part
from .index import SUBCLASS, TYPE, FactIndex
from .overlay import Overlay
from .reached import reached
from .terms import KO, SCHEMA

V = TypeVar("V")

_MADE_OF: Mapping[Node, tuple[str, ...]] = {
    KO.Part: (),
    KO.Family: (),
    KO.End: (),
    KO.Car: (),
    KO.Generation: ("generations",),
    KO.Line: ("lines",),
    KO.Role: ("roles",),
    KO.MatchedSet: ("sets",),
}
"""The small tables in which things of a kind stand; whatever else changes, all are made anew."""


class Near:
    """Who is made of what some things say, as an index has it.

    `below` are families of families, `ends` those of a form, `cars` those of a body or a
    generation, or based on one; `bearers` are the parts and families with each end.
    """

    def __init__(self, index: FactIndex, backward: Backward, things: Iterable[Node]) -> None:
        things = tuple(things)
        self.kinds = {thing: frozenset(index.objects(thing, TYPE)) for thing in things}
        self.below = {s for t in things for s in index.subjects(SUBCLASS, t)}
        self.ends = {s for t in things for s in backward.who(KO.form, t)}
        told = [*things]
        for predicate in (KO.body, KO.ofGeneration):
            told += [s for t in things for s in backward.who(predicate, t)]
        self.cars = reached(told, lambda car: backward.who(KO.basedOn, car))
        self.bearers = {
            t: frozenset(index.objects(t, KO.endOf)) for t in things if KO.End in self.kinds[t]
        }


class CatalogueChange:
    """The tables of `catalogue` as they are after a change that `index` shows already.

    `parts`, `ends` and `cars` say of everything that came, went or differs what it is now, or None.
    """

    def __init__(
        self, catalogue: Catalogue, index: FactIndex, backward: Backward, before: Near
    ) -> None:
        self._old, self._index, self._backward = catalogue, index, backward
        self._things = before.kinds.keys()
        self._near = before, Near(index, backward, self._things)
        self._kinds = {t: before.kinds[t] | self._near[1].kinds[t] for t in self._things}
        self.small = self._small()
        values = EndsIn(index, self.small.get("sources", catalogue.sources))
        self.ends = _changed(
            catalogue.ends,
            {n: values.end(n) if index.is_a(n, KO.End) else None for n in self._ends()},
        )
        self.tables: dict[str, Mapping[Any, Any]] = {"ends": overlaid(catalogue.ends, self.ends)}
        making = PartsIn(index, self.tables["ends"], values)
        self.parts = _changed(
            catalogue.parts,
            {n: making.part(n) if index.is_a(n, KO.Part) else None for n in self._parts()},
        )
        self.tables["parts"] = overlaid(catalogue.parts, self.parts)
        self.tables["families"] = overlaid(catalogue.families, self._families(making))
        cars = CarsIn(index)
        self.cars = _changed(
            catalogue.cars,
            {n: cars.car(n) if index.is_a(n, KO.Car) else None for n in self._cars()},
        )
        self.tables["cars"] = overlaid(catalogue.cars, self.cars)
        self.tried = self._tried()
        self.tables["tried"] = overlaid(catalogue.tried, self.tried)
        self.tables["regional"] = overlaid(catalogue.regional, self._regional())
        self.small["makers"] = self._makers()

    def catalogue(self, version: str, asserted: int, derived: int) -> Catalogue:
        """The catalogue as it is now."""
        tables: dict[str, Any] = {**self.tables, **self.small}
        return replace(self._old, version=version, asserted=asserted, derived=derived, **tables)

    @property
    def counts_otherwise(self) -> bool:
        """Whether a source counts for more or less, so that anything may differ."""
        now = self.small.get("sources", self._old.sources)
        return any(
            iri not in now or now[iri].standing != was.standing
            for iri, was in self._old.sources.items()
        )

    # ------------------------------------------------------------ what is made anew

    def _of(self, kind: Node) -> set[URIRef]:
        """The changed things that are of a kind or were."""
        return {t for t, kinds in self._kinds.items() if kind in kinds and isinstance(t, URIRef)}

    def _small(self) -> dict[str, Any]:
        """Those of the small tables that something changed may stand in."""
        wanted: set[str] = set()
        for kinds in self._kinds.values():
            known = [_MADE_OF[kind] for kind in kinds if kind in _MADE_OF]
            wanted.update(*known) if known else wanted.update(SMALL)
        return {name: SMALL[name](self._index) for name in sorted(wanted)}

    def _below(self) -> set[URIRef]:
        return _named(s for near in self._near for s in near.below)

    def _ends(self) -> set[URIRef]:
        return self._of(KO.End) | _named(s for near in self._near for s in near.ends)

    def _parts(self) -> set[URIRef]:
        found = self._of(KO.Part)
        families = self._of(KO.Family) | self._below()
        for family in families:
            known = self._old.families.get(str(family))
            if known is not None:
                found.update(map(URIRef, known.parts))
            found |= _named(self._index.things_of(family))
        for iri in self.ends:
            was, now = self._old.ends.get(iri), self.ends[iri]
            if was is None or now is None or was.role != now.role:
                for near in self._near:
                    found |= _named(near.bearers.get(URIRef(iri), ()))
        return found

    def _families(self, making: PartsIn) -> dict[str, Family | None]:
        families = self._of(KO.Family) | self._below()
        members: dict[str, set[str]] = {}
        leavers: dict[str, set[str]] = {}
        for iri, now in self.parts.items():
            was = self._old.parts.get(iri)
            left, joined = _families_of(was), _families_of(now)
            for family in joined - left:
                members.setdefault(family, set()).add(iri)
            for family in left - joined:
                leavers.setdefault(family, set()).add(iri)
        families |= {URIRef(iri) for iri in (*members, *leavers)}
        found: dict[URIRef, Family | None] = {}
        for node in families:
            iri = str(node)
            if not self._index.is_a(node, KO.Family):
                found[node] = None
                continue
            known = self._old.families.get(iri)
            parts = set(known.parts if known else ()) - leavers.get(iri, set())
            found[node] = making.family(node, sorted(parts | members.get(iri, set())))
        return _changed(self._old.families, found)

    def _cars(self) -> set[URIRef]:
        found = self._of(KO.Car) | _named(s for near in self._near for s in near.cars)
        for generation in self._of(KO.Generation):
            found |= {URIRef(c) for c in self._old.lookups.cars_of.get(str(generation), ())}
        return {c for c in found if str(c) in self._old.cars or self._index.is_a(c, KO.Car)}

    def _tried(self) -> dict[tuple[str, str], tuple[str, ...] | None]:
        touched = {str(t) for t in self._things}
        pairs = {pair for pair in self._old.tried if not touched.isdisjoint(pair)}
        for thing in self._things:
            if isinstance(thing, URIRef):
                pairs.update(pairs_tried(self._index, thing))
        found = {pair: tried_by(self._index, pair) for pair in pairs}
        return {p: by for p, by in found.items() if by != self._old.tried.get(p)}

    def _regional(self) -> dict[str, Mapping[str, str] | None]:
        index = self._index
        found: dict[URIRef, Mapping[str, str] | None] = {}
        for cls in CALLED_BY_NAME:
            for node in self._of(cls):
                is_called = any(index.is_a(node, kind) for kind in CALLED_BY_NAME)
                found[node] = (index.regional(node) if is_called else None) or None
        return _changed(self._old.regional, found)

    def _makers(self) -> Any:
        known = self._old.makers
        makers = {str(t) for t in self._things if str(t) in known}
        for iri, now in self.parts.items():
            was = self._old.parts.get(iri)
            makers |= {part.maker for part in (was, now) if part is not None}
        makers.discard("")
        if not makers:
            return known
        parts = self.tables["parts"]
        kept = {
            maker
            for maker in {*known, *makers}
            if maker not in makers
            or any(
                str(s) in parts and parts[str(s)].maker == maker
                for s in self._backward.who(SCHEMA.manufacturer, URIRef(maker))
            )
        }
        renamed = makers_of(self._index, makers & kept)
        return {maker: renamed.get(maker) or known[maker] for maker in sorted(kept)}


def _named(nodes: Iterable[Node]) -> set[URIRef]:
    return {node for node in nodes if isinstance(node, URIRef)}


def _families_of(part: Part | None) -> frozenset[str]:
    return frozenset() if part is None else part.families


def _changed(table: Mapping[str, V], made: Mapping[URIRef, V | None]) -> dict[str, V | None]:
    """Of what was made anew, that which differs; None where it is there no more."""
    found = {str(node): row for node, row in made.items()}
    return {iri: row for iri, row in found.items() if table.get(iri) != row}


def overlaid(table: Mapping[Any, V], rows: Mapping[Any, V | None]) -> Mapping[Any, V]:
    """A table with changed rows; None is a row that goes."""
    if not rows:
        return table
    there = {key: row for key, row in rows.items() if row is not None}
    return Overlay(table, there, [key for key, row in rows.items() if row is None])
