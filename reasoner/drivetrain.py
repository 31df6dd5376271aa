"""What a build makes of engine, gears, axles, tyres and brakes: the facts that sums rest on.

Every sum reads its values from the parts on the build and remembers which. A value that nobody
stated stops the sum and says which one, of which part, and how to measure it; nothing is assumed
in its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import atan, degrees
from typing import Literal, TypeAlias

from .build import Build, stock_build
from .calculations.brakes import BrakeSplit, DiscBrake, DrumBrake, WheelBrake, brake_split
from .calculations.clutch import ClutchCapacity, Facing, clutch_capacity
from .calculations.gearing import engine_speed_rpm, propshaft_speed_rpm, road_speed_kmh
from .calculations.propshaft import Tube
from .calculations.slip import AxlePath, CentreSlip, centre_slip
from .calculations.speedometer import SpeedDrive, SpeedometerError, speedometer_error
from .calculations.track import track_from_faces
from .calculations.tyres import RollingCircumference, parse_tyre, rolling_circumference
from .catalogue import Catalogue, Part
from .errors import KnockonError
from .interfaces.kind import EndValues, Value
from .interfaces.ratio import stated_ratio

Axle: TypeAlias = Literal["front", "rear"]
AXLES: tuple[Axle, ...] = ("front", "rear")

_STATION = "https://knockon.example/station/"
_ROLE = "https://knockon.example/role/"
_TRACK_SETTERS: dict[Axle, str] = {"front": "front-control-arm", "rear": "rear-knuckle"}
_SLIP_TOLERANCE = "ratio"
LINE_PRESSURE_MPA = 5.0
"""Brakes are compared at this line pressure; with no valve the split is the same at any other."""


def station_iri(name: str) -> str:
    """The IRI of a station by its last segment."""
    return _STATION + name


@dataclass(frozen=True, slots=True)
class UsedFact:
    """A value a sum has used: at which station, of which part, called what, who says so."""

    station: str
    part: str
    quantity: str
    value: Value
    sources: tuple[str, ...]


class MissingFact(KnockonError):
    """A sum lacks a value. `part` is None where the station itself is empty or not on the car."""

    def __init__(self, quantity: str, station: str, part: str | None) -> None:
        self.quantity, self.station, self.part = quantity, station, part
        super().__init__(f"{quantity} of {part or station} is not known")


class Drivetrain:
    """Reads the facts of one build. `used` lists every value read so far, in order."""

    def __init__(self, catalogue: Catalogue, build: Build) -> None:
        self.catalogue, self.build = catalogue, build
        self._used: dict[tuple[str, str], UsedFact] = {}

    @property
    def used(self) -> tuple[UsedFact, ...]:
        """Every value that has been read, in the order it was first read."""
        return tuple(self._used.values())

    # ------------------------------------------------------------------ facts

    def part(self, station: str) -> Part | None:
        """The part at a station, by the station's last segment."""
        return self.build.part(self.catalogue, station_iri(station))

    def has(self, station: str) -> bool:
        """Whether something sits at a station."""
        return self.part(station) is not None

    def stated(self, station: str, quantity: str) -> Value:
        """A value that the part at a station states beside its ends.

        Raises:
            MissingFact: nobody stated it, or nothing sits there.
        """
        part = self.part(station)
        value = part.attributes.get(quantity) if part else None
        if part is None or value is None:
            raise MissingFact(quantity, station_iri(station), part.iri if part else None)
        self._note(station, part, quantity, value, part.sources)
        return value

    def number(self, station: str, quantity: str) -> float:
        """As `stated`, as a number."""
        value = self.stated(station, quantity)
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise MissingFact(quantity, station_iri(station), None)
        return float(value)

    def of_end(self, station: str, role: str, quantity: str) -> Value:
        """A value of the end with a role on the part at a station, the strongest claim.

        Raises:
            MissingFact: nobody stated it, the part has no such end, or nothing sits there.
        """
        part = self.part(station)
        for end in part.ends.get(_ROLE + role, ()) if part else ():
            claims = self.catalogue.ends[end].claims.get(quantity)
            if part and claims:
                self._note(station, part, quantity, claims[0].value, claims[0].sources)
                return claims[0].value
        raise MissingFact(quantity, station_iri(station), part.iri if part else None)

    def end_number(self, station: str, role: str, quantity: str) -> float:
        """As `of_end`, as a number."""
        value = self.of_end(station, role, quantity)
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise MissingFact(quantity, station_iri(station), None)
        return float(value)

    def _note(
        self, station: str, part: Part, quantity: str, value: Value, sources: tuple[str, ...]
    ) -> None:
        fact = UsedFact(station_iri(station), part.iri, quantity, value, sources)
        self._used.setdefault((station, quantity), fact)

    # ------------------------------------------------------------------ tyres and gears

    def rolling(self, axle: Axle) -> RollingCircumference:
        """Rolling circumference of the tyre of an axle."""
        return rolling_circumference(parse_tyre(str(self.stated(f"{axle}-wheel", "tyreSize"))))

    def final_drive(self, axle: Axle) -> float:
        """Ratio of the final drive of an axle, from tooth counts where they are stated."""
        station = f"{axle}-final-drive"
        part = self.part(station)
        for end in part.ends.get(_ROLE + "final-ratio", ()) if part else ():
            claims = self.catalogue.ends[end].claims
            values = {name: claims[name][0].value for name in claims}
            ratio = stated_ratio(EndValues(values=values))
            if ratio is not None and part is not None:
                for name in ("drivenTeeth", "drivingTeeth", "ratio"):
                    if name in values and (name != "ratio" or "drivenTeeth" not in values):
                        sources = claims[name][0].sources
                        self._note(station, part, name, values[name], sources)
                return float(ratio)
        raise MissingFact("ratio", station_iri(station), part.iri if part else None)

    def driven_axle(self) -> Axle:
        """The axle that is driven on its own, or always: the rear, unless the car has none."""
        rear = station_iri("rear-final-drive") in self.build.fits
        front = station_iri("front-final-drive") in self.build.fits
        return "front" if front and not rear else "rear"

    def gear(self, gear: int) -> float:
        """Ratio of one gear."""
        return self.number("gearbox", f"gear{gear}")

    def top_gear(self) -> int:
        """The highest gear whose ratio is stated."""
        part = self.part("gearbox")
        known = [n for n in range(1, 9) if part and f"gear{n}" in part.attributes]
        if not known:
            raise MissingFact("gear5", station_iri("gearbox"), part.iri if part else None)
        return max(known)

    def transfer(self) -> float:
        """High range of the transfer box; 1 where the car has none."""
        return self.number("transfer-box", "transferHigh") if self.has("transfer-box") else 1.0

    def engine_speed(self, gear: int, kmh: float) -> float:
        """Engine speed in rev/min at a road speed in km/h."""
        axle = self.driven_axle()
        circumference = self.rolling(axle).nominal_mm
        ratio, final = self.gear(gear), self.final_drive(axle)
        return engine_speed_rpm(kmh, circumference, ratio, final, self.transfer())

    def road_speed(self, gear: int, rpm: float) -> float:
        """Road speed in km/h at an engine speed in rev/min."""
        axle = self.driven_axle()
        circumference = self.rolling(axle).nominal_mm
        ratio, final = self.gear(gear), self.final_drive(axle)
        return road_speed_kmh(rpm, circumference, ratio, final, self.transfer())

    def slip(self) -> CentreSlip:
        """What unequal final drives or tyres do between front and rear.

        Raises:
            MissingFact: a ratio or tyre is not stated, or the car does not drive both axles.
        """
        paths = [AxlePath(self.final_drive(a), self.rolling(a).nominal_mm) for a in AXLES]
        tolerance = self.catalogue.tolerances.get("Ratio", {}).get(_SLIP_TOLERANCE, Decimal(0))
        return centre_slip(paths[0], paths[1], float(tolerance) * 100)

    # ------------------------------------------------------------------ speedometer

    def speed_drive(self) -> SpeedDrive:
        """Where the speedometer's count comes from, and how many counts it makes.

        Raises:
            MissingFact: a value is not stated, or a converter decides (the converter is named).
        """
        axle = self.driven_axle()
        circumference = self.rolling(axle).nominal_mm
        dash = self.part("dashboard")
        if dash is not None and _ROLE + "speed-bus-in" in dash.ends:
            return SpeedDrive(1.0, 1.0, circumference)
        converter = self.part("speed-converter")
        if converter is not None:
            raise MissingFact("pulsesPerTurn", station_iri("speed-converter"), converter.iri)
        final = self.final_drive(axle)
        if str(self.of_end("speed-sensor", "speed-out", "signalForm")) == "cable":
            driving = self.number("gearbox", "cableDrivingTeeth")
            driven = self.number("speed-sensor", "cableDrivenTeeth")
            return SpeedDrive(driving / driven, final, circumference)
        pulses = self.end_number("speed-sensor", "speed-out", "pulsesPerTurn")
        return SpeedDrive(pulses, final, circumference)

    def speedometer(self) -> SpeedometerError:
        """How far the speedometer is out, taking it as right on the car its dashboard came in.

        Raises:
            MissingFact: a value is not stated, on this build or on that car.
        """
        home = Drivetrain(self.catalogue, self._home_of_dashboard())
        return speedometer_error(home.speed_drive(), self.speed_drive())

    def _home_of_dashboard(self) -> Build:
        """This car as it left the works if it had this dashboard; else the first that had."""
        station, cars = station_iri("dashboard"), self.catalogue.cars
        dash = self.build.fits.get(station)
        for car in (cars[self.build.car], *cars.values()):
            fit = car.fits.get(station)
            if dash is not None and fit is not None and fit.part == dash:
                return stock_build(self.catalogue, car)
        return stock_build(self.catalogue, cars[self.build.car])

    # ------------------------------------------------------------------ track, clutch, brakes

    def track(self, axle: Axle) -> float:
        """Track width in mm: twice hub position and reach of the hub, less offset, plus spacer."""
        half = self.end_number(_TRACK_SETTERS[axle], "track", "length")
        faces = 2 * (half + self.number(f"{axle}-hub", "faceReach"))
        adapter = f"{axle}-wheel-adapter"
        spacer = self.number(adapter, "spacerThickness") if self.has(adapter) else 0.0
        return track_from_faces(faces, self.number(f"{axle}-wheel", "wheelOffset"), spacer)

    def clutch(self) -> ClutchCapacity:
        """Torque the clutch holds."""
        outer = self.number("clutch-disc", "facingOuter")
        facing = Facing(outer, self.number("clutch-disc", "facingInner"))
        friction = self.number("clutch-disc", "friction")
        clamp = self.number("clutch-cover", "clampLoad")
        return clutch_capacity(facing, clamp, friction, int(self._or_two("frictionFaces")))

    def _or_two(self, quantity: str) -> float:
        """A plate has two faces unless it says otherwise: that much geometry needs no source."""
        try:
            return self.number("clutch-disc", quantity)
        except MissingFact:
            return 2.0

    def engine_torque(self) -> float:
        """The engine's highest torque in N·m."""
        return self.number("engine", "engineTorque")

    def brake(self, axle: Axle) -> WheelBrake:
        """The brake of one wheel of an axle: a disc where there is a calliper, else a drum."""
        calliper = f"{axle}-calliper"
        if self.has(calliper):
            bore = self.number(calliper, "pistonDiameter")
            pistons = int(self.number(calliper, "pistonsPerSide"))
            radius = self.number(f"{axle}-rotor", "effectiveRadius")
            return DiscBrake((bore,) * pistons, radius, self.number(calliper, "padFriction"))
        bore = self.number(f"{axle}-wheel-cylinder", "cylinderBore")
        return DrumBrake(bore, self.number(f"{axle}-drum", "drumRadius"))

    def brake_split(self) -> BrakeSplit:
        """Brake torque of both axles at the same line pressure."""
        tyres = tuple(self.rolling(axle).nominal_mm for axle in AXLES)
        front, rear = self.brake("front"), self.brake("rear")
        return brake_split(front, rear, LINE_PRESSURE_MPA, tyre_radii_mm=(tyres[0], tyres[1]))

    # ------------------------------------------------------------------ propshafts

    def propshafts(self) -> tuple[Axle, ...]:
        """The axles that have a propshaft."""
        return tuple(axle for axle in AXLES if self.has(f"{axle}-propshaft"))

    def tube(self, axle: Axle) -> Tube:
        """The tube of a propshaft."""
        station = f"{axle}-propshaft"
        return Tube(self.number(station, "tubeOuter"), self.number(station, "tubeWall"))

    def joint_centres(self, axle: Axle) -> float:
        """Length in mm between joint centres of the longest piece of a propshaft."""
        return self.number(f"{axle}-propshaft", "jointCentres")

    def road_speed_of_propshaft(self, axle: Axle, rpm: float) -> float:
        """Road speed in km/h at which a propshaft turns at `rpm` rev/min."""
        at_one_kmh = propshaft_speed_rpm(1, self.rolling(axle).nominal_mm, self.final_drive(axle))
        return rpm / at_one_kmh

    def joint_angles(self, axle: Axle) -> tuple[float, float]:
        """Angles in degrees of a propshaft's joints from the side, gearbox end first."""
        output = "transfer-box" if self.has("transfer-box") else "gearbox"
        drop = self.number(output, "outputHeight") - self.number(
            f"{axle}-final-drive", "pinionHeight"
        )
        slope = degrees(atan(drop / self.joint_centres(axle)))
        first = abs(slope - self.number(output, "outputSlope"))
        return first, abs(slope - self.number(f"{axle}-final-drive", "pinionSlope"))
