"""How little must change for some wishes: by sets of parts, or where few can sit, by the solver."""

from __future__ import annotations

from collections.abc import Sequence

from . import neighbourhood
from .all_parts import AllParts
from .beyond import Beyond
from .build import Build, as_it_stands
from .least_change import least_change
from .mating import Mating
from .problem import Problem, Wishes
from .reason import Reason
from .supply import Offers, Supply
from .verdicts import Search, reasons_against

Least = tuple[frozenset[str] | None, frozenset[str] | None]
"""A smallest set of other stations that change, kindly and strictly read; None: not workable."""


def fewest(mating: Mating, build: Build, wishes: Wishes, supply: Supply | None = None) -> Least:
    """A smallest set of stations, beside those fitted, whose change makes wishes workable; kindly
    read, and strictly. The same for the same catalogue and wishes: see `least_change`."""
    if not _by_sets(mating, build, wishes):
        problem = Problem(mating, build, wishes, supply)
        found = []
        for strict in (False, True):
            with Search(problem, strict=strict) as search:
                found.append(least_change(search))
        return found[0], found[1]
    offers = Offers(supply or Supply(), mating.catalogue, build, wishes.fits.values())
    car = as_it_stands(mating, build, wishes.floor)
    return neighbourhood.fewest(mating, car, offers, wishes.floor, wishes.sought)


def why_not(
    mating: Mating, build: Build, wishes: Wishes, *, strict: bool = False
) -> tuple[Reason, ...]:
    """Reasons why wishes are not workable, none of which can be left out."""
    if not _by_sets(mating, build, wishes) or wishes.only_proven:
        with Search(Problem(mating, build, wishes), strict=strict) as search:
            return reasons_against(search, ())
    beyond = _beyond(mating, build, wishes)
    return tuple(sorted(beyond.irreducible(wishes.stated(build), strict=strict)))


def why_not_like(
    mating: Mating, build: Build, wishes: Wishes, like: Sequence[Reason]
) -> tuple[Reason, ...]:
    """The same if it is for some of the reasons that it is for on another build; else none."""
    if not like or not _by_sets(mating, build, wishes) or wishes.only_proven:
        return ()
    return tuple(sorted(_beyond(mating, build, wishes).irreducible_of(like)))


def _beyond(mating: Mating, build: Build, wishes: Wishes) -> Beyond:
    car, floor = as_it_stands(mating, build, wishes.floor), wishes.floor
    offers = Offers(Supply(), mating.catalogue, build, wishes.fits.values())
    parts = AllParts.of_car(mating, car, offers, floor)
    return Beyond(car, parts, wishes.banned)


def _by_sets(mating: Mating, build: Build, wishes: Wishes) -> bool:
    """Whether parts are looked at as sets: limits on sums are for the solver to weigh."""
    return not wishes.limits_sums and not neighbourhood.is_small(mating, build)
