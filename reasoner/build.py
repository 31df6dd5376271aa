"""A build: the car as it stands, with the part at every station."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from .catalogue import Car, Catalogue, Joint, Part, Standing
from .interfaces.kind import Outcome
from .mating import PROVEN, Mate, Mating
from .remembering import remember
from .shelf import read_ahead


@dataclass(frozen=True, slots=True)
class Build:
    """`fits` has every station of the car, optional ones included; None is an empty station.

    `name` is what people call it, `car` the stock build it started from, `changed` the stations
    that differ from stock.
    """

    car: str
    name: str
    fits: Mapping[str, str | None]
    changed: tuple[str, ...] = field(default=())

    def part(self, catalogue: Catalogue, station: str) -> Part | None:
        """The part at `station`, or None where it is empty or not on this car."""
        iri = self.fits.get(station)
        return catalogue.parts[iri] if iri else None


def stock_build(catalogue: Catalogue, car: Car) -> Build:
    """The car as it left the works, with every optional station (adapters …) there and empty."""
    fits: dict[str, str | None] = {
        iri: None for iri, station in catalogue.stations.items() if station.may_stand_empty
    }
    fits.update({station: fit.part for station, fit in car.fits.items()})
    return Build(car.iri, car.label, dict(sorted(fits.items())))


def modified(build: Build, fits: Mapping[str, str | None], name: str = "") -> Build:
    """The build with other parts at some stations.

    Raises:
        KeyError: a station is not on this car.
    """
    unknown = sorted(set(fits) - set(build.fits))
    if unknown:
        raise KeyError(unknown[0])
    changed = tuple(sorted({*build.changed, *fits}))
    return Build(build.car, name or build.name, {**build.fits, **fits}, changed)


def joints_of(catalogue: Catalogue, build: Build) -> tuple[Joint, ...]:
    """The joints that hold on this build: its stations are there and the joint is meant for it.

    In a chain, a member that may stand alone may also have no station on the car.
    """
    car = catalogue.cars[build.car]
    scope = {car.iri, car.generation, car.line}
    found = []
    for joint in catalogue.joints.values():
        if joint.only_on and not joint.only_on & scope:
            continue
        needed = (
            m.station
            for m in joint.members
            if len(joint.members) == 2 or m.alone != "MayStandAlone"
        )
        if all(station in build.fits for station in needed):
            found.append(joint)
    return tuple(found)


def meetings(mating: Mating, build: Build) -> tuple[Mate, ...]:
    """What comes of every joint of the build as it stands."""
    catalogue = mating.catalogue
    found: list[Mate] = []
    for joint in joints_of(catalogue, build):
        found.extend(mating.meet(joint, _parts(catalogue, build, joint)))
    return tuple(found)


_MOST_CARS = 500
"""Of so many cars it is remembered how they stand."""


@dataclass(frozen=True, slots=True, eq=False)
class AsItStands:
    """A build with the joints that hold on it, and those `amiss` at which something clashes or
    nobody has proven that it fits."""

    build: Build
    joints: tuple[Joint, ...]
    amiss: frozenset[str]

    def mates_amiss(self, mating: Mating) -> tuple[Mate, ...]:
        """What comes of the joints that are amiss."""
        return tuple(
            mate
            for joint in self.joints
            if joint.iri in self.amiss
            for mate in mating.meet(joint, _parts(mating.catalogue, self.build, joint))
        )

    def clashes(self, mating: Mating) -> tuple[Mate, ...]:
        """The joints that clash."""
        return tuple(m for m in self.mates_amiss(mating) if m.outcome is Outcome.CLASHES)


def as_it_stands(mating: Mating, build: Build, floor: Standing = PROVEN) -> AsItStands:
    """The build with nothing changed, where claims weaker than `floor` prove nothing.

    What was found of the last cars is remembered.
    """
    known = mating.as_they_stand
    at = (build.car, tuple(build.fits.items()), floor)
    found = known.get(at)
    if not isinstance(found, AsItStands):
        found = _look(mating, build, floor)
        remember(known, at, found, _MOST_CARS)
    return replace(found, build=build)


def _look(mating: Mating, build: Build, floor: Standing) -> AsItStands:
    catalogue = mating.catalogue
    joints = joints_of(catalogue, build)
    read_ahead(catalogue.parts, (part for part in build.fits.values() if part))
    amiss = frozenset(
        joint.iri
        for joint in joints
        for said in outcomes_at(mating, build, joint, floor)
        if said is not Outcome.MATES
    )
    return AsItStands(build, joints, amiss)


def outcomes_at(mating: Mating, build: Build, joint: Joint, floor: Standing) -> tuple[Outcome, ...]:
    """What comes of a joint of the build as it stands, without any findings."""
    return mating.outcomes(joint, _parts(mating.catalogue, build, joint), floor)


def clashes(mating: Mating, build: Build) -> tuple[Mate, ...]:
    """The joints of the build that clash as it stands; a sound car has none."""
    return as_it_stands(mating, build).clashes(mating)


def _parts(catalogue: Catalogue, build: Build, joint: Joint) -> list[Part | None]:
    return [build.part(catalogue, station) for station in joint.stations]
