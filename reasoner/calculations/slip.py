"""What unequal final drives or tyres do across the middle of a four-wheel drive.

On a straight road each axle needs its propshaft to turn so often in a kilometre. Where the two
needs differ, a centre differential works all the time; with the two locked together, tyres must
scuff or the driveline winds up.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from .limits import above_zero, zero_or_more
from .tyres import revs_per_km


@dataclass(frozen=True, slots=True)
class AxlePath:
    """From the centre of the drive to the road, for one axle.

    `transfer` is the ratio between the point where the two paths part and this axle's propshaft
    (1 where the propshaft is driven directly).

    Raises:
        ValueError: a value is not above 0.
    """

    final_drive: float
    circumference_mm: float
    transfer: float = 1.0

    def __post_init__(self) -> None:
        above_zero("final_drive", self.final_drive)
        above_zero("circumference_mm", self.circumference_mm, "mm")
        above_zero("transfer", self.transfer)

    @property
    def turns_per_km(self) -> float:
        """How often this path turns at the point where the two part, in rev/km.

        >>> round(AxlePath(3.9, 2000).turns_per_km, 3)
        1950.0
        """
        return revs_per_km(self.circumference_mm) * self.final_drive * self.transfer


class Faster(Enum):
    """Which path wants to turn faster."""

    FRONT = "front"
    REAR = "rear"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class CentreSlip:
    """How the two axles disagree.

    `front_turns_per_km`, `rear_turns_per_km` and `turns_per_km` (their difference) are in rev/km
    at the point where the paths part. `percent` is the mismatch: the faster over the slower, less
    one. `tolerance_percent` is what the caller accepts.
    """

    front_turns_per_km: float
    rear_turns_per_km: float
    tolerance_percent: float

    @property
    def turns_per_km(self) -> float:
        """Turns the centre must slip in one kilometre, in rev/km."""
        return abs(self.front_turns_per_km - self.rear_turns_per_km)

    @property
    def percent(self) -> float:
        """Faster over slower path, less one, in percent."""
        slower, faster = sorted((self.front_turns_per_km, self.rear_turns_per_km))
        return 100 * (faster / slower - 1)

    @property
    def faster(self) -> Faster:
        """Which path wants to turn faster."""
        if self.front_turns_per_km == self.rear_turns_per_km:
            return Faster.NEITHER
        front = self.front_turns_per_km > self.rear_turns_per_km
        return Faster.FRONT if front else Faster.REAR

    @property
    def within_tolerance(self) -> bool:
        """Whether the mismatch is no more than the tolerance."""
        return self.percent <= self.tolerance_percent

    @property
    def wind_up_deg_per_m(self) -> float:
        """How far a locked driveline winds up in one metre if no tyre slips, in degrees."""
        return self.turns_per_km * 360 / 1000


def centre_slip(front: AxlePath, rear: AxlePath, tolerance_percent: float) -> CentreSlip:
    """Slip across the centre of a drive, judged by a tolerance in percent.

    There is no tolerance that fits all drives: part-time boxes locked on tarmac take next to
    nothing, and worn against new tyres alone differ by 1 to 2 %.

    Raises:
        ValueError: the tolerance is negative.

    >>> slip = centre_slip(AxlePath(3.9, 2000), AxlePath(3.545, 2000), tolerance_percent=1)
    >>> round(slip.percent, 2), round(slip.turns_per_km, 1), slip.faster.value
    (10.01, 177.5, 'front')
    >>> slip.within_tolerance
    False
    """
    zero_or_more("tolerance_percent", tolerance_percent, "%")
    return CentreSlip(front.turns_per_km, rear.turns_per_km, tolerance_percent)
