"""What the catalogue says that each part or car shows under an observation, and who says so.

Three kinds of facts testify: identification rules; the values that ends state (a bolt circle gives
a chord, a spline a measure over pins); and the cars themselves, whose serial numbers and years say
which part they left the works with. A part's own rule wins over its family's, a rule over a value
that an end states, both over what cars imply.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product

from .catalogue import Car, Catalogue, Claim, End, Part, Standing
from .interfaces.chords import chord
from .interfaces.involute import SplineSize, between_pins, over_pins
from .interfaces.kind import Value
from .mating import Mating
from .observations import (
    Allowed,
    IdentificationRule,
    Observation,
    ObservationKind,
    Span,
    WorkedOut,
    joined,
    months,
)
from .remembering import remember
from .terms import KO

CHASSIS_NUMBER, MODEL_YEAR = str(KO.chassisNumber), str(KO.modelYear)
BODY, MARKET = str(KO.bodyStyle), str(KO.soldIn)

THERE, NOT_THERE = "there", "not there"
"""What one reads where one lookalike has an end and another has none."""

_PRESENCE = "there"
_NOT_SEEN = ("Capacity",)
"""Kinds of which nothing can be read off a part in the hand."""
_ALWAYS_THERE = ("Length", "Ratio")
"""Kinds that are a property of the whole part: it makes no sense to look whether they are there."""
_MOST_READINGS = 64
_MOST_KNOWN = 20_000


@dataclass(frozen=True, slots=True)
class Statement:
    """Somebody says that the thing shows one of `allowed`. Two statements are a dispute."""

    allowed: tuple[Allowed, ...]
    sources: tuple[str, ...]
    standing: Standing


class Witness:
    """Everything one catalogue says about telling things apart. Subjects are parts or cars."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._rules: dict[tuple[str, str], list[IdentificationRule]] = {}
        for rule in catalogue.identification:
            self._rules.setdefault((rule.subject, rule.observation), []).append(rule)
        self._cars_like: dict[tuple[str, str, str], list[Car]] = {}
        for car in catalogue.cars.values():
            self._cars_like.setdefault(_sort_of(car), []).append(car)
        self._series = {car.iri: self._series_of(car) for car in catalogue.cars.values()}
        self._cars_with: dict[str, list[Car]] = {}
        for car in catalogue.cars.values():
            for fitted in sorted({fit.part for fit in car.fits.values() if fit.part}):
                self._cars_with.setdefault(fitted, []).append(car)
        self._implied = _implied_observations(catalogue)
        self._known: dict[tuple[str, str], tuple[Statement, ...]] = {}

    @classmethod
    def of(cls, mating: Mating) -> Witness:
        """That of one catalogue, kept for the next question."""
        found = mating.partners.get(cls)
        if not isinstance(found, Witness):
            found = mating.partners[cls] = Witness(mating.catalogue)
        return found

    def observation(self, iri: str) -> Observation:
        """One observation, stated or implied by the values of ends.

        Raises:
            KeyError: there is no such observation.
        """
        stated = self.catalogue.observations.get(iri)
        if stated is None:
            return self._implied[iri]
        if stated.grace is None and stated.role and stated.worked_out is None:
            implied = self._implied.get(implied_iri(stated.role, stated.quantity))
            return stated if implied is None else replace(stated, grace=implied.grace)
        return stated

    def observations(self, subjects: Sequence[str]) -> tuple[Observation, ...]:
        """Every observation under which at least one of the subjects is known to show something."""
        stated = self.catalogue.observations.values()
        covered = {implied_iri(o.role, o.quantity) for o in stated if o.role and not o.worked_out}
        roles = {r for s in subjects if (p := self.catalogue.parts.get(s)) for r in p.ends}
        names = [*self.catalogue.observations]
        names += [i for i, o in self._implied.items() if o.role in roles and i not in covered]
        return tuple(
            self.observation(iri) for iri in names if any(self.statements(s, iri) for s in subjects)
        )

    def series(self, car: str) -> str:
        """The observation of the number series in which a car is numbered."""
        return self._series[car]

    def statements(self, subject: str, observation: str) -> tuple[Statement, ...]:
        """What is stated for one subject, strongest first; empty where nobody says anything."""
        at = (subject, observation)
        known = self._known.get(at)
        if known is None:
            found = self._look(subject, self.observation(observation))
            known = tuple(sorted(found, key=lambda s: (s.standing, str(s.allowed))))
            remember(self._known, at, known, _MOST_KNOWN)
        return known

    # ------------------------------------------------------------------ who testifies

    def _look(self, subject: str, observation: Observation) -> Sequence[Statement]:
        part = self.catalogue.parts.get(subject)
        if part is None:
            car = self.catalogue.cars.get(subject)
            ruled = self._ruled([subject], observation.iri)
            return ruled or (() if car is None else self._of_car(car, observation))
        others = sorted(part.families - {part.family})
        for owners in ([subject], [part.family], others):
            ruled = self._ruled(owners, observation.iri)
            if ruled:
                return ruled
        if observation.quantity == _PRESENCE:
            return self._presence(part, observation.role)
        if observation.role:
            return self._of_ends(part, observation)
        return self._of_works(part, observation)

    def _ruled(self, owners: Sequence[str], observation: str) -> list[Statement]:
        """One statement for each source; what one source says twice are alternatives."""
        by_source: dict[str, list[Allowed]] = {}
        for owner in owners:
            for rule in self._rules.get((owner, observation), ()):
                for source in rule.sources:
                    by_source.setdefault(source, []).extend(rule.allowed)
        together: dict[tuple[Allowed, ...], list[str]] = {}
        for source, allowed in by_source.items():
            together.setdefault(tuple(sorted(set(allowed), key=str)), []).append(source)
        return [self._statement(allowed, sources) for allowed, sources in together.items()]

    def _statement(self, allowed: tuple[Allowed, ...], sources: Iterable[str]) -> Statement:
        by = tuple(sorted(set(sources)))
        return Statement(allowed, by, self.catalogue.standing(by))

    def _presence(self, part: Part, role: str) -> list[Statement]:
        return [self._statement((THERE if role in part.ends else NOT_THERE,), part.sources)]

    def _of_ends(self, part: Part, observation: Observation) -> list[Statement]:
        """Alternative ends are alternatives; disputed values are statements of their own."""
        per_end = [
            _shown(self.catalogue.ends[end], observation)
            for end in part.ends.get(observation.role, ())
        ]
        if not per_end or not all(per_end):
            return []
        found: dict[tuple[Allowed, ...], Statement] = {}
        for choice in list(product(*per_end))[:_MOST_READINGS]:
            allowed = tuple(sorted({value for value, _ in choice}, key=str))
            claims = [claim for _, behind in choice for claim in behind]
            by = tuple(sorted({source for claim in claims for source in claim.sources}))
            standing = max(self.catalogue.standing(claim.sources) for claim in claims)
            new = Statement(allowed, by, standing)
            known = found.get(allowed)
            if known is None or new.standing < known.standing:
                found[allowed] = new
        return list(found.values())

    def _of_works(self, part: Part, observation: Observation) -> list[Statement]:
        """Which cars left the works with the part, by their numbers or years."""
        by_year = observation.iri == MODEL_YEAR
        if not by_year and observation.kind is not ObservationKind.CAR_NUMBER:
            return []
        cars = [
            car
            for car in self._cars_with.get(part.iri, ())
            if by_year or self._series[car.iri] == observation.iri
        ]
        spans = [span for car in cars for span in self._car_spans(car, observation)]
        if not spans or Span() in spans:
            return []
        by = {
            source
            for car in cars
            for fit in car.fits.values()
            if fit.part == part.iri
            for source in fit.sources
        }
        return [self._statement(joined(spans), by)]

    def _of_car(self, car: Car, observation: Observation) -> list[Statement]:
        allowed: tuple[Allowed, ...]
        if observation.iri == MODEL_YEAR or observation.iri == self._series[car.iri]:
            allowed = self._car_spans(car, observation)
        elif observation.iri in (BODY, MARKET):
            allowed = (car.body if observation.iri == BODY else car.market,)
        else:
            return []
        by = {source for fit in car.fits.values() for source in fit.sources}
        return [] if {"", Span()} & set(allowed) else [self._statement(allowed, by)]

    def _car_spans(self, car: Car, observation: Observation) -> tuple[Span, ...]:
        """A car's years, or its numbers without those of builds that are exceptions within it."""
        if observation.iri == MODEL_YEAR:
            return (_years(car),)
        spans = [serials(car)]
        for other in self._cars_like[_sort_of(car)]:
            if is_exception(other, car):
                spans = [piece for span in spans for piece in _without(span, serials(other))]
        return tuple(spans)

    def _series_of(self, car: Car) -> str:
        own = [
            o.iri
            for o in self.catalogue.observations.values()
            if o.kind is ObservationKind.CAR_NUMBER and o.only_on & {car.generation, car.line}
        ]
        return min(own, default=CHASSIS_NUMBER)


def implied_iri(role: str, quantity: str) -> str:
    """The name of the observation that looks at one quantity of the ends of one role."""
    return f"{role}#{quantity}"


def serials(car: Car) -> Span:
    """The chassis numbers of a stock build as stated; open where nothing is."""
    least, most = (None if n is None else Decimal(n) for n in car.serials)
    return Span(least, most)


def _sort_of(car: Car) -> tuple[str, str, str]:
    return car.generation, car.body, car.market


def is_exception(one: Car, other: Car) -> bool:
    """Whether numbers of `one` are an exception to those of `other`.

    So it is with a build of the same generation, body and market whose range lies within the
    other's and is not the same: a batch in mid-run that left the works differently.
    """
    inner, outer = serials(one), serials(other)
    if (
        _sort_of(one) != _sort_of(other)
        or inner == outer
        or inner.least is None
        or inner.most is None
    ):
        return False
    starts_inside = outer.least is None or outer.least <= inner.least
    return starts_inside and (outer.most is None or inner.most <= outer.most)


def _without(span: Span, hole: Span) -> list[Span]:
    """What is left of a span of whole numbers when the numbers of `hole` are taken out."""
    if not span.meets(hole) or hole.least is None or hole.most is None:
        return [span]
    left = []
    if span.least is None or span.least < hole.least:
        left.append(Span(span.least, hole.least - 1))
    if span.most is None or span.most > hole.most:
        left.append(Span(hole.most + 1, span.most))
    return left


def _years(car: Car) -> Span:
    first, last = car.years
    return Span(
        None if first is None else months(f"{first:04d}"),
        None if last is None else months(f"{last:04d}", last=True),
    )


def _implied_observations(catalogue: Catalogue) -> dict[str, Observation]:
    """One observation for every single value that ends of a role state, and for being there."""
    found: dict[str, Observation] = {}
    for end in catalogue.ends.values():
        if end.kind in _NOT_SEEN:
            continue
        role = catalogue.name(end.role)
        if end.kind not in _ALWAYS_THERE:
            found[implied_iri(end.role, _PRESENCE)] = Observation(
                implied_iri(end.role, _PRESENCE),
                role,
                ObservationKind.FEATURE,
                answers=(NOT_THERE, THERE),
                role=end.role,
                quantity=_PRESENCE,
            )
        for quantity, claims in end.claims.items():
            iri = implied_iri(end.role, quantity)
            kind = _kind_of(catalogue, quantity, claims)
            if kind is not None and iri not in found:
                known = catalogue.quantities.get(quantity)
                house = catalogue.tolerances.get(end.kind, {}).get(quantity, Decimal(0))
                found[iri] = Observation(
                    iri,
                    f"{known.label if known else quantity} of the {role}",
                    kind,
                    how=known.measure_by if known else "",
                    unit=known.unit if known else "",
                    grace=house if kind is ObservationKind.MEASURE else None,
                    role=end.role,
                    quantity=quantity,
                )
    return dict(sorted(found.items()))


def _kind_of(
    catalogue: Catalogue, quantity: str, claims: Sequence[Claim]
) -> ObservationKind | None:
    value = claims[0].value
    if isinstance(value, tuple):
        return None
    if isinstance(value, (str, bool)):
        return ObservationKind.FEATURE
    known = catalogue.quantities.get(quantity)
    counted = known.unit == "NUM" if known and known.unit else isinstance(value, int)
    return ObservationKind.COUNT if counted else ObservationKind.MEASURE


def _shown(end: End, observation: Observation) -> list[tuple[Allowed, tuple[Claim, ...]]]:
    """What one end shows under an observation, for every way to read its claims."""
    way = observation.worked_out
    if way is None:
        claims = end.claims.get(observation.quantity, ())
        return [(_as_allowed(claim.value), (claim,)) for claim in claims]
    wanted = (
        ("bolts", "circleDiameter")
        if way is WorkedOut.CHORD
        else ("teeth", "module", "pressureAngle")
    )
    if any(claim.value == "straight" for claim in end.claims.get("splineForm", ())):
        return []
    found: list[tuple[Allowed, tuple[Claim, ...]]] = []
    for choice in product(*(end.claims.get(name, ()) for name in wanted)):
        numbers = [float(c.value) for c in choice if isinstance(c.value, (int, Decimal))]
        if len(numbers) == len(wanted):
            shown = _worked_out(way, numbers, observation.pin)
            if shown is not None:
                found.append((Span(shown, shown), choice))
    return found


def _worked_out(way: WorkedOut, numbers: Sequence[float], pin: Decimal | None) -> Decimal | None:
    """The value to measure, mm, to a hundredth (a chord) or a thousandth (pins); None: cannot."""
    try:
        if way is WorkedOut.CHORD:
            bolts, circle = int(numbers[0]), numbers[1]
            return Decimal(f"{chord(circle, bolts, bolts // 2):.2f}")
        if pin is None:
            return None
        size = SplineSize(int(numbers[0]), numbers[1], numbers[2])
        measure = over_pins if way is WorkedOut.OVER_PINS else between_pins
        return Decimal(f"{measure(size, float(pin)):.3f}")
    except ValueError:
        # Outside what the geometry is good for (a pin that falls through): nothing to compare.
        return None


def _as_allowed(value: Value) -> Allowed:
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return Span(Decimal(value), Decimal(value))
    return str(value)
