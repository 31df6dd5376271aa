"""Whether serial ranges hold together: where they overlap, and where numbers belong to nobody."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from .catalogue import Catalogue
from .observations import ObservationKind, Span
from .witness import Witness, is_exception, serials


class RangeFaultKind(StrEnum):
    """What is odd about ranges of one series."""

    OVERLAP = "overlap"
    GAP = "gap"


@dataclass(frozen=True, slots=True)
class RangeFault:
    """From `least` to `most` (None: open), numbers of a series belong to both or to neither.

    `subjects` are the two parts, families or cars on either side; `among` is what was compared: a
    station for parts, generation, body and market for cars, "" for a series of parts' own numbers.
    """

    kind: RangeFaultKind
    series: str
    among: tuple[str, ...]
    subjects: tuple[str, str]
    least: Decimal | None
    most: Decimal | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Claimed:
    span: Span
    subject: str
    sources: tuple[str, ...]

    @property
    def order(self) -> tuple[Decimal, Decimal, str]:
        least, most = self.span.least, self.span.most
        return (
            Decimal("-Infinity") if least is None else least,
            Decimal("Infinity") if most is None else most,
            self.subject,
        )


def check_ranges(witness: Witness) -> tuple[RangeFault, ...]:
    """Every overlap and gap among the serial ranges of lookalikes, in order of series and number.

    Numbers before the first range and after the last belong to nobody without that being odd, and
    a batch of cars in mid-run whose range lies within another's is an exception and no overlap, as
    is a part's own range within that of its family.
    """
    found = []
    for (series, among), claimed in sorted(_groups(witness).items()):
        found.extend(
            _faults(witness.catalogue, series, among, sorted(claimed, key=lambda c: c.order))
        )
    return tuple(found)


def _groups(witness: Witness) -> dict[tuple[str, tuple[str, ...]], list[_Claimed]]:
    catalogue = witness.catalogue
    groups: dict[tuple[str, tuple[str, ...]], list[_Claimed]] = {}
    for rule in catalogue.identification:
        observation = catalogue.observations[rule.observation]
        if observation.kind is ObservationKind.OWN_NUMBER:
            places: Iterable[tuple[str, ...]] = [()]
        elif observation.kind is ObservationKind.CAR_NUMBER:
            places = [(station,) for station in _stations_of(catalogue, rule.subject)]
        else:
            continue
        for among in places:
            spans = [a for a in rule.allowed if isinstance(a, Span)]
            groups.setdefault((observation.iri, among), []).extend(
                _Claimed(span, rule.subject, rule.sources) for span in spans
            )
    for car in catalogue.cars.values():
        if car.serials != (None, None):
            by = tuple(sorted({s for fit in car.fits.values() for s in fit.sources}))
            among = (car.generation, car.body, car.market)
            groups.setdefault((witness.series(car.iri), among), []).append(
                _Claimed(serials(car), car.iri, by)
            )
    return groups


def _stations_of(catalogue: Catalogue, subject: str) -> tuple[str, ...]:
    if subject in catalogue.parts:
        return catalogue.parts[subject].stations
    return catalogue.families[subject].stations if subject in catalogue.families else ()


def _faults(
    catalogue: Catalogue, series: str, among: tuple[str, ...], claimed: Sequence[_Claimed]
) -> list[RangeFault]:
    found = []
    furthest: _Claimed | None = None
    for at, this in enumerate(claimed):
        for other in claimed[:at]:
            if _excepted(catalogue, this.subject, other.subject):
                continue
            if other.subject != this.subject and other.span.meets(this.span):
                # `this` starts last, so the overlap runs from there to whichever ends first.
                most = min(other.order[1], this.order[1])
                found.append(
                    _fault(
                        RangeFaultKind.OVERLAP,
                        series,
                        among,
                        (other, this),
                        this.span.least,
                        None if most == Decimal("Infinity") else most,
                    )
                )
        if furthest is not None:
            end, start = furthest.span.most, this.span.least
            if end is not None and start is not None and start > end + 1:
                pair = (furthest, this)
                found.append(_fault(RangeFaultKind.GAP, series, among, pair, end + 1, start - 1))
        if furthest is None or this.order[1] > furthest.order[1]:
            furthest = this
    return found


def _excepted(catalogue: Catalogue, first: str, second: str) -> bool:
    """Whether one is stated as an exception to the other: a batch of cars, a part of a family."""
    one, other = catalogue.cars.get(first), catalogue.cars.get(second)
    if one is not None and other is not None:
        return is_exception(one, other) or is_exception(other, one)
    return any(
        (part := catalogue.parts.get(a)) is not None and b in part.families
        for a, b in ((first, second), (second, first))
    )


def _fault(
    kind: RangeFaultKind,
    series: str,
    among: tuple[str, ...],
    pair: tuple[_Claimed, _Claimed],
    least: Decimal | None,
    most: Decimal | None,
) -> RangeFault:
    first, second = pair
    by = tuple(sorted({*first.sources, *second.sources}))
    return RangeFault(kind, series, among, (first.subject, second.subject), least, most, by)
