"""One car against every part: how little must change for each, at each station it can sit at.

The answers are those of `kit_choice` about one part after the other, come by in another way: what
the fixed stations leave of the catalogue makes one problem for the whole car. Parts that bring the
same to a station share an answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import chain

from ..build import Build, joints_of
from ..fewest import Least
from ..kit_choice import Cell, choose_kit
from ..places import end_key, seats
from ..supply import Offers
from .remaining import Left, Links
from .whole import NOT_AT_ALL, USUAL, Whole

_NONE: frozenset[str] = frozenset()
_MOST_WHOLE = 20_000
"""Where more parts are left than these, one question after the other is the quicker way."""

_MOST_TOGETHER = 8
_WIDER = 1.04
"""Parts of a fixed station share a problem if what they leave is not much more than for one."""


class CarCells:
    """The cells of one car, station by station."""

    def __init__(self, links: Links, build: Build) -> None:
        self.build = build
        self._links = links
        self._catalogue = links.catalogue
        self._joints = joints_of(self._catalogue, build)
        self._bound: dict[str, frozenset[str | None]] = {}
        for station in sorted(links.fixed & build.fits.keys()):
            empty = {None} if self._catalogue.stations[station].may_stand_empty else set[None]()
            self._bound[station] = frozenset({build.fits[station], *empty})
        self._left = links.left(build, self._joints, self._bound)
        self._offers = Offers(USUAL, self._catalogue, build)

    def at(self, station: str, parts: Sequence[str]) -> Iterator[Cell]:
        """The cells of parts that can sit at a station of the car, in their order."""
        first: dict[object, str] = {}
        like = {part: first.setdefault(self._like(station, part), part) for part in parts}
        known = dict(self._found(station, list(first.values())))
        for part in parts:
            least, strictly = known[like[part]]
            if self.build.fits[station] == part:
                least = strictly = _NONE
            yield Cell(part, self.build.name, self.build.car, station, least, strictly)

    def _like(self, station: str, part: str) -> object:
        """The same for parts that no joint and no rule tells apart at a station."""
        if not self._is_left(station, part):
            return NOT_AT_ALL
        described = self._catalogue.parts[part]
        return (
            tuple(end_key(described, role) for role in self._roles.get(station, ())),
            frozenset(described.asks), described.excludes, described.families, described.sets,
            described.stations, self._offers.may_come(station, part),
        )  # fmt: skip

    def _is_left(self, station: str, part: str) -> bool:
        if station in self._links.fixed:
            return True  # it may sit there, if it is what is asked about
        if self._left is None:
            return False
        return bool(self._left.get(station, -1) & self._links.bits(station)[part])

    def _found(self, station: str, parts: Sequence[str]) -> Iterator[tuple[str, Least]]:
        together: list[str] = []
        for part in parts:
            if not self._is_left(station, part):
                yield part, NOT_AT_ALL
            elif self._stands_out(station, part):
                yield part, self._by_itself(station, part)
            else:
                together.append(part)
        if station in self._links.fixed:
            yield from self._as_another_car(station, together)
        elif together:
            yield from self._whole.least(station, together)

    def _stands_out(self, station: str, part: str) -> bool:
        """Whether the problem of the whole car cannot tell of a part at a station, or is too large
        to be made."""
        if self._is_vast:
            return True
        if station in self._links.fixed:
            several = len(self._catalogue.parts[part].stations) > 1
            return several or part in self._in_sets
        return part not in self._whole.lacking and not self._offers.may_come(station, part)

    def _left_with(self, station: str, part: str) -> Left | None:
        """What is left of other stations if a fixed one has another part."""
        bound = {**self._bound, station: frozenset({part})}
        return self._links.left(self.build, self._joints, bound)

    def _by_itself(self, station: str, part: str) -> Least:
        another = station in self._links.fixed and part != self.build.fits[station]
        if another and self._left_with(station, part) is None:
            return NOT_AT_ALL
        mating = self._links.usual
        cell = choose_kit(mating, [part], [self.build], station=station).ranking[0].row[0]
        return cell.least, cell.strictly

    def _as_another_car(self, station: str, parts: Sequence[str]) -> Iterator[tuple[str, Least]]:
        """A fixed station given another part: whatever hangs on it stands as on another car."""
        some: list[str] = []
        wide: Left = {}
        for part in parts:
            left = self._left_with(station, part)
            if left is None:
                yield part, NOT_AT_ALL
                continue
            both = {s: wide[s] | left[s] for s in wide if s in left}
            much = _WIDER * max(map(self._size, (wide, left)))
            if some and (self._size(both) > much or len(some) >= _MOST_TOGETHER):
                yield from self._of_another(station, some, wide)
                some, both = [], {}
            some.append(part)
            wide = both or left
        if some:
            yield from self._of_another(station, some, wide)

    def _of_another(
        self, station: str, parts: Sequence[str], left: Left
    ) -> Iterator[tuple[str, Least]]:
        return Whole(self._links, self.build, left, self._in_sets).least(station, parts)

    def _size(self, left: Left) -> int:
        """How many parts are left at all stations together."""
        return sum(
            left[s].bit_count() if s in left else len(self._links.bits(s)) for s in self.build.fits
        )

    # ------------------------------------------------------------------ made when first asked

    @cached_property
    def _is_vast(self) -> bool:
        return self._left is not None and self._size(self._left) > _MOST_WHOLE

    @cached_property
    def _whole(self) -> Whole:
        return Whole(self._links, self.build, self._left or {}, self._in_sets)

    @cached_property
    def _roles(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for station, role in chain.from_iterable(map(seats, self._joints)):
            found.setdefault(station, []).append(role)
        return found

    @cached_property
    def _in_sets(self) -> frozenset[str]:
        members = map(self._links.mating.places.set_members, self._catalogue.sets)
        return frozenset(chain.from_iterable(members))
