"""Which spline is this? From a tooth count and one measurement to the sizes that could be it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from .involute import INCH, Root, SplineSize, System, between_pins, geometry, over_pins

# ISO 4156 modules and ANSI B92.1 diametral pitches (the stub pitch is twice the pitch).
MODULES = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
PITCHES = (2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 40, 48, 64, 80, 128)
ANGLES = (30.0, 37.5, 45.0)


@dataclass(frozen=True, slots=True)
class SplineCandidate:
    """A size that could be the one measured, and by how much the measurement is off, mm."""

    size: SplineSize
    off: float

    @property
    def name(self) -> str:
        """How the trade writes it: teeth and module, or teeth and pitch."""
        teeth, angle = self.size.teeth, f"{self.size.angle:g}°"
        if self.size.system is System.METRIC:
            return f"{teeth} teeth, module {self.size.module:g}, {angle}"
        pitch = INCH / self.size.module
        return f"{teeth} teeth, {pitch:g}/{2 * pitch:g} pitch, {angle}"


def standard_sizes(teeth: int) -> Iterator[SplineSize]:
    """Every standard involute spline of that tooth count, with fillet roots."""
    for module, angle in product(MODULES, ANGLES):
        yield SplineSize(teeth, module, angle, Root.FILLET, System.METRIC)
    for pitch, angle in product(PITCHES, ANGLES):
        yield SplineSize(teeth, INCH / pitch, angle, Root.FILLET, System.PITCH)


def by_major_diameter(teeth: int, measured: float, error: float) -> tuple[SplineCandidate, ...]:
    """Sizes of shaft with that count whose outside diameter is the one measured, best first.

    `error` (mm) covers the calliper and the wear and tolerance of the tops.

    >>> [c.name for c in by_major_diameter(30, 30.98, 0.1)]
    ['30 teeth, module 1, 30°', '30 teeth, module 1, 37.5°']
    """
    found = (
        SplineCandidate(size, measured - geometry(size).external_major)
        for size in standard_sizes(teeth)
    )
    return _best(found, error)


def by_pins(
    teeth: int, pin: float, measured: float, error: float, *, internal: bool = False
) -> tuple[SplineCandidate, ...]:
    """Sizes with that count that measure so over (or between) pins, best first.

    A real shaft measures a little less than basic and a real hub a little more, so let `error`
    cover the tolerance: a tenth or two. One pin near the pitch circle tells modules apart but
    hardly pressure angles; a second pin of another diameter does.

    >>> [c.name for c in by_pins(27, 2.0, 30.14, 0.02)]
    ['27 teeth, module 1, 37.5°', '27 teeth, module 1, 30°']
    """

    def candidates() -> Iterator[SplineCandidate]:
        for size in standard_sizes(teeth):
            try:
                expected = between_pins(size, pin) if internal else over_pins(size, pin)
            except ValueError:
                continue
            yield SplineCandidate(size, measured - expected)

    return _best(candidates(), error)


def _best(found: Iterator[SplineCandidate], error: float) -> tuple[SplineCandidate, ...]:
    near = [candidate for candidate in found if abs(candidate.off) <= error]
    return tuple(
        sorted(
            near,
            key=lambda c: (round(abs(c.off), 9), c.size.system, c.size.module, c.size.angle),
        )
    )
