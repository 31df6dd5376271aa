"""How fast a propshaft may turn: critical speed of a hollow tube, longest tube for a speed.

A shaft whirls when it turns as often as it would swing in its first bending mode. The tube is an
Euler–Bernoulli beam of even section; length is from joint centre to joint centre. Yokes, welds,
the sliding joint, soft mounts and balance lower the real figure, which is why nothing runs at the
computed speed: a derating factor below one says how far below it to stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import pi, sqrt

from .limits import above_zero, between, share, smaller_than, zero_or_more

DERATING = 0.7
"""Share of the computed critical speed at which a road vehicle's shaft may run (common practice:
0.65 to 0.75, lower with a sliding joint or an old tube)."""


class EndCondition(Enum):
    """How the ends are held; the value is (βL)² of the first bending mode."""

    PINNED = pi**2
    """Free to tilt at both ends: a shaft between two universal joints."""
    CLAMPED_PINNED = 15.4182057
    """One end held stiffly in a long bearing, the other free to tilt."""
    CLAMPED = 22.3732854
    """Both ends held against tilting."""


@dataclass(frozen=True, slots=True)
class Material:
    """Young's modulus in GPa and density in kg/m³.

    Raises:
        ValueError: a value is not above 0.
    """

    youngs_modulus_gpa: float
    density_kg_m3: float

    def __post_init__(self) -> None:
        above_zero("youngs_modulus_gpa", self.youngs_modulus_gpa, "GPa")
        above_zero("density_kg_m3", self.density_kg_m3, "kg/m³")


STEEL = Material(206.0, 7850.0)
ALUMINIUM = Material(70.0, 2700.0)


@dataclass(frozen=True, slots=True)
class Tube:
    """A round tube: outer diameter and wall in mm; a wall of half the diameter is a solid bar.

    Raises:
        ValueError: a measure is not above 0, or the wall is thicker than the radius.
    """

    outer_mm: float
    wall_mm: float
    material: Material = STEEL

    def __post_init__(self) -> None:
        above_zero("outer_mm", self.outer_mm, "mm")
        above_zero("wall_mm", self.wall_mm, "mm")
        between("wall_mm", self.wall_mm, 0, self.outer_mm / 2, "mm")

    @property
    def inner_mm(self) -> float:
        """Inner diameter in mm."""
        return self.outer_mm - 2 * self.wall_mm

    @property
    def second_moment_mm4(self) -> float:
        """Second moment of area in mm⁴.

        >>> round(Tube(76.2, 3.0).second_moment_mm4 / 1e4, 2)
        46.29
        """
        return pi / 64 * (self.outer_mm**4 - self.inner_mm**4)

    @property
    def kg_per_m(self) -> float:
        """Mass of one metre in kg.

        >>> round(Tube(76.2, 3.0).kg_per_m, 3)
        5.416
        """
        area_mm2 = pi / 4 * (self.outer_mm**2 - self.inner_mm**2)
        return area_mm2 * 1e-6 * self.material.density_kg_m3

    @property
    def stiffness_nm2(self) -> float:
        """Bending stiffness E·I in N·m²."""
        return self.material.youngs_modulus_gpa * 1e9 * self.second_moment_mm4 * 1e-12


def critical_speed_rpm(
    tube: Tube, length_mm: float, ends: EndCondition = EndCondition.PINNED
) -> float:
    """The first critical (whirling) speed of an even tube, in rev/min.

    Raises:
        ValueError: the length is not above 0 mm.

    >>> round(critical_speed_rpm(Tube(76.2, 2.11), 1400), -1)
    6460.0
    """
    length_m = above_zero("length_mm", length_mm, "mm") / 1000
    radians_per_second = ends.value / length_m**2 * sqrt(tube.stiffness_nm2 / tube.kg_per_m)
    return radians_per_second * 30 / pi


def maximum_safe_speed_rpm(
    tube: Tube,
    length_mm: float,
    derating: float = DERATING,
    ends: EndCondition = EndCondition.PINNED,
) -> float:
    """The highest speed to run at, in rev/min: `derating` times the critical speed.

    Raises:
        ValueError: the length is not above 0 mm, or the derating not above 0 and at most 1.

    >>> round(maximum_safe_speed_rpm(Tube(76.2, 2.11), 1400), -1)
    4520.0
    """
    return share("derating", derating) * critical_speed_rpm(tube, length_mm, ends)


def maximum_length_mm(
    tube: Tube,
    speed_rpm: float,
    derating: float = DERATING,
    ends: EndCondition = EndCondition.PINNED,
) -> float:
    """The longest tube, in mm between joint centres, that may run at `speed_rpm`.

    Raises:
        ValueError: the speed is not above 0, or the derating not above 0 and at most 1.

    >>> round(maximum_length_mm(Tube(76.2, 2.11), 4520), -1)
    1400.0
    """
    above_zero("speed_rpm", speed_rpm, "rev/min")
    share("derating", derating)
    return 1000 * sqrt(derating * critical_speed_rpm(tube, 1000, ends) / speed_rpm)


def point_mass_critical_speed_rpm(
    tube: Tube, length_mm: float, mass_kg: float, at_mm: float
) -> float:
    """Critical speed, in rev/min, of one mass alone on a weightless pinned tube.

    `at_mm` is where it sits, from one joint centre: a sliding joint or a damper, for `dunkerley`.

    Raises:
        ValueError: a value is not above 0, or the mass sits beyond the end.

    >>> round(point_mass_critical_speed_rpm(Tube(76.2, 2.11), 1400, 2.0, 700), -1)
    7440.0
    """
    above_zero("length_mm", length_mm, "mm")
    above_zero("mass_kg", mass_kg, "kg")
    above_zero("at_mm", at_mm, "mm")
    smaller_than("at_mm", at_mm, "length_mm", length_mm, "mm")
    near, length = at_mm / 1000, length_mm / 1000
    newtons_per_metre = 3 * tube.stiffness_nm2 * length / (near**2 * (length - near) ** 2)
    return sqrt(newtons_per_metre / mass_kg) * 30 / pi


def dunkerley_rpm(speeds_rpm: Sequence[float]) -> float:
    """Critical speed of a shaft that carries several masses, from those of each alone, in rev/min.

    Dunkerley's rule: the reciprocals of the squares add up. The result is never above the truth.

    Raises:
        ValueError: no speed is given, or one is not above 0.

    >>> round(dunkerley_rpm([3000, 4000]))
    2400
    """
    if not speeds_rpm:
        raise ValueError("speeds_rpm is empty: at least one critical speed is needed")
    each = (above_zero(f"speeds_rpm[{i}]", n, "rev/min") for i, n in enumerate(speeds_rpm))
    return 1 / sqrt(sum(1 / n**2 for n in each))


@dataclass(frozen=True, slots=True)
class ShaftSpeedVerdict:
    """Whether a shaft may run at a speed; all speeds in rev/min.

    `margin_percent` is how far the limit lies above the speed, in percent of the speed; negative
    if below.
    """

    speed_rpm: float
    critical_rpm: float
    limit_rpm: float

    @property
    def runs(self) -> bool:
        """Whether the speed stays at or below the limit."""
        return self.speed_rpm <= self.limit_rpm

    @property
    def margin_percent(self) -> float:
        """See the class; infinite at rest."""
        return float("inf") if self.speed_rpm == 0 else 100 * (self.limit_rpm / self.speed_rpm - 1)


def shaft_speed_verdict(
    tube: Tube,
    length_mm: float,
    speed_rpm: float,
    derating: float = DERATING,
    ends: EndCondition = EndCondition.PINNED,
) -> ShaftSpeedVerdict:
    """Judge a shaft at the fastest it will turn.

    Raises:
        ValueError: the length is not above 0 mm, the speed negative, or the derating not above 0
            and at most 1.

    >>> shaft_speed_verdict(Tube(63.5, 1.65), 1650, 4300).runs
    False
    """
    return ShaftSpeedVerdict(
        speed_rpm=zero_or_more("speed_rpm", speed_rpm, "rev/min"),
        critical_rpm=critical_speed_rpm(tube, length_mm, ends),
        limit_rpm=maximum_safe_speed_rpm(tube, length_mm, derating, ends),
    )
