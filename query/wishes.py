"""What a sentence wishes, in terms of the catalogue: build, fits, keeps, refusals and limits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial

from ..reasoner.build import Build, modified, stock_build
from ..reasoner.catalogue import Catalogue, Part, Standing
from ..reasoner.mating import PROVEN
from ..reasoner.problem import Ban, Wishes
from ..reasoner.supply import OriginKind, StockItem, Supply
from .errors import AmbiguousName, Candidate, NotOnCar, Problem
from .lexicon import about_car
from .names import CarScope, Entry, NameIndex, resolve, resolve_one
from .phrases import CarName, Name, PartName
from .refusals import Refused, comes_from, is_or_is_of, needs, wheel_above
from .syntax import Change, Fitting, Sentence, Terms


@dataclass(frozen=True, slots=True)
class Resolver:
    """Finds what the names of one sentence mean. `builds` are saved builds by their name's key."""

    catalogue: Catalogue
    index: NameIndex
    builds: Mapping[str, Build]
    stock: tuple[StockItem, ...] = ()

    def sound(self, sentence: Sentence) -> None:
        """Whether the names of a question about a change mean something, before it is answered.

        Raises:
            QueryError: one of them does not.
        """
        change = getattr(sentence, "change", None)
        if isinstance(change, Change):
            build = self.build(change.car)
            self.wishes(self.fittings(change.fits, build), change.terms, build)

    # ------------------------------------------------------------------ cars

    def build(self, name: CarName) -> Build:
        """The saved build or the stock build of a car; a generation of one car is that car.

        Raises:
            UnknownName, AmbiguousName: with the nearest names, or the cars of the generation.
        """
        saved = self.builds.get(name.text.casefold())
        if saved is not None:
            return saved
        entry = resolve_one(name, self.index)
        if entry.what == "generation":
            known = self.catalogue.cars
            of = (known[car] for car in self.catalogue.lookups.cars_of.get(entry.iri, ()))
            cars = [car for car in of if car.generation == entry.iri]
            if len(cars) != 1:
                raise AmbiguousName(
                    Problem(
                        f"{entry.label} was built in {len(cars)} versions; say which",
                        name.span,
                        candidates=tuple(
                            Candidate(c.iri, "car", c.label, detail=about_car(c)) for c in cars
                        ),
                    )
                )
            return stock_build(self.catalogue, cars[0])
        return stock_build(self.catalogue, self.catalogue.cars[entry.iri])

    # ------------------------------------------------------------------ parts

    def part(self, name: PartName) -> Part:
        """One part; a family stands for its only current part.

        Raises:
            UnknownName, AmbiguousName: with the nearest names, or the parts of the family.
        """
        entry = resolve_one(name, self.index)
        if entry.what == "part":
            return self.catalogue.parts[entry.iri]
        members = [self.catalogue.parts[p] for p in self.catalogue.families[entry.iri].parts]
        current = [p for p in members if not p.superseded_by and not p.rework_of] or members
        if len(current) == 1:
            return current[0]
        raise AmbiguousName(
            Problem(
                f"{entry.label} is a family of {len(current)} parts; say which",
                name.span,
                candidates=tuple(self._candidate(p) for p in current),
            )
        )

    def _candidate(self, part: Part) -> Candidate:
        entry = self.index.entry(part.iri)
        detail = entry.detail if entry else ""
        return Candidate(part.iri, "part", part.label, part.number, detail)

    def fittings(self, fits: Iterable[Fitting], build: Build) -> dict[str, str]:
        """Which part goes to which station.

        Raises:
            NotOnCar: the car has no station for the part. AmbiguousName: it has several.
        """
        found: dict[str, str] = {}
        for fitting in fits:
            part = self.part(fitting.part)
            found[self._station(fitting, part, build)] = part.iri
        return dict(sorted(found.items()))

    def _station(self, fitting: Fitting, part: Part, build: Build) -> str:
        possible = [s for s in part.stations if s in build.fits]
        if fitting.at is not None:
            named = self.stations(fitting.at, build)
            both = [s for s in possible if s in named]
            if len(both) == 1:
                return both[0]
            places = " or ".join(self.catalogue.name(s) for s in part.stations)
            raise NotOnCar(
                Problem(
                    f"{part.label} does not sit at the {fitting.at}; it sits at {places}",
                    fitting.at.span,
                    expected=tuple(self.catalogue.name(s) for s in possible),
                )
            )
        if not possible:
            places = " or ".join(self.catalogue.name(s) for s in part.stations)
            raise NotOnCar(
                Problem(f"{build.name} has no {places} for {part.label}", fitting.part.span)
            )
        if len(possible) > 1:
            raise AmbiguousName(
                Problem(
                    f"{part.label} can sit at several stations; say which with “at”",
                    fitting.part.span,
                    candidates=tuple(
                        Candidate(s, "station", self.catalogue.name(s)) for s in possible
                    ),
                )
            )
        return possible[0]

    # ------------------------------------------------------------------ stations

    def stations(self, name: Name, build: Build) -> tuple[str, ...]:
        """The stations of the car that a name means: a station, a pair of them, or a part's."""
        scope = CarScope(build.name, build.fits)
        found: dict[str, None] = {}
        for entry in resolve(name, self.index, scope):
            for station in self._stations_of(entry, build):
                found[station] = None
        if not found:
            raise NotOnCar(Problem(f"{build.name} has no {name}", name.span))
        return tuple(found)

    def _stations_of(self, entry: Entry, build: Build) -> Iterable[str]:
        if entry.what == "station":
            if entry.iri in build.fits:
                yield entry.iri
            return
        for station, sitting in build.fits.items():
            if sitting is None:
                continue
            part = self.catalogue.parts[sitting]
            if entry.iri == sitting or entry.iri in part.families:
                yield station

    # ------------------------------------------------------------------ terms

    def wishes(self, fits: Mapping[str, str], terms: Terms, build: Build) -> Wishes:
        """Everything the customer insists on."""
        keeps = {s for name in terms.keeping for s in self.stations(name, build)}
        return Wishes(
            fits=fits,
            keeps=tuple(sorted(keeps - set(fits))),
            bans=tuple(self._bans(terms)),
            budget=None if terms.cost is None else terms.cost.base,
            hours=None if terms.labour is None else terms.labour.base,
            floor=PROVEN if terms.floor is None else _standing(terms.floor),
            only_proven=terms.floor is not None,
        )

    def supply(self, terms: Terms) -> Supply:
        """Where parts may come from; anywhere unless the sentence says otherwise."""
        said = terms.stock or terms.donors or terms.new_parts
        kinds = {OriginKind.REWORK}
        if terms.stock or not said:
            kinds.add(OriginKind.STOCK)
        if terms.new_parts or not said:
            kinds.add(OriginKind.NEW)
        if terms.donors:
            kinds.add(OriginKind.DONOR)
        donors = tuple(self.build(name) for name in terms.donors)
        return Supply(self.stock, donors, frozenset(kinds))

    def _bans(self, terms: Terms) -> Iterable[Ban]:
        if terms.wheel is not None:
            words = f"wheels of at most {terms.wheel}"
            yield self._ban(words, partial(wheel_above, most=terms.wheel.in_unit("in")))
        for work in terms.refused:
            yield self._ban(f"no {work}", partial(needs, work=work))
        for name in terms.without:
            refused = resolve_one(name, self.index).iri
            yield self._ban(f"without {name}", partial(is_or_is_of, iri=refused))
        for source in terms.without_from:
            refused = resolve_one(source, self.index).iri
            yield self._ban(f"no parts from {source}", partial(comes_from, iri=refused))

    def _ban(self, words: str, refuses: Callable[[Part], bool]) -> Ban:
        # A set in all that is asked of a ban, and made only as far as it is asked.
        return Ban(words, Refused(self.catalogue.parts, refuses))


def _standing(word: str) -> Standing:
    return next(standing for standing in Standing if standing.word == word)


def with_fits(build: Build, fits: Mapping[str, str], name: str = "") -> Build:
    """The build with parts already fitted, for `let` and for calculations."""
    return modified(build, dict(fits), name)
