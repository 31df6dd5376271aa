"""The measures of a car, worked out from its parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ...reasoner.calculations.gearing import propshaft_speed_rpm
from ...reasoner.calculations.hooke_joint import equivalent_angle_deg, largest_angle_deg
from ...reasoner.calculations.propshaft import DERATING, critical_speed_rpm
from ...reasoner.drivetrain import AXLES, Drivetrain, MissingFact, station_iri
from .. import syntax as s
from .ground import listed


@dataclass(frozen=True, slots=True)
class Worked:
    """What a sum came to: the sentence, further lines, and yes or no where it is one."""

    headline: str
    lines: tuple[str, ...] = ()
    holds: bool | None = None


def _track_width(drive: Drivetrain) -> Worked:
    known = {axle: drive.track(axle) for axle in AXLES}
    texts = [f"{axle} track {width:.0f} mm" for axle, width in known.items()]
    return Worked(listed(texts), ("twice hub position and reach, less offset, plus spacers",))


def _rolling_circumference(drive: Drivetrain) -> Worked:
    found = {axle: drive.rolling(axle) for axle in AXLES}
    texts = [f"{axle} {r.nominal_mm:.0f} mm" for axle, r in found.items()]
    lines = [
        f"{axle}: {r.least_mm:.0f} to {r.most_mm:.0f} mm by make, load and wear; "
        f"{r.revs_per_km:.1f} turns a kilometre"
        for axle, r in found.items()
    ]
    return Worked(f"rolling circumference {listed(texts)}", tuple(lines))


def _critical_speed(drive: Drivetrain) -> Worked:
    texts, lines = [], []
    for axle in drive.propshafts():
        critical = critical_speed_rpm(drive.tube(axle), drive.joint_centres(axle))
        limit = DERATING * critical
        texts.append(f"{axle} propshaft {critical:.0f} rev/min")
        lines.append(f"{axle}: run it to {limit:.0f} rev/min at most ({DERATING:g} of that)")
        try:
            kmh = drive.road_speed_of_propshaft(axle, limit)
            lines.append(f"{axle}: that is reached at {kmh:.0f} km/h")
            gear = drive.top_gear()
            rpm, most = drive.engine_speed(gear, kmh), drive.number("engine", "engineMaxSpeed")
        except MissingFact:
            continue
        word = "within the engine's reach" if rpm <= most else "beyond the engine's reach"
        lines.append(
            f"{axle}: the engine then turns {rpm:.0f} rev/min in {s.ORDINALS[gear - 1]}, "
            f"{word} (red field from {most:.0f})"
        )
    if not texts:
        raise MissingFact("jointCentres", station_iri("rear-propshaft"), None)
    return Worked(f"critical speed: {listed(texts)}", tuple(lines))


def _joint_angle(drive: Drivetrain) -> Worked:
    texts, lines = [], []
    for axle in drive.propshafts():
        first, second = drive.joint_angles(axle)
        texts.append(f"{axle} propshaft {first:.1f}° and {second:.1f}°")
        uneven = equivalent_angle_deg(first, second)
        lines.append(
            f"{axle}: with the yokes in line it runs as uneven as one joint at {uneven:.1f}°"
        )
        try:
            speed = propshaft_speed_rpm(
                100, drive.rolling(axle).nominal_mm, drive.final_drive(axle)
            )
        except MissingFact:
            continue
        most = largest_angle_deg(speed)
        lines.append(f"{axle}: at 100 km/h keep each joint below {most:.1f}°")
    if not texts:
        raise MissingFact("jointCentres", station_iri("rear-propshaft"), None)
    return Worked(f"joint angles seen from the side: {listed(texts)}", tuple(lines))


def _clutch_capacity(drive: Drivetrain) -> Worked:
    capacity = drive.clutch()
    lines = [f"new, before it has bedded in: {capacity.new_nm:.0f} N·m"]
    holds = None
    try:
        torque = drive.engine_torque()
    except MissingFact:
        return Worked(f"the clutch holds {capacity.worn_nm:.0f} N·m", tuple(lines))
    reserve = capacity.reserve(torque)
    lines.append(f"{reserve:.2f} times the engine's {torque:.0f} N·m (1.2 to 1.5 is usual)")
    if reserve < 1:
        holds = False
        lines.append("it will slip")
    return Worked(f"the clutch holds {capacity.worn_nm:.0f} N·m", tuple(lines), holds)


def _brake_split(drive: Drivetrain) -> Worked:
    split = drive.brake_split()
    share = 100 * split.front_share
    lines = (
        f"at one line pressure the front makes {split.front_nm:.0f} N·m, the rear "
        f"{split.rear_nm:.0f} N·m",
        "without a proportioning valve, which takes from the rear at high pressure",
        "it compares sets of parts; it does not say that one is safe",
    )
    return Worked(f"{share:.1f} % front, {100 - share:.1f} % rear", lines)


def _centre_slip(drive: Drivetrain) -> Worked:
    if not drive.has("front-final-drive"):
        raise MissingFact("ratio", station_iri("front-final-drive"), None)
    slip = drive.slip()
    lines = [
        f"front {slip.front_turns_per_km:.0f}, rear {slip.rear_turns_per_km:.0f} propshaft turns "
        f"a kilometre: {slip.turns_per_km:.1f} apart",
        f"allowed here: {slip.tolerance_percent:g} %",
    ]
    if not slip.within_tolerance:
        lines.append(
            f"that takes out the centre differential; locked, the driveline winds up "
            f"{slip.wind_up_deg_per_m:.0f}° in every metre"
        )
    return Worked(
        f"{slip.percent:.1f} % across the centre differential", tuple(lines), slip.within_tolerance
    )


MEASURES: dict[s.Measure, Callable[[Drivetrain], Worked]] = {
    "track width": _track_width,
    "rolling circumference": _rolling_circumference,
    "propshaft critical speed": _critical_speed,
    "propshaft joint angle": _joint_angle,
    "clutch torque capacity": _clutch_capacity,
    "brake torque split": _brake_split,
    "centre differential slip": _centre_slip,
}
