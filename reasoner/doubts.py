"""What nobody has proven among the parts that may come together at a joint.

Parts that bring the same ends are looked at once, and ends of the same values together, so that it
takes no longer with a thousand parts of a few sorts than with a few.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from .catalogue import Joint
from .interfaces.kind import Outcome
from .places import EndKey, end_key
from .problem import Problem
from .reasons import Meeting

Parts = Sequence[str | None]

MOST = 24
"""So many unproven meetings of one joint are told of."""


@dataclass(frozen=True, slots=True)
class _Form:
    """One way for ends to meet at a joint: the positions of the stations that take part, with the
    role at each, and the half of it ("" for the joint itself, with nothing between)."""

    positions: tuple[int, ...]
    roles: tuple[str, ...]
    half: str


@dataclass(frozen=True, slots=True)
class Doubts:
    """The meetings at a joint that nobody has proven, and of how many `others` nothing is told."""

    meetings: tuple[Meeting, ...] = ()
    others: int = 0


def unproven_meetings(problem: Problem, joint: Joint, there: Mapping[str, Parts]) -> Doubts:
    """The meetings at a joint that nobody has proven, of the parts that may be `there`.

    Each once for the ends that meet, with the first parts that bring them; none as the car stands.
    Nobody reads thousands of them: beyond `MOST` they are counted.
    """
    lists = [list(there.get(station, [None])) for station in joint.stations]
    found: list[tuple[tuple[int, ...], int, str, tuple[EndKey, ...]]] = []
    for number, form in enumerate(_forms(joint)):
        met = _unproven(problem, joint, form, lists)
        found += ((at, number, form.half, keys) for at, keys in met)
    of_ends: dict[tuple[str | None, ...], Meeting] = {}
    others: set[tuple[tuple[str, ...], ...]] = set()
    for at, _, half, keys in sorted(found, key=lambda one: one[:2]):
        if len(of_ends) >= MOST:
            others.add(tuple(ends for ends, _ in keys))
            continue
        mate = problem.mating.meet_keys(joint, keys, half)
        if mate is not None:
            choice = tuple(parts[n] for parts, n in zip(lists, at, strict=True))
            of_ends.setdefault(mate.ends, Meeting(choice, mate))
    return Doubts(tuple(of_ends.values()), len(others))


def _forms(joint: Joint) -> Iterator[_Form]:
    members = range(len(joint.members))
    yield _Form(tuple(members), tuple(member.role for member in joint.members), "")
    if joint.via:
        between = len(joint.members)
        near, far = joint.via_roles
        yield _Form((0, between), (joint.members[0].role, near), "first")
        yield _Form((between, 1), (far, joint.members[1].role), "second")


def _unproven(
    problem: Problem, joint: Joint, form: _Form, lists: Sequence[Parts]
) -> Iterator[tuple[tuple[int, ...], tuple[EndKey, ...]]]:
    """The ends that meet unproven in one form, with where the first parts stand that do."""
    mating, floor = problem.mating, problem.wishes.floor
    others = _of_others(joint, form, lists)
    if others is None:
        return
    sorts = [
        [(ends, next(iter(ends)), any(map(mating.is_tried, ends))) for ends in of_place]
        for of_place in (
            _sorted(problem, form, at, lists[position], joint)
            for at, position in enumerate(form.positions)
        )
    ]
    for combination in product(*sorts):
        of_sort, first, are_tried = zip(*combination, strict=True)
        said = mating.values.outcome(joint, first, form.half, floor)
        if said is Outcome.MATES or (said is Outcome.CLASHES and not any(are_tried)):
            continue
        for ends in product(*(ends.items() for ends in of_sort)):
            keys = tuple(key for key, _ in ends)
            if mating.settled(joint, keys, form.half, floor, said) is not Outcome.UNPROVEN:
                continue
            where = dict(others)
            where.update(zip(form.positions, (numbers for _, numbers in ends), strict=True))
            at = _first_but_as_it_stands(problem, joint, lists, where)
            if at is not None:
                yield at, keys


def _of_others(
    joint: Joint, form: _Form, lists: Sequence[Parts]
) -> dict[int, Sequence[int]] | None:
    """Where parts stand at the positions that take no part; None if the form cannot be."""
    found: dict[int, Sequence[int]] = {}
    for position, parts in enumerate(lists):
        if position in form.positions:
            continue
        between = position == len(joint.members)
        found[position] = [n for n, part in enumerate(parts) if part is None or not between]
        if not found[position]:
            return None
    return found


def _sorted(
    problem: Problem, form: _Form, at: int, parts: Parts, joint: Joint
) -> list[dict[EndKey, list[int]]]:
    """What comes to a position, sort by sort: its ends, and where the parts that bring them are."""
    mating, role = problem.mating, form.roles[at]
    station = joint.stations[form.positions[at]]
    is_between = form.positions[at] == len(joint.members)
    sorts: dict[int, dict[EndKey, list[int]]] = {}
    for number, part in enumerate(parts):
        if is_between and part is None:
            continue
        key = end_key(problem.part_of(part), role)
        alike = mating.values.alike_at(station, role, key)
        sorts.setdefault(alike, {}).setdefault(key, []).append(number)
    return list(sorts.values())


def _first_but_as_it_stands(
    problem: Problem, joint: Joint, lists: Sequence[Parts], where: Mapping[int, Sequence[int]]
) -> tuple[int, ...] | None:
    """The first choice of parts among some places that is not the car as it stands."""
    fits = problem.build.fits
    for at in product(*(where[position] for position in range(len(lists)))):
        choice = (parts[n] for parts, n in zip(lists, at, strict=True))
        if any(fits.get(s) != p for s, p in zip(joint.stations, choice, strict=True)):
            return at
    return None
