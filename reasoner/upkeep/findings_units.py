"""Values that look like inches entered as millimetres, or the other way round."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from ..catalogue import Catalogue, Claim
from ..interfaces.kind import Scalar
from .findings_note import FindingNote, Notebook, Severity

INCH = Decimal("25.4")
"""Millimetres to the inch, exactly (the international inch of 1959)."""

_NEAR = Decimal("1.5")
"""Values of one sort of end lie within this factor of some other; no trade size is 25 apart."""

_ENOUGH = 2
"""So many like values must speak for the other unit before anything is said."""

_RULE = "a length is in millimetres"


@dataclass(frozen=True, slots=True)
class _Reading:
    """One number in millimetres: whose, of what, and among what it is to be compared."""

    subject: str
    quantity: str
    value: Decimal
    among: tuple[str, ...]


def inches_for_millimetres(book: Notebook) -> Iterator[FindingNote]:
    """Lengths that agree with no like end as they stand, and with several if taken as inches."""
    yield from _disputes(book)
    groups: dict[tuple[str, ...], list[_Reading]] = {}
    for reading in _readings(book.catalogue):
        groups.setdefault(reading.among, []).append(reading)
    for _, group in sorted(groups.items()):
        for reading in group:
            others = [r.value for r in group if r.subject != reading.subject]
            as_stated = _alike(reading.value, others)
            for factor in (INCH, 1 / INCH):
                if _alike(reading.value * factor, others) >= max(_ENOUGH, 2 * as_stated + 1):
                    yield _finding(book, reading, factor > 1)


def _finding(book: Notebook, reading: _Reading, too_small: bool) -> FindingNote:
    label = book.catalogue.quantities[reading.quantity].label
    other = reading.value * INCH if too_small else reading.value / INCH
    what = "inches entered as millimetres" if too_small else "millimetres turned from inches twice"
    return book.note(
        Severity.WARNS,
        _RULE,
        reading.subject,
        f"{label} {_plain(reading.value)} mm is like no other such end; {_plain(other)} mm would "
        f"be, so it looks like {what} (off by 25.4)",
        f"measure it; if so, state {_plain(other)}",
    )


def _disputes(book: Notebook) -> Iterator[FindingNote]:
    """Two sources of which one seems to speak in inches."""
    for iri, end in book.catalogue.ends.items():
        for quantity, claims in end.claims.items():
            numbers = sorted({n for c in claims if (n := _number(c)) is not None and n > 0})
            pairs = [(a, b) for a in numbers for b in numbers if _off_by_an_inch(a, b)]
            if pairs and _in_millimetres(book.catalogue, quantity):
                a, b = pairs[0]
                label = book.catalogue.quantities[quantity].label
                yield book.note(
                    Severity.WARNS,
                    _RULE,
                    iri,
                    f"{label} is {_plain(b)} mm by one source and {_plain(a)} by another, which is "
                    "the same in inches (off by 25.4)",
                    f"state {_plain(b)} for both",
                )


def _off_by_an_inch(small: Decimal, large: Decimal) -> bool:
    return abs(large / small / INCH - 1) < Decimal("0.005")


def _readings(catalogue: Catalogue) -> Iterator[_Reading]:
    like = _roles_that_meet(catalogue)
    for iri, end in catalogue.ends.items():
        for quantity, claims in end.claims.items():
            if not _in_millimetres(catalogue, quantity):
                continue
            among = ("end", end.kind, like.get(end.role, end.role), quantity)
            numbers = [_number(claim) for claim in claims]
            for number in sorted({n for n in numbers if n is not None and n > 0}):
                yield _Reading(iri, quantity, number, among)
    seen: set[tuple[str, str]] = set()
    for part in catalogue.parts.values():
        for quantity, value in part.attributes.items():
            size = _as_number(value) if not isinstance(value, tuple) else None
            if size is None or size <= 0 or not _in_millimetres(catalogue, quantity):
                continue
            # A family states it once for all its parts, and is told once.
            if (part.family, f"{quantity} {size}") not in seen:
                seen.add((part.family, f"{quantity} {size}"))
                station = part.stations[0] if part.stations else ""
                yield _Reading(part.iri, quantity, size, ("part", station, quantity))


def _roles_that_meet(catalogue: Catalogue) -> dict[str, str]:
    """Roles whose ends meet share their sizes; each is called by the first of its group."""
    first: dict[str, str] = {}
    for joint in catalogue.joints.values():
        if len(joint.members) == 2:
            roles = [m.role for m in joint.members] + [r for r in joint.via_roles if r]
            groups = {first.get(role, role) for role in roles}
            name = min(groups)
            for role in {*roles, *(r for r, g in first.items() if g in groups)}:
                first[role] = name
    return first


def _in_millimetres(catalogue: Catalogue, quantity: str) -> bool:
    known = catalogue.quantities.get(quantity)
    return known is not None and known.unit == "MilliM"


def _alike(value: Decimal, others: list[Decimal]) -> int:
    return sum(1 for other in others if value / _NEAR <= other <= value * _NEAR)


def _number(claim: Claim) -> Decimal | None:
    return None if isinstance(claim.value, tuple) else _as_number(claim.value)


def _as_number(value: Scalar) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        return None
    return Decimal(value)


def _plain(value: Decimal) -> str:
    """A number to a thousandth, without idle zeros.

    >>> _plain(Decimal("114.300000")), _plain(Decimal(100)), _plain(Decimal("4.52755905"))
    ('114.3', '100', '4.528')
    """
    text = f"{value.quantize(Decimal('0.001')):f}"
    return text.rstrip("0").rstrip(".")
