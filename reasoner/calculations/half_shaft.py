"""The torque a half-shaft must bear in low range.

Two things bound it, and the smaller governs: what the engine can send through the gears, and what
the tyre can hold before it spins. Shock loads go beyond both; a shaft is chosen with a reserve.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from .limits import above_zero, between, share

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s²."""


class Bound(Enum):
    """What limits the torque."""

    DRIVELINE = "driveline"
    GRIP = "grip"


@dataclass(frozen=True, slots=True)
class HalfShaftDemand:
    """Torque on one half-shaft, in N·m: by the driveline, and by grip where the load is known."""

    driveline_nm: float
    grip_nm: float | None = None

    @property
    def governed_by(self) -> Bound:
        """Which of the two is smaller."""
        if self.grip_nm is not None and self.grip_nm < self.driveline_nm:
            return Bound.GRIP
        return Bound.DRIVELINE

    @property
    def torque_nm(self) -> float:
        """The smaller of the two, in N·m."""
        if self.grip_nm is None:
            return self.driveline_nm
        return min(self.driveline_nm, self.grip_nm)


def driveline_torque_nm(
    engine_nm: float,
    gear: float,
    low_range: float,
    final_drive: float,
    axle_share: float = 0.5,
    shaft_share: float = 0.5,
    efficiency: float = 1.0,
) -> float:
    """Torque the engine sends to one half-shaft, in N·m.

    `axle_share` is the part of the torque that goes to this axle: the centre differential's
    split, 1 in two-wheel drive or where a locked centre finds grip at one axle only.
    `shaft_share` is the part one shaft of the axle takes: 0.5 behind an open differential, up to
    1 with a locked one and a wheel in the air. `efficiency` covers losses of gears and joints.

    Raises:
        ValueError: the torque or a ratio is not above 0, or a share not above 0 and at most 1.

    >>> round(driveline_torque_nm(300, gear=4.0, low_range=2.5, final_drive=4.1))
    3075
    """
    above_zero("engine_nm", engine_nm, "N·m")
    above_zero("gear", gear)
    above_zero("low_range", low_range)
    above_zero("final_drive", final_drive)
    part = share("axle_share", axle_share) * share("shaft_share", shaft_share)
    return engine_nm * gear * low_range * final_drive * part * share("efficiency", efficiency)


def grip_torque_nm(wheel_load_kg: float, rolling_radius_mm: float, friction: float = 0.8) -> float:
    """Torque at which a tyre spins, in N·m.

    `wheel_load_kg` is the mass the wheel carries in the worst case, with climbing and cornering.

    Raises:
        ValueError: the load or radius is not above 0, or the friction not from 0.05 to 2.

    >>> round(grip_torque_nm(700, 365, friction=0.9))
    2255
    """
    above_zero("wheel_load_kg", wheel_load_kg, "kg")
    above_zero("rolling_radius_mm", rolling_radius_mm, "mm")
    between("friction", friction, 0.05, 2)
    return friction * wheel_load_kg * GRAVITY * rolling_radius_mm / 1000


def half_shaft_demand(driveline_nm: float, grip_nm: float | None = None) -> HalfShaftDemand:
    """Put the two bounds together.

    Raises:
        ValueError: a torque is not above 0 N·m.

    >>> demand = half_shaft_demand(3075, 2255)
    >>> demand.torque_nm, demand.governed_by.value
    (2255, 'grip')
    """
    above_zero("driveline_nm", driveline_nm, "N·m")
    if grip_nm is not None:
        above_zero("grip_nm", grip_nm, "N·m")
    return HalfShaftDemand(driveline_nm, grip_nm)


def crawl_ratio(gear: float, low_range: float, final_drive: float) -> float:
    """Turns of the engine for one turn of the wheel in the lowest gear of low range.

    Raises:
        ValueError: a ratio is not above 0.

    >>> round(crawl_ratio(4.313, 2.566, 3.9), 1)
    43.2
    """
    above_zero("gear", gear)
    above_zero("low_range", low_range)
    return gear * low_range * above_zero("final_drive", final_drive)
