"""Where a part fits: on which cars as it is, on which with changes, on which not at all and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from .build import Build, stock_build
from .fewest import fewest, why_not, why_not_like
from .mating import Mating
from .problem import Reason, Wishes


class Fits(StrEnum):
    """How a part goes on a car. NO_STATION: the car has no place where such a part sits."""

    STOCK = "it has it already"
    AS_IS = "as it is"
    WITH_CHANGES = "with changes"
    NOT_AT_ALL = "not at all"
    NO_STATION = "no place for it"


@dataclass(frozen=True, slots=True)
class Fitment:
    """A part at one station of one build.

    `fits` is the kindly reading (joints nobody has proven mate), `strictly` the strict one. `least`
    is a smallest set of other stations that change, `least_strictly` the same where only proven
    joints count (None: no plan). `why_not` is an
    irreducible set of reasons where it does not fit; `doubts` the same for the strict reading
    where the kindly one has a plan.
    """

    part: str
    build: str
    car: str
    station: str
    fits: Fits
    strictly: Fits
    least: frozenset[str] | None = None
    least_strictly: frozenset[str] | None = None
    why_not: tuple[Reason, ...] = ()
    doubts: tuple[Reason, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether unproven joints change nothing in how many stations must change."""
        if self.least is None or self.least_strictly is None:
            return self.fits is self.strictly
        return len(self.least) == len(self.least_strictly)


_ORDER = {kind: at for at, kind in enumerate(Fits)}


def where_fits(
    mating: Mating,
    part: str,
    builds: Iterable[Build] | None = None,
    *,
    wishes: Wishes | None = None,
) -> tuple[Fitment, ...]:
    """How `part` goes on each of `builds` (every stock car by default), easiest first.

    A part that sits at several stations of a car is looked at in each. `wishes` adds limits; what
    it says of the part's own station is overruled.

    Raises:
        KeyError: no such part.
    """
    stations = mating.catalogue.parts[part].stations
    if builds is None:
        cars = mating.catalogue.cars.values()
        builds = [stock_build(mating.catalogue, car) for car in cars]
    found: list[Fitment] = []
    against: dict[str, tuple[Reason, ...]] = {}
    for build in builds:
        places = [s for s in stations if s in build.fits]
        for station in places:
            # What stands against it on one car mostly does on the next.
            like = against.get(station, ())
            fitment = fit_at(mating, part, build, station, wishes=wishes, like=like)
            against[station] = fitment.why_not or like
            found.append(fitment)
        if not places:
            nowhere = Fits.NO_STATION
            found.append(Fitment(part, build.name, build.car, "", nowhere, nowhere))
    return tuple(sorted(found, key=_easiest))


def _easiest(fitment: Fitment) -> tuple[int, int, int, str, str, str]:
    least = len(fitment.least or ())
    strictly = fitment.least_strictly
    return (
        _ORDER[fitment.fits],
        least,
        10_000 if strictly is None else len(strictly),
        fitment.car,
        fitment.build,
        fitment.station,
    )


def fit_at(
    mating: Mating,
    part: str,
    build: Build,
    station: str,
    *,
    wishes: Wishes | None = None,
    like: tuple[Reason, ...] = (),
) -> Fitment:
    """How `part` goes on `build` at `station`. If it does not go at all for some of the reasons of
    `like`, why it does not on another build, these are told.

    Raises:
        KeyError: the station is not on the build, or there is no such part.
    """
    if build.fits[station] == part:
        none = frozenset[str]()
        return Fitment(
            part, build.name, build.car, station, Fits.STOCK, Fits.STOCK,
            least=none, least_strictly=none,
        )  # fmt: skip
    asked = wishes or Wishes()
    asked = replace(asked, fits={**asked.fits, station: part})
    against = why_not_like(mating, build, asked, like)
    least, strictly = (None, None) if against else fewest(mating, build, asked)
    if least is None and not against:
        against = why_not(mating, build, asked)
    is_doubtful = least is not None and strictly is None
    return Fitment(
        part=part,
        build=build.name,
        car=build.car,
        station=station,
        fits=_kind(least),
        strictly=_kind(strictly),
        least=least,
        least_strictly=strictly,
        why_not=against,
        doubts=why_not(mating, build, asked, strict=True) if is_doubtful else (),
    )


def _kind(least: frozenset[str] | None) -> Fits:
    if least is None:
        return Fits.NOT_AT_ALL
    return Fits.WITH_CHANGES if least else Fits.AS_IS
