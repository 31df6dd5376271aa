"""What to look at: the observations that tell candidates apart, and how well each does.

Candidates answer an observation in finitely many different ways: the answers fall into cells, one
for each set of candidates that may give them. All candidates count as equally likely, and so do
the cells that one candidate may fall into; what is then expected to remain is an exact fraction.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from .catalogue import Standing
from .mating import PROVEN
from .observations import Allowed, Observation, ObservationKind, Span
from .part_sets import bits_of
from .witness import Statement, Witness

_AT_A_GLANCE = (
    ObservationKind.FEATURE,
    ObservationKind.OWN_NUMBER,
    ObservationKind.COUNT,
    ObservationKind.CAR_NUMBER,
    ObservationKind.MEASURE,
    ObservationKind.DATE,
)
"""Kinds of observation, the easiest first."""

_WHOLE = frozenset(ObservationKind) - {ObservationKind.FEATURE, ObservationKind.MEASURE}
"""Kinds that read whole numbers (of months, for a date)."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What one candidate shows, by everybody who says something about it."""

    subject: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """An observation worth making. `expected` is how many candidates it leaves on average."""

    observation: Observation
    expected: Fraction
    shown: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Separation:
    """An observation by which two parts differ.

    `sure`: no answer fits both, no claim behind it is weaker than proven, and the thing itself
    shows it. A date is never sure, nor for a part the number of a car it may have been moved to.
    """

    observation: Observation
    first: tuple[Statement, ...]
    second: tuple[Statement, ...]
    sure: bool
    standing: Standing


def find_looks(
    witness: Witness,
    candidates: Sequence[str],
    made: Collection[str] = (),
    *,
    floor: Standing = PROVEN,
) -> tuple[Look, ...]:
    """What to look at next, most telling first, without the observations already `made`.

    Fewest expected to remain comes first, then what decides (a part's own look or number before
    the car's number), then what is easier to see. Dates come last: any number overrules them.
    """
    if len(candidates) < 2:
        return ()
    found = []
    for observation in witness.observations(candidates):
        if observation.iri in made:
            continue
        shown = {s: witness.statements(s, observation.iri) for s in candidates}
        expected = expected_remaining(shown, observation, floor)
        if expected < len(candidates):
            by = tuple(Shown(s, statements) for s, statements in shown.items() if statements)
            found.append(Look(observation, expected, by))
    return tuple(sorted(found, key=_telling))


def tell_apart(
    witness: Witness, first: str, second: str, *, floor: Standing = PROVEN
) -> tuple[Separation, ...]:
    """Every observation that separates two parts (or two cars), sure and easiest to see first."""
    cars = witness.catalogue.cars
    own_weight = 1 if first in cars and second in cars else 0
    found = []
    for observation in witness.observations((first, second)):
        shown = {s: witness.statements(s, observation.iri) for s in (first, second)}
        if not all(shown.values()):
            continue
        cells = _Cells(shown.values(), observation).sizes
        if all(size == 2 for size in cells):
            continue
        standing = max(statements[0].standing for statements in shown.values())
        apart = all(size == 1 for size in cells)
        sure = apart and standing <= floor and observation.kind.weight <= own_weight
        found.append(Separation(observation, shown[first], shown[second], sure, standing))
    return tuple(sorted(found, key=lambda s: (not s.sure, _easiness(s.observation))))


def expected_remaining(
    shown: dict[str, tuple[Statement, ...]], observation: Observation, floor: Standing
) -> Fraction:
    """How many candidates remain on average after the observation has been made.

    A candidate of which nothing firm is stated remains whatever is seen.
    """
    firm = [s for s in shown.values() if s and s[0].standing <= floor]
    silent = len(shown) - len(firm)
    cells = _Cells(firm, observation)
    if not cells.sizes:
        return Fraction(len(shown))
    total = Fraction(0)
    for alike, sizes in cells.of_each():
        total += alike * (Fraction(sum(sizes), len(sizes)) + silent)
    for_silent = Fraction(sum(cells.sizes), len(cells.sizes)) + silent
    return (total + silent * for_silent) / len(shown)


class _Cells:
    """The different sets of things that one answer may leave, of what is `stated` of each thing.

    Things of which the same is stated are in the same cells, so they are looked at once.
    """

    def __init__(self, stated: Iterable[tuple[Statement, ...]], observation: Observation) -> None:
        grace = observation.grace or Decimal(0)
        self._alike = Counter(
            tuple([a for statement in statements for a in statement.allowed])
            for statements in stated
        )
        allowed = [[_blurred(a, grace) for a in some] for some in self._alike]
        spans = [a for some in allowed for a in some if isinstance(a, Span)]
        points = _points(spans, whole=observation.kind in _WHOLE)
        by_point, by_word = [0] * len(points), dict[str, int]()
        for number, some in enumerate(allowed):
            for each in some:
                if isinstance(each, str):
                    word = each.casefold()
                    by_word[word] = by_word.get(word, 0) | 1 << number
                    continue
                first = 0 if each.least is None else bisect_left(points, each.least)
                end = len(points) if each.most is None else bisect_right(points, each.most)
                for at in range(first, end):
                    by_point[at] |= 1 << number
        counts = list(self._alike.values())
        found = dict.fromkeys((*by_word.values(), *by_point))
        self._cells = [(cell, sum(counts[i] for i in bits_of(cell))) for cell in found if cell]

    @property
    def sizes(self) -> list[int]:
        """How many things are in each cell."""
        return [size for _, size in self._cells]

    def of_each(self) -> Iterator[tuple[int, list[int]]]:
        """How many things are alike, and the sizes of the cells they are in."""
        for i, count in enumerate(self._alike.values()):
            yield count, [size for cell, size in self._cells if cell >> i & 1]


def _blurred(allowed: Allowed, grace: Decimal) -> Allowed:
    return allowed.widened(grace) if isinstance(allowed, Span) else allowed


def _points(spans: Sequence[Span], *, whole: bool) -> list[Decimal]:
    """Points that meet every different combination of the spans: their ends and what is between.

    Of `whole` numbers there is nothing between a number and the next.
    """
    ends = sorted({e for span in spans for e in (span.least, span.most) if e is not None})
    if not ends:
        return [Decimal(0)] if spans else []
    between = [a + 1 if whole else (a + b) / 2 for a, b in pairwise(ends) if not whole or b - a > 1]
    return sorted([ends[0] - 1, *ends, *between, ends[-1] + 1])


def _easiness(observation: Observation) -> tuple[int, int, str, str]:
    kind = _AT_A_GLANCE.index(observation.kind)
    return int(observation.reach), kind, observation.label, observation.iri


def _telling(look: Look) -> tuple[bool, Fraction, int, tuple[int, int, str, str]]:
    seen = look.observation
    dated = seen.kind is ObservationKind.DATE
    return dated, look.expected, seen.kind.weight, _easiness(seen)
