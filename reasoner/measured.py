"""What somebody measured or offered up at the desk, taken as one more claim for one answer.

The catalogue itself stays as it is: `with_findings` makes another whose ends carry the new claims,
so that every answer from it says on whose word it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from hashlib import sha256
from typing import Any, Final

from .catalogue import Catalogue, Claim, End, Source, Standing
from .errors import KnockonError
from .interfaces.kind import Value
from .lookups import LOOKUPS, kept_with
from .overlay import Overlay
from .places import rows_again

MEASURED_HERE: Final = "https://knockon.example/source/measured-at-the-desk"
TRIED_HERE: Final = "https://knockon.example/source/tried-at-the-desk"
_HERE: Final = {
    MEASURED_HERE: Source(MEASURED_HERE, "measured at the desk", Standing.MEASURED),
    TRIED_HERE: Source(TRIED_HERE, "offered up at the desk", Standing.TRIAL_FITTED),
}


class NotMeasurable(KnockonError):
    """A value was given for an end or quantity that cannot take it; says which and why."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One value read off a part in hand: `quantity` by its name, `value` in its declared unit."""

    end: str
    quantity: str
    value: Value


@dataclass(frozen=True, slots=True)
class Tried:
    """Two ends that were offered up to one another and fitted."""

    first: str
    second: str


def with_findings(
    catalogue: Catalogue, measured: Sequence[Measured] = (), tried: Sequence[Tried] = ()
) -> Catalogue:
    """The catalogue with what was measured and tried at the desk as further claims.

    A measured value sets weaker ones that differ aside: the part in hand decides. It never sets
    another measured value aside; then the two are a dispute. The version is one of its own, the
    same for the same findings in any order.

    Raises:
        NotMeasurable: an end or quantity is not known, is made to suit, or takes no single value.
    """
    if not measured and not tried:
        return catalogue
    ends: dict[str, End] = {}
    said: dict[tuple[str, str], Value] = {}
    for found in measured:
        if said.setdefault((found.end, found.quantity), found.value) != found.value:
            raise NotMeasurable(f"two values were measured for {found.quantity} of {found.end}")
        end = ends.get(found.end) or _end(catalogue.ends, found.end)
        ends[found.end] = _claimed(catalogue, end, found)
    pairs: dict[tuple[str, str], tuple[str, ...]] = {}
    for pair in tried:
        for iri in (pair.first, pair.second):
            _end(catalogue.ends, iri)
        key = (min(pair.first, pair.second), max(pair.first, pair.second))
        pairs[key] = tuple(dict.fromkeys((TRIED_HERE, *catalogue.tried.get(key, ()))))
    found_so = replace(
        catalogue,
        version=_version(catalogue, measured, tried),
        sources={**catalogue.sources, **_HERE},
        ends=Overlay(catalogue.ends, ends),
        tried=Overlay(catalogue.tried, pairs),
    )
    touched = {*ends, *(iri for pair in pairs for iri in pair)}
    return kept_with(found_so, _lookups(catalogue, found_so, touched))


def _lookups(
    before: Catalogue, now: Catalogue, touched: Iterable[str]
) -> dict[str, Mapping[Any, Any]]:
    """Parts and cars are the same, and so is what is looked up, but for what comes to a place."""
    tables: dict[str, Mapping[Any, Any]] = {name: before.lookups.table(name) for name in LOOKUPS}
    parts = {part for end in touched for part in before.lookups.parts_with.get(end, ())}
    seats = {
        f"{station} {role}"
        for part in (before.parts[iri] for iri in parts)
        for station in part.stations
        for role in part.ends
    }
    tables["places"] = Overlay(tables["places"], rows_again(now, tables["places"], seats))
    return tables


def takes_one_value(catalogue: Catalogue, quantity: str) -> bool:
    """Whether a quantity is one number or word, and not a list of steps or contacts."""
    return quantity in catalogue.quantities and quantity not in catalogue.lookups.listed


def _end(ends: Mapping[str, End], iri: str) -> End:
    if iri not in ends:
        raise NotMeasurable(f"no end is called {iri}{_nearest(iri, ends)}")
    return ends[iri]


def _claimed(catalogue: Catalogue, end: End, found: Measured) -> End:
    if found.quantity not in catalogue.quantities:
        near = _nearest(found.quantity, catalogue.quantities)
        raise NotMeasurable(f"no quantity is called {found.quantity}{near}")
    label = catalogue.quantities[found.quantity].label
    if any(open_value.quantity == found.quantity for open_value in end.open):
        raise NotMeasurable(f"the {label} of {end.label} is made to suit: nothing to measure")
    if not takes_one_value(catalogue, found.quantity):
        raise NotMeasurable(f"the {label} of {end.label} is not one value: offer the parts up")
    agreeing = [s for c in end.claims.get(found.quantity, ()) if c.value == found.value
                for s in c.sources if s != MEASURED_HERE]  # fmt: skip
    here = Claim(found.value, (MEASURED_HERE, *agreeing))
    others = (
        claim
        for claim in end.claims.get(found.quantity, ())
        if claim.value != found.value and catalogue.standing(claim.sources) is Standing.MEASURED
    )
    claims = {**end.claims, found.quantity: (here, *others)}
    return replace(end, claims=dict(sorted(claims.items())))


def _version(catalogue: Catalogue, measured: Sequence[Measured], tried: Sequence[Tried]) -> str:
    said = [f"{m.end} {m.quantity} {_plain(m.value)}" for m in measured]
    said += [" ".join(sorted((t.first, t.second))) for t in tried]
    return sha256("\n".join((catalogue.version, *sorted(said))).encode()).hexdigest()


def _plain(value: Value) -> str:
    return str(value.normalize()) if isinstance(value, Decimal) else str(value)


def _nearest(name: str, names: Iterable[str]) -> str:
    near = get_close_matches(name, sorted(names), n=1)
    return f"; the nearest is {near[0]}" if near else ""
