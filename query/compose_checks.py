"""What exactly to measure or offer up for a check: ends and quantities that can be told back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from ..reasoner.catalogue import End
from ..reasoner.mating import PROVEN
from ..reasoner.reasons import Meeting
from .answer import Thing, ToMeasure, ToOfferUp
from .words import unit_word

if TYPE_CHECKING:
    from .compose import Composer

VOCABULARY: Final = "https://knockon.example/ns#"


def values_to_measure(composer: Composer, meetings: Iterable[Meeting]) -> tuple[ToMeasure, ...]:
    """What a measurement would settle: missing, disputed, or stated too weakly."""
    known = composer.catalogue
    found: dict[tuple[str, str], ToMeasure] = {}
    for meeting in meetings:
        for part, name, end in _unproven_values(composer, meeting):
            quantity = known.quantities[name]
            found.setdefault(
                (end.iri, name),
                ToMeasure(
                    end=Thing(iri=end.iri, label=known.name(end.role)),
                    part=composer.part(part),
                    property=Thing(iri=VOCABULARY + name, label=quantity.label),
                    unit=unit_word(quantity.unit),
                    how=quantity.measure_by,
                ),
            )
    return tuple(found.values())


def _unproven_values(composer: Composer, meeting: Meeting) -> Iterator[tuple[str | None, str, End]]:
    mate, known = meeting.mate, composer.catalogue
    needed = {f.needs for f in mate.findings if f.needs}
    touched = needed | {f.quantity for f in mate.findings} | set(mate.disputed)
    for iri, part in zip(mate.ends, meeting.parts, strict=False):
        if iri is None:
            continue
        end = known.ends[iri]
        for name in sorted(touched - {each.quantity for each in end.open}):
            claims = end.claims.get(name, ())
            weak = any(known.standing(c.sources) > PROVEN for c in claims)
            wanted = len(claims) > 1 or weak if claims else name in needed
            if wanted and name in known.quantities and name not in known.lookups.listed:
                yield part, name, end


def ends_to_offer_up(composer: Composer, meetings: Iterable[Meeting]) -> tuple[ToOfferUp, ...]:
    """Pairs that a trial would settle: two ends that nobody has held against one another."""
    known = composer.catalogue
    found: dict[tuple[str, ...], ToOfferUp] = {}
    for meeting in meetings:
        mate = meeting.mate
        there = tuple(end for end in mate.ends if end is not None)
        if len(there) == len(mate.ends) == 2 and not mate.settled_by:
            ends = tuple(Thing(iri=e, label=known.name(known.ends[e].role)) for e in there)
            parts = tuple(map(composer.part, meeting.parts))
            found.setdefault(there, ToOfferUp(ends=ends, parts=parts))
    return tuple(found.values())
