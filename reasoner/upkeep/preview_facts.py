"""What an edit changes in the catalogue, fact by fact, and how far that can reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal

from ..build import Build
from ..catalogue import Advice, Car, Catalogue, Claim, End, Fit, Part
from ..interfaces.kind import Value
from ..reached import reached

NOTHING = "nothing"
"""What stands for a value that is not stated."""

_THINGS = ("parts", "ends", "joints", "stations", "families", "cars", "sources", "operations",
           "consumables", "advice")  # fmt: skip


@dataclass(frozen=True, slots=True, order=True)
class ChangedFact:
    """One thing that is stated otherwise after the edit.

    `sort` is the table of the catalogue it is in, `subject` its IRI and `about` the quantity, the
    station (of a car's fit) or the property that differs; "" where the whole thing came or went.
    """

    sort: str
    subject: str
    about: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Reach:
    """Where the changed facts can make a difference.

    `stations` are those at which a part, an end, a joint or a settled meeting differs, `cars` those
    that are stated otherwise. Where `everywhere` holds, nothing may be passed over.
    """

    stations: frozenset[str]
    cars: frozenset[str]
    everywhere: bool = False

    def touches(self, build: Build) -> bool:
        """Whether an answer about `build` can differ.

        What is worked out for a build rests on nothing but its car, the parts that may sit at its
        stations, the joints between them and what such parts did elsewhere.
        """
        return (
            self.everywhere
            or build.car in self.cars
            or any(station in self.stations for station in build.fits)
        )


def changed_facts(before: Catalogue, after: Catalogue) -> tuple[ChangedFact, ...]:
    """Everything that differs between two catalogues and can matter to an answer, in order."""
    found: list[ChangedFact] = []
    for sort in _THINGS:
        one: Mapping[str, object] = getattr(before, sort)
        other: Mapping[str, object] = getattr(after, sort)
        for iri in sorted({*one, *other}):
            a, b = one.get(iri), other.get(iri)
            if a is None or b is None:
                there = (NOTHING if a is None else "stated", NOTHING if b is None else "stated")
                found.append(ChangedFact(sort, iri, "", *there))
            elif a != b:
                pairs = _of_thing(before, after, a, b)
                found += [ChangedFact(sort, iri, *pair) for pair in pairs]
    found += _tolerances(before, after)
    for pair in sorted({*before.tried, *after.tried}):
        tried = [_said_by(c, c.tried.get(pair, ())) for c in (before, after)]
        if tried[0] != tried[1]:
            found += [ChangedFact("tried", end, other, *tried) for end, other in (pair, pair[::-1])]
    return tuple(sorted(found))


def _of_thing(
    before: Catalogue, after: Catalogue, a: object, b: object
) -> Iterator[tuple[str, str, str]]:
    if isinstance(a, End) and isinstance(b, End):
        for quantity in sorted({*a.claims, *b.claims}):
            one = _claims(before, a.claims.get(quantity, ()))
            other = _claims(after, b.claims.get(quantity, ()))
            if one != other:
                yield quantity, one, other
    if isinstance(a, Car) and isinstance(b, Car):
        for station in sorted({*a.fits, *b.fits}):
            one, other = (_fit(c, car.fits.get(station)) for c, car in ((before, a), (after, b)))
            if one != other:
                yield station, one, other
    for each in fields(a):  # type: ignore[arg-type]
        if each.name in ("claims", "fits", "via"):
            continue
        was, is_ = getattr(a, each.name), getattr(b, each.name)
        if was != is_:
            yield each.name, _text(before, was), _text(after, is_)


def _tolerances(before: Catalogue, after: Catalogue) -> Iterator[ChangedFact]:
    for kind in sorted({*before.tolerances, *after.tolerances}):
        one, other = before.tolerances.get(kind, {}), after.tolerances.get(kind, {})
        for name in sorted({*one, *other}):
            if one.get(name) != other.get(name):
                texts = (_text(before, one.get(name)), _text(after, other.get(name)))
                yield ChangedFact("tolerances", kind, name, *texts)


def _claims(catalogue: Catalogue, claims: tuple[Claim, ...]) -> str:
    texts = (
        f"{value_text(claim.value)} ({_said_by(catalogue, claim.sources)})" for claim in claims
    )
    return " or ".join(texts) or NOTHING


def _fit(catalogue: Catalogue, fit: Fit | None) -> str:
    if fit is None:
        return NOTHING
    part = catalogue.parts.get(fit.part) if fit.part else None
    what = "left empty" if fit.part is None else part.number if part else fit.part
    return f"{what} ({_said_by(catalogue, fit.sources)})"


def _said_by(catalogue: Catalogue, sources: tuple[str, ...]) -> str:
    named = (catalogue.sources.get(s) for s in sources)
    return ", ".join(f"{s.label}, {s.standing.word}" for s in named if s is not None) or NOTHING


def value_text(value: Value) -> str:
    """A value as people write it; a record as its fields.

    >>> value_text(({"from": Decimal("6.0"), "to": 44},))
    'from 6, to 44'
    """
    if isinstance(value, tuple):
        return "; ".join(", ".join(f"{k} {value_text(v)}" for k, v in r.items()) for r in value)
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return str(value)


def _text(catalogue: Catalogue, value: object) -> str:
    match value:
        case None | "" | () | (None, None):
            return NOTHING
        case str() if "/" in value or "#" in value:
            return catalogue.name(value)
        case Decimal() | bool() | int() | str():
            return value_text(value)
        case Mapping():
            pairs = ((_text(catalogue, k), _text(catalogue, v)) for k, v in sorted(value.items()))
            return "; ".join(f"{k}: {v}" for k, v in pairs) or NOTHING
        case frozenset():
            return ", ".join(sorted(_text(catalogue, each) for each in value)) or NOTHING
        case tuple():
            return ", ".join(_text(catalogue, each) for each in value)
        case _:
            return str(value)


# ---------------------------------------------------------------------- how far it reaches


def reach_of(before: Catalogue, after: Catalogue, facts: Iterable[ChangedFact]) -> Reach:
    """Where the changed facts can make a difference; wide rather than narrow."""
    stations: set[str] = set()
    cars: set[str] = set()
    everywhere = False
    both = (before, after)
    for fact in facts:
        match fact.sort:
            case "parts":
                stations |= {s for c in both for s in _stations(c.parts.get(fact.subject))}
            case "ends" | "tried":
                stations |= {s for c in both for s in _bearing(c, fact.subject)}
            case "joints":
                stations |= {
                    s for c in both if (j := c.joints.get(fact.subject)) for s in j.stations
                }
            case "stations":
                stations.add(fact.subject)
            case "cars":
                cars.add(fact.subject)
            case "tolerances":
                stations |= {
                    s for c in both for j in c.joints.values() if j.kind == fact.subject
                    for s in j.stations
                }  # fmt: skip
            case "operations":
                stations |= {s for c in both for s in _opened(c, fact.subject)}
            case "consumables":
                stations |= {
                    s for c in both if (k := c.consumables.get(fact.subject)) for s in k.follows
                }
            case "advice":
                stations |= {s for c in both for s in _advised(c, c.advice.get(fact.subject))}
            case "sources":
                # A source that came or went is told of with what it says; one that now counts
                # for more or less can turn whatever it says.
                everywhere |= fact.about != ""
    stations |= _settled_otherwise(before, after)
    return Reach(frozenset(stations), frozenset(cars), everywhere)


def _stations(part: Part | None) -> tuple[str, ...]:
    return () if part is None else part.stations


def _bearing(catalogue: Catalogue, end: str) -> set[str]:
    return {station for part in catalogue.parts_with(end) for station in part.stations}


def _opened(catalogue: Catalogue, operation: str) -> set[str]:
    """What an operation opens, and what is opened only after it."""

    def after(iri: str) -> list[str]:
        return [o.iri for o in catalogue.operations.values() if iri in o.after]

    return {
        station
        for iri in reached([operation], after)
        if iri in catalogue.operations
        for station in catalogue.operations[iri].opens
    }


def _advised(catalogue: Catalogue, advice: Advice | None) -> set[str]:
    families = set() if advice is None else {*advice.when, *advice.unless}
    return {s for p in catalogue.parts.values() if families & p.families for s in p.stations}


def _settled_otherwise(before: Catalogue, after: Catalogue) -> set[str]:
    """Stations of joints at which other ends left the works together, or by another's word."""
    one, other = before.lookups.works, after.lookups.works
    changed = {key for key in {*one, *other} if one.get(key) != other.get(key)}
    return {
        station
        for joint, _ in changed
        for catalogue in (before, after)
        if joint in catalogue.joints
        for station in catalogue.joints[joint].stations
    }
