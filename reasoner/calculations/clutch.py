"""How much torque a dry plate clutch holds.

Two classic assumptions bracket the truth: a new facing carries the clamp load at even pressure;
once bedded in, the outside has worn until pressure times radius is even, and it holds a little
less. Judge a clutch by the worn value.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from .limits import above_zero, between, smaller_than


@dataclass(frozen=True, slots=True)
class Facing:
    """The ring of friction material: outer and inner diameter in mm.

    Raises:
        ValueError: a diameter is not above 0, or the inner not below the outer.
    """

    outer_mm: float
    inner_mm: float

    def __post_init__(self) -> None:
        above_zero("outer_mm", self.outer_mm, "mm")
        above_zero("inner_mm", self.inner_mm, "mm")
        smaller_than("inner_mm", self.inner_mm, "outer_mm", self.outer_mm, "mm")

    @property
    def area_mm2(self) -> float:
        """Area of one face in mm²."""
        return pi / 4 * (self.outer_mm**2 - self.inner_mm**2)

    @property
    def worn_radius_mm(self) -> float:
        """Radius at which the friction acts by uniform wear: the plain mean, in mm.

        >>> Facing(240, 160).worn_radius_mm
        100.0
        """
        return (self.outer_mm + self.inner_mm) / 4

    @property
    def new_radius_mm(self) -> float:
        """Radius at which the friction acts by uniform pressure, in mm.

        >>> round(Facing(240, 160).new_radius_mm, 2)
        101.33
        """
        outer, inner = self.outer_mm / 2, self.inner_mm / 2
        # The difference of the cubes over that of the squares, divided through by outer − inner.
        return 2 / 3 * (outer**2 + outer * inner + inner**2) / (outer + inner)


@dataclass(frozen=True, slots=True)
class ClutchCapacity:
    """Torque a clutch holds, in N·m: bedded in (uniform wear) and new (uniform pressure)."""

    worn_nm: float
    new_nm: float

    def reserve(self, engine_nm: float) -> float:
        """Worn capacity over engine torque.

        Common practice is 1.2 to 1.5 for a road car and more for towing.

        Raises:
            ValueError: the torque is not above 0 N·m.
        """
        return self.worn_nm / above_zero("engine_nm", engine_nm, "N·m")

    def holds(self, engine_nm: float, service_factor: float) -> bool:
        """Whether the worn capacity is at least `service_factor` times the engine torque.

        Raises:
            ValueError: the torque is not above 0 N·m, or the factor below 1.

        >>> clutch_capacity(Facing(240, 160), clamp_n=5500, friction=0.3).holds(250, 1.3)
        True
        """
        between("service_factor", service_factor, 1, 10)
        return self.reserve(engine_nm) >= service_factor


def clutch_capacity(
    facing: Facing, clamp_n: float, friction: float, faces: int = 2
) -> ClutchCapacity:
    """Torque capacity from the clamp load in N and the coefficient of friction.

    `faces` is the number of rubbing faces: two for each plate. Oil, heat and a worn spring lower
    both friction and clamp load.

    Raises:
        ValueError: the load is not above 0 N, the friction not from 0.05 to 1, or there is no
            face.

    >>> clutch_capacity(Facing(240, 160), clamp_n=5500, friction=0.3).worn_nm
    330.0
    """
    grip = _grip(friction, faces) * above_zero("clamp_n", clamp_n, "N") / 1000
    return ClutchCapacity(grip * facing.worn_radius_mm, grip * facing.new_radius_mm)


def clamp_needed_n(facing: Facing, torque_nm: float, friction: float, faces: int = 2) -> float:
    """Clamp load, in N, for the worn clutch to hold a torque.

    Raises:
        ValueError: the torque is not above 0 N·m, the friction not from 0.05 to 1, or there is no
            face.

    >>> round(clamp_needed_n(Facing(240, 160), 330, friction=0.3))
    5500
    """
    above_zero("torque_nm", torque_nm, "N·m")
    return torque_nm * 1000 / (_grip(friction, faces) * facing.worn_radius_mm)


def mean_pressure_mpa(facing: Facing, clamp_n: float) -> float:
    """Clamp load over area, in MPa (N/mm²): the pressure of a new facing.

    Raises:
        ValueError: the load is not above 0 N.

    >>> round(mean_pressure_mpa(Facing(240, 160), 5500), 3)
    0.219
    """
    return above_zero("clamp_n", clamp_n, "N") / facing.area_mm2


def worn_peak_pressure_mpa(facing: Facing, clamp_n: float) -> float:
    """The highest pressure on a worn facing, at its inner edge, in MPa.

    Raises:
        ValueError: the load is not above 0 N.

    >>> round(worn_peak_pressure_mpa(Facing(240, 160), 5500), 3)
    0.274
    """
    width = (facing.outer_mm - facing.inner_mm) / 2
    return above_zero("clamp_n", clamp_n, "N") / (pi * facing.inner_mm * width)


def clamp_at_peak_pressure_n(facing: Facing, peak_mpa: float) -> float:
    """Clamp load, in N, that brings a worn facing to a highest pressure in MPa.

    Raises:
        ValueError: the pressure is not above 0 MPa.

    >>> round(clamp_at_peak_pressure_n(Facing(240, 160), 0.25))
    5027
    """
    width = (facing.outer_mm - facing.inner_mm) / 2
    return above_zero("peak_mpa", peak_mpa, "MPa") * pi * facing.inner_mm * width


def _grip(friction: float, faces: int) -> float:
    between("friction", friction, 0.05, 1)
    return friction * above_zero("faces", faces)
