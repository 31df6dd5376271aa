"""What the speedometer shows after a change of sensor, final drive or tyre, and the cure.

An instrument turns a count into a speed. It was calibrated for so many counts (pulses of a sensor,
or turns of a cable) in a kilometre; whatever is fitted now gives another number, and the reading
is wrong by the ratio of the two.
"""

from __future__ import annotations

from dataclasses import dataclass

from .limits import above_zero, zero_or_more
from .tyres import revs_per_km


@dataclass(frozen=True, slots=True)
class SpeedDrive:
    """Where the count comes from.

    `counts_per_turn` is pulses per turn of the sensed shaft (or cable turns per turn of it).
    `turns_per_wheel_turn` is how often that shaft turns for one turn of the wheel: the final
    drive where it is the gearbox output, 1 where the sensor is at the wheel. `circumference_mm`
    is the rolling circumference.

    Raises:
        ValueError: a value is not above 0.
    """

    counts_per_turn: float
    turns_per_wheel_turn: float
    circumference_mm: float

    def __post_init__(self) -> None:
        above_zero("counts_per_turn", self.counts_per_turn)
        above_zero("turns_per_wheel_turn", self.turns_per_wheel_turn)
        above_zero("circumference_mm", self.circumference_mm, "mm")

    @property
    def counts_per_km(self) -> float:
        """Pulses (or cable turns) in one kilometre.

        >>> round(SpeedDrive(8, 3.9, 2000).counts_per_km)
        15600
        """
        wheel_turns = revs_per_km(self.circumference_mm)
        return self.counts_per_turn * self.turns_per_wheel_turn * wheel_turns


@dataclass(frozen=True, slots=True)
class SpeedometerError:
    """How the reading relates to the truth: `factor` is speed shown over true speed."""

    factor: float

    @property
    def percent(self) -> float:
        """How much too high the speedometer reads, in percent of true speed; negative if low."""
        return (self.factor - 1) * 100

    @property
    def converter_ratio(self) -> float:
        """Counts out per count in of a converter that puts the reading right."""
        return 1 / self.factor

    def shown_kmh(self, true_kmh: float) -> float:
        """The reading, in km/h, at a true speed.

        Raises:
            ValueError: the speed is negative.
        """
        return zero_or_more("true_kmh", true_kmh, "km/h") * self.factor

    def true_kmh(self, shown_kmh: float) -> float:
        """The true speed, in km/h, at a reading.

        Raises:
            ValueError: the reading is negative.
        """
        return zero_or_more("shown_kmh", shown_kmh, "km/h") / self.factor


def speedometer_error(
    calibrated_for: SpeedDrive | float, fitted: SpeedDrive | float
) -> SpeedometerError:
    """The error of an instrument calibrated for one drive and fed by another.

    Either may be given as counts per kilometre. The result takes an instrument that was right
    before; makers set it to read a little high.

    Raises:
        ValueError: a count is not above 0.

    >>> taller = speedometer_error(SpeedDrive(8, 3.9, 1927), SpeedDrive(8, 3.9, 2014))
    >>> round(taller.percent, 1), round(taller.true_kmh(100), 1)
    (-4.3, 104.5)
    """
    expected = _counts("calibrated_for", calibrated_for)
    return SpeedometerError(_counts("fitted", fitted) / expected)


def tyre_change_error(before_mm: float, after_mm: float) -> SpeedometerError:
    """The error after a change of tyre alone, from the two rolling circumferences.

    Raises:
        ValueError: a circumference is not above 0 mm.

    >>> round(tyre_change_error(2014, 1927).percent, 1)
    4.5
    """
    before = above_zero("before_mm", before_mm, "mm")
    return SpeedometerError(before / above_zero("after_mm", after_mm, "mm"))


@dataclass(frozen=True, slots=True)
class DrivenGear:
    """The driven gear of a turning cable: what it should have and what can be bought.

    `exact_teeth` would read true; `teeth` is the nearest whole number; `error` is that of the
    whole number.
    """

    exact_teeth: float
    teeth: int
    error: SpeedometerError


def driven_gear(
    driving_teeth: int, final_drive: float, circumference_mm: float, cable_turns_per_km: float
) -> DrivenGear:
    """The driven gear that makes a cable turn as its instrument wants.

    `driving_teeth` is the gear (or the starts of the worm) on the gearbox output shaft,
    `cable_turns_per_km` is marked on the instrument's face. More driven teeth read lower.

    Raises:
        ValueError: a value is not above 0, or the nearest whole number of teeth is none.

    >>> gear = driven_gear(7, 3.9, 1927, cable_turns_per_km=637)
    >>> gear.teeth, round(gear.error.percent, 1)
    (22, 1.1)
    """
    above_zero("driving_teeth", driving_teeth)
    above_zero("final_drive", final_drive)
    above_zero("cable_turns_per_km", cable_turns_per_km, "rev/km")
    shaft_turns = final_drive * revs_per_km(circumference_mm)
    exact = driving_teeth * shaft_turns / cable_turns_per_km
    teeth = round(exact)
    if teeth < 1:
        raise ValueError(
            f"cable_turns_per_km is {cable_turns_per_km} rev/km: it must be low enough that the "
            f"driven gear has at least one tooth; it would have {exact:.2f}"
        )
    return DrivenGear(exact, teeth, SpeedometerError(exact / teeth))


@dataclass(frozen=True, slots=True)
class ShownSpeedLimits:
    """The readings a regulation allows at one true speed, in km/h."""

    least_kmh: float
    most_kmh: float

    def allows(self, shown_kmh: float) -> bool:
        """Whether the reading lies within."""
        return self.least_kmh <= shown_kmh <= self.most_kmh


def un_r39_limits(true_kmh: float) -> ShownSpeedLimits:
    """The readings UN Regulation 39 (paragraph 5.3) allows a car or truck in type approval.

    Never less than the true speed, and at most a tenth and 4 km/h above it. Rules for cars in use
    and for motorcycles differ: local law decides.

    Raises:
        ValueError: the speed is negative.

    >>> un_r39_limits(100).most_kmh
    114.0
    """
    zero_or_more("true_kmh", true_kmh, "km/h")
    return ShownSpeedLimits(true_kmh, true_kmh + true_kmh / 10 + 4)


def _counts(name: str, drive: SpeedDrive | float) -> float:
    if isinstance(drive, SpeedDrive):
        return drive.counts_per_km
    return above_zero(name, drive, "counts per km")
