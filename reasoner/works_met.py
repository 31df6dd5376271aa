"""Which ends left the works together on a car, and who says so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeAlias

from .catalogue import Car, Catalogue, Joint
from .places import end_key

WorksKey: TypeAlias = tuple[str, tuple[tuple[str, ...], ...]]
"""A joint, and for each of its members the ends that were there."""


def met_on(
    catalogue: Catalogue, car: Car, joints: Iterable[Joint]
) -> Iterator[tuple[WorksKey, set[str]]]:
    """What met at some joints of a stock build that has parts at two members or more."""
    for joint in joints:
        fits = [car.fits.get(member.station) for member in joint.members]
        parts = [
            catalogue.parts.get(fit.part) if fit is not None and fit.part else None for fit in fits
        ]
        if sum(part is not None for part in parts) < 2:
            continue
        ends = tuple(
            end_key(part, member.role)[0] for part, member in zip(parts, joint.members, strict=True)
        )
        yield (joint.iri, ends), {s for fit in fits if fit is not None for s in fit.sources}
