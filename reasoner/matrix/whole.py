"""One problem for all that is left for a car; a part that is asked about is an assumption."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from ..build import Build
from ..catalogue import Catalogue
from ..fewest import Least
from ..least_change import least_of
from ..oracle import Oracle
from ..problem import Ban, Problem, Reason, ReasonKind, Wishes
from ..supply import Offers, Origin, OriginKind, Supply
from ..verdicts import Search
from .remaining import Left, Links

NOT_AT_ALL: Least = (None, None)

USUAL = Supply()
"""What may come where nobody says anything else: parts that are made, and parts reworked."""

_NONE: frozenset[str] = frozenset()
_NOT_TO_BE_HAD = "what is not to be had"
_LACKING = Reason(ReasonKind.LIMIT, _NOT_TO_BE_HAD)
_IN_ONE_SEARCH = 150
"""What a search has learned of so many parts helps with the next; more of it only weighs."""


@dataclass(frozen=True, slots=True)
class _OnlyThese(Supply):
    """Parts that are left may come, and nothing else; among them those that are `lacking`."""

    links: Links | None = None
    left: Left = field(default_factory=dict)
    in_sets: frozenset[str] = _NONE
    lacking: frozenset[str] = _NONE

    def origins(
        self, catalogue: Catalogue, station: str, part: str, present: str | None = None
    ) -> tuple[Origin, ...]:
        """As `Supply.origins`."""
        assert self.links is not None
        among, is_fixed = self.left.get(station), station in self.links.fixed
        # Where a member of a set may come, one must: so it counts whether it is left or not.
        counts = part in self.in_sets and not is_fixed
        if among is not None and not counts and not among & self.links.bits(station)[part]:
            return ()
        if part in self.lacking or is_fixed:
            return (Origin(OriginKind.NEW, Decimal(0), priced=False),)
        return USUAL.origins(catalogue, station, part, present)

    def brings(
        self, catalogue: Catalogue, station: str, part: str, present: str | None = None
    ) -> bool:
        """As `Supply.brings`."""
        return bool(self.origins(catalogue, station, part, present))


class Whole:
    """A car with what is left for it.

    `lacking` are parts that are left and not to be had for any station, superseded ones: they may
    be asked about, but nothing takes one that was not. Members of `in_sets` are not among them:
    what a set asks for hangs on which members can come.
    """

    def __init__(self, links: Links, build: Build, left: Left, in_sets: frozenset[str]) -> None:
        mating = links.mating
        offers = Offers(USUAL, links.catalogue, build)
        had: dict[str, bool] = {}
        for station in build.fits:
            if station in links.fixed:
                continue
            among = left.get(station, -1)
            for part, bit in links.bits(station).items():
                if part is not None and among & bit and part not in in_sets:
                    had[part] = had.get(part, False) or offers.may_come(station, part)
        self.lacking = frozenset(part for part, is_had in had.items() if not is_had)
        supply = _OnlyThese(links=links, left=left, in_sets=in_sets, lacking=self.lacking)
        # It is remembered by what it is made of, which does not tell such a supply from another.
        mating.remembered.clear()
        wishes = Wishes(bans=(Ban(_NOT_TO_BE_HAD, self.lacking),))
        self.problem = problem = Problem(mating, build, wishes, supply, whole=True)
        mating.remembered.clear()
        self._lacking_at = [
            (part, problem.variable(station, part))
            for station, parts in problem.domains.items()
            for part in parts
            if part in self.lacking and part != build.fits[station]
        ]

    def least(self, station: str, parts: Sequence[str]) -> Iterator[tuple[str, Least]]:
        """The least that must change for each of some parts that are left at a station."""
        problem = self.problem
        for at in range(0, len(parts), _IN_ONE_SEARCH):
            with Search(problem, strict=False) as search:
                oracle = search.oracle
                for part in parts[at : at + _IN_ONE_SEARCH]:
                    given, rest = oracle.atom(problem.variable(station, part)), ~0
                    if part in self.lacking:
                        rest = ~oracle.reason(_LACKING)
                        given |= search.atoms(-v for p, v in self._lacking_at if p != part)
                    yield part, _least(oracle, rest, given, station)


def _least(oracle: Oracle, rest: int, given: int, station: str) -> Least:
    """The least that must change with what is `given`, by those reasons that are in `rest`."""
    kindly, strictly = oracle.kindly & rest | given, oracle.strictly & rest | given
    least = least_of(oracle, kindly, (station,))
    if least is None:
        return NOT_AT_ALL
    # What is a smallest set kindly is one strictly too, if it works out.
    if oracle.find(strictly | oracle.all_but({station, *least})) is not None:
        return least, least
    return least, least_of(oracle, strictly, (station,))
