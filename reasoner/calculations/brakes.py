"""Brake torque of an axle, and how a change of calliper, rotor or cylinder shifts the split.

The figures compare one set of parts with another at the same line pressure and friction. They do
not say that a combination is safe: rear wheels that lock first spin the car. The split must stay
within what the maker and local rules allow, and a licensed technician judges it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

from .limits import above_zero, between, finite, smaller_than, zero_or_more


@dataclass(frozen=True, slots=True)
class DiscBrake:
    """A disc brake of one wheel.

    `pistons_mm` are the diameters of the pistons on ONE side of the rotor: all of a sliding
    calliper, half of a fixed one. `effective_radius_mm` is where the pads rub (see
    `pad_radius_mm`); `friction` is the pads' coefficient.

    Raises:
        ValueError: there is no piston, or a value is out of range.
    """

    pistons_mm: tuple[float, ...]
    effective_radius_mm: float
    friction: float = 0.38

    def __post_init__(self) -> None:
        _bores("pistons_mm", self.pistons_mm)
        above_zero("effective_radius_mm", self.effective_radius_mm, "mm")
        between("friction", self.friction, 0.05, 1)

    @property
    def area_mm2(self) -> float:
        """Piston area on one side, in mm².

        >>> round(DiscBrake((43, 43), 115).area_mm2)
        2904
        """
        return _area(self.pistons_mm)

    def torque_nm(self, pressure_mpa: float) -> float:
        """Torque of one wheel, in N·m, at a line pressure in MPa: both faces of the rotor rub.

        Raises:
            ValueError: the pressure is negative.

        >>> round(DiscBrake((54,), 110, friction=0.4).torque_nm(5))
        1008
        """
        force = zero_or_more("pressure_mpa", pressure_mpa, "MPa") * self.area_mm2
        return 2 * self.friction * force * self.effective_radius_mm / 1000


@dataclass(frozen=True, slots=True)
class DrumBrake:
    """A drum brake of one wheel.

    `cylinder_mm` is the bore of the wheel cylinder, `drum_radius_mm` the drum's inner radius.
    `brake_factor` is drag at the drum over the force of one end of the cylinder, both shoes
    together (from memory: about 2 for leading and trailing shoes at a friction of 0.35, 3 and
    more for two leading shoes); it climbs steeply with friction.

    Raises:
        ValueError: a value is out of range.
    """

    cylinder_mm: float
    drum_radius_mm: float
    brake_factor: float = 2.0

    def __post_init__(self) -> None:
        above_zero("cylinder_mm", self.cylinder_mm, "mm")
        above_zero("drum_radius_mm", self.drum_radius_mm, "mm")
        between("brake_factor", self.brake_factor, 0.3, 10)

    @property
    def area_mm2(self) -> float:
        """Area of the cylinder's bore, in mm²."""
        return _area((self.cylinder_mm,))

    def torque_nm(self, pressure_mpa: float) -> float:
        """Torque of one wheel, in N·m, at a line pressure in MPa.

        Raises:
            ValueError: the pressure is negative.

        >>> round(DrumBrake(20.64, 127).torque_nm(5))
        425
        """
        force = zero_or_more("pressure_mpa", pressure_mpa, "MPa") * self.area_mm2
        return self.brake_factor * force * self.drum_radius_mm / 1000


WheelBrake = DiscBrake | DrumBrake


def pad_radius_mm(outer_mm: float, inner_mm: float) -> float:
    """Where pads rub, in mm, from the radii of their outer and inner edge: the plain mean.

    Bedded-in pads wear to even work, as a clutch facing does.

    Raises:
        ValueError: a radius is not above 0, or the inner not below the outer.

    >>> pad_radius_mm(140, 92)
    116.0
    """
    above_zero("outer_mm", outer_mm, "mm")
    above_zero("inner_mm", inner_mm, "mm")
    return (outer_mm + smaller_than("inner_mm", inner_mm, "outer_mm", outer_mm, "mm")) / 2


@dataclass(frozen=True, slots=True)
class ProportioningValve:
    """Above `knee_mpa` of front pressure the rear rises only by `slope` of each further MPa.

    Raises:
        ValueError: the knee is negative, or the slope not from 0 to 1.
    """

    knee_mpa: float
    slope: float

    def __post_init__(self) -> None:
        zero_or_more("knee_mpa", self.knee_mpa, "MPa")
        between("slope", self.slope, 0, 1)

    def rear_mpa(self, front_mpa: float) -> float:
        """Rear line pressure in MPa.

        >>> ProportioningValve(3, 0.4).rear_mpa(8)
        5.0
        """
        zero_or_more("front_mpa", front_mpa, "MPa")
        return min(front_mpa, self.knee_mpa) + self.slope * max(0.0, front_mpa - self.knee_mpa)


@dataclass(frozen=True, slots=True)
class BrakeSplit:
    """Torque of each axle (both wheels), in N·m, and the tyre radii that turn it into force.

    With equal tyres the radii drop out and may stay 1.
    """

    front_nm: float
    rear_nm: float
    front_tyre_mm: float = 1.0
    rear_tyre_mm: float = 1.0

    @property
    def front_share(self) -> float:
        """Share of the braking force at the road that the front axle makes, from 0 to 1."""
        front = self.front_nm / self.front_tyre_mm
        return front / (front + self.rear_nm / self.rear_tyre_mm)


def brake_split(
    front: WheelBrake,
    rear: WheelBrake,
    pressure_mpa: float,
    valve: ProportioningValve | None = None,
    tyre_radii_mm: tuple[float, float] = (1.0, 1.0),
) -> BrakeSplit:
    """Torque of both axles and their split at a line pressure in MPa.

    `tyre_radii_mm` are the rolling radii front and rear, where they differ.

    Raises:
        ValueError: the pressure or a tyre radius is not above 0.

    >>> split = brake_split(DiscBrake((54,), 110), DrumBrake(20.64, 127), 5)
    >>> round(split.front_nm), round(split.rear_nm), round(split.front_share, 3)
    (1915, 850, 0.693)
    """
    above_zero("pressure_mpa", pressure_mpa, "MPa")
    front_tyre, rear_tyre = tyre_radii_mm
    rear_pressure = pressure_mpa if valve is None else valve.rear_mpa(pressure_mpa)
    return BrakeSplit(
        front_nm=2 * front.torque_nm(pressure_mpa),
        rear_nm=2 * rear.torque_nm(rear_pressure),
        front_tyre_mm=above_zero("tyre_radii_mm[0]", front_tyre, "mm"),
        rear_tyre_mm=above_zero("tyre_radii_mm[1]", rear_tyre, "mm"),
    )


@dataclass(frozen=True, slots=True)
class BrakeChange:
    """A split before and after a change of parts, at the same pressure.

    `front_percent` and `rear_percent` are the change of each axle's torque in percent.
    `fluid_percent` is the change of piston area and so, roughly, of pedal travel.
    """

    before: BrakeSplit
    after: BrakeSplit
    front_percent: float
    rear_percent: float
    fluid_percent: float

    @property
    def shift_points(self) -> float:
        """How far the split moves to the front, in percentage points; negative to the rear."""
        return 100 * (self.after.front_share - self.before.front_share)

    @property
    def moves_rearward(self) -> bool:
        """Whether the rear does more than before, so that it may lock sooner."""
        return self.after.front_share < self.before.front_share


def brake_change(
    before: tuple[WheelBrake, WheelBrake],
    after: tuple[WheelBrake, WheelBrake],
    pressure_mpa: float,
    valve: ProportioningValve | None = None,
) -> BrakeChange:
    """Compare two sets of (front, rear) brakes at one line pressure in MPa, on equal tyres.

    Raises:
        ValueError: the pressure is not above 0 MPa.

    >>> old = (DiscBrake((54,), 110), DrumBrake(20.64, 127))
    >>> new = (DiscBrake((43, 43), 122), DrumBrake(20.64, 127))
    >>> change = brake_change(old, new, 5)
    >>> round(change.front_percent, 1), round(change.shift_points, 1), change.moves_rearward
    (40.7, 6.8, False)
    """
    was = brake_split(*before, pressure_mpa, valve)
    now = brake_split(*after, pressure_mpa, valve)
    # A sliding calliper and a wheel cylinder take one piston area of fluid per unit of travel on
    # each side; the sum stands for the fluid both take up.
    area_was, area_now = (sum(brake.area_mm2 for brake in pair) for pair in (before, after))
    return BrakeChange(
        before=was,
        after=now,
        front_percent=100 * (now.front_nm / was.front_nm - 1),
        rear_percent=100 * (now.rear_nm / was.rear_nm - 1),
        fluid_percent=100 * (area_now / area_was - 1),
    )


def front_load_share(
    static_front_share: float, braking_g: float, height_mm: float, wheelbase_mm: float
) -> float:
    """Share of the weight on the front axle while braking at `braking_g` (deceleration over g).

    The split at which both axles would lock together on an even road.

    Raises:
        ValueError: the static share is not from 0 to 1, a measure is not above 0, or the braking
            is so hard that the rear axle would lift.

    >>> round(front_load_share(0.55, 0.8, height_mm=600, wheelbase_mm=2700), 3)
    0.728
    """
    between("static_front_share", static_front_share, 0, 1)
    zero_or_more("braking_g", braking_g)
    above_zero("height_mm", height_mm, "mm")
    above_zero("wheelbase_mm", wheelbase_mm, "mm")
    share = static_front_share + braking_g * height_mm / wheelbase_mm
    if share > 1:
        most = (1 - static_front_share) * wheelbase_mm / height_mm
        raise ValueError(
            f"braking_g is {braking_g}: it must be at most {most:.2f}, where the rear axle lifts"
        )
    return share


def rear_locks_first(front_share: float, front_load: float) -> bool:
    """Whether the rear wheels lock before the front: the front brakes less than its load share.

    Raises:
        ValueError: a share is not from 0 to 1.

    >>> rear_locks_first(0.65, front_load=0.73)
    True
    """
    between("front_share", front_share, 0, 1)
    return front_share < between("front_load", front_load, 0, 1)


def _area(bores_mm: Sequence[float]) -> float:
    return sum(pi / 4 * bore**2 for bore in bores_mm)


def _bores(name: str, bores_mm: Sequence[float]) -> None:
    if not bores_mm:
        raise ValueError(f"{name} is empty: at least one piston is needed")
    for place, bore in enumerate(bores_mm):
        above_zero(f"{name}[{place}]", finite(f"{name}[{place}]", bore, "mm"), "mm")
