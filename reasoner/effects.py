"""What a change of parts does to the drive: speedometer, revs, slip, track, brakes, clutch.

An effect is named only where it can be worked out before and after, and where it changes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from .build import Build
from .catalogue import Catalogue
from .drivetrain import Drivetrain, MissingFact

SPEED_KMH = 100.0
"""Road speed at which engine speeds are compared."""


class EffectKind(StrEnum):
    """What changes, and in which unit."""

    SPEEDOMETER = "speedometer error, %"
    ENGINE_SPEED = "engine speed in top gear at 100 km/h, rev/min"
    SLIP = "slip across the centre differential, %"
    FRONT_TRACK = "front track, mm"
    REAR_TRACK = "rear track, mm"
    BRAKE_SPLIT = "front share of braking, %"
    CLUTCH = "clutch capacity over engine torque"


_LEAST: dict[EffectKind, float] = {
    EffectKind.SPEEDOMETER: 0.05,
    EffectKind.ENGINE_SPEED: 5.0,
    EffectKind.SLIP: 0.05,
    EffectKind.FRONT_TRACK: 0.5,
    EffectKind.REAR_TRACK: 0.5,
    EffectKind.BRAKE_SPLIT: 0.1,
    EffectKind.CLUTCH: 0.005,
}
"""A smaller change disappears when the figure is rounded for print, and is none."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One figure before and after a change, in the unit its kind names."""

    kind: EffectKind
    before: float
    after: float


_FIGURES: dict[EffectKind, Callable[[Drivetrain], float]] = {
    EffectKind.SPEEDOMETER: lambda drive: drive.speedometer().percent,
    EffectKind.ENGINE_SPEED: lambda drive: drive.engine_speed(drive.top_gear(), SPEED_KMH),
    EffectKind.SLIP: lambda drive: drive.slip().percent,
    EffectKind.FRONT_TRACK: lambda drive: drive.track("front"),
    EffectKind.REAR_TRACK: lambda drive: drive.track("rear"),
    EffectKind.BRAKE_SPLIT: lambda drive: 100 * drive.brake_split().front_share,
    EffectKind.CLUTCH: lambda drive: drive.clutch().reserve(drive.engine_torque()),
}


def find_effects(catalogue: Catalogue, before: Build, after: Build) -> tuple[Effect, ...]:
    """Every figure that is known on both builds and differs, in the order of `EffectKind`."""
    found = []
    was, now = Drivetrain(catalogue, before), Drivetrain(catalogue, after)
    for kind, figure in _FIGURES.items():
        try:
            effect = Effect(kind, figure(was), figure(now))
        except (MissingFact, ValueError):
            # Unknown, or outside what the formula is good for: nothing to say either way.
            continue
        if abs(effect.after - effect.before) >= _LEAST[kind]:
            found.append(effect)
    return tuple(found)
