"""What one may look at, read off or measure to tell lookalikes apart, as values.

An observation is the question ("the gearbox's serial number"), a rule says what one part or family
answers to it ("40000 to 52317"). Numbers, dates and measured values are spans; a visible feature is
a word. Dates count in months, so that a year is a span as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum, StrEnum

_MONTHS = 12


class ObservationKind(StrEnum):
    """How an observation is made; the local name of its class says the same."""

    OWN_NUMBER = "serial number of the part"
    CAR_NUMBER = "serial number of the car"
    DATE = "date"
    FEATURE = "visible feature"
    COUNT = "count"
    MEASURE = "measured value"

    @property
    def weight(self) -> int:
        """How much it counts where observations disagree; smaller is stronger.

        What the part itself shows beats the car's number, and both beat a date: an early car of a
        model year can carry last year's part.
        """
        return {ObservationKind.CAR_NUMBER: 1, ObservationKind.DATE: 2}.get(self, 0)


class Reach(IntEnum):
    """What it takes to see it."""

    ON_THE_CAR = 0
    OFF_THE_CAR = 1
    TAKEN_APART = 2


class WorkedOut(StrEnum):
    """How a value one can measure follows from the values an end states."""

    CHORD = "chord"
    OVER_PINS = "over pins"
    BETWEEN_PINS = "between pins"


@dataclass(frozen=True, slots=True)
class Span:
    """From `least` to `most`, both included; None is open. A single value has both the same."""

    least: Decimal | None = None
    most: Decimal | None = None

    def meets(self, other: Span) -> bool:
        """Whether the two have a value in common."""
        return _reaches(self.least, other.most) and _reaches(other.least, self.most)

    def widened(self, by: Decimal) -> Span:
        """The span with `by` added at either end."""
        return Span(
            None if self.least is None else self.least - by,
            None if self.most is None else self.most + by,
        )


def _reaches(least: Decimal | None, most: Decimal | None) -> bool:
    return least is None or most is None or least <= most


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Spans of whole numbers in order, those that touch or overlap made one.

    >>> joined([Span(Decimal(5), Decimal(9)), Span(None, Decimal(4))])
    (Span(least=None, most=Decimal('9')),)
    """
    lowest, highest = Decimal("-Infinity"), Decimal("Infinity")
    merged: list[tuple[Decimal, Decimal]] = []
    for least, most in sorted(
        (lowest if s.least is None else s.least, highest if s.most is None else s.most)
        for s in spans
    ):
        if merged and least <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(merged[-1][1], most))
        else:
            merged.append((least, most))
    return tuple(
        Span(None if least == lowest else least, None if most == highest else most)
        for least, most in merged
    )


Allowed = str | Span
"""One thing that an observation may show: a word, or a span of numbers (of months for a date)."""


@dataclass(frozen=True, slots=True)
class Observation:
    """One thing to look at.

    `answers` are the words a visible feature may read. `role` and `quantity` say which value of
    which end is measured; `worked_out` how what is measured follows from it (`pin` in mm). `grace`
    is how exactly it can be read, in `unit`. `prefix` is the text in front of a serial number.
    `only_on` limits a car's number to lines or generations that are numbered in one series.
    """

    iri: str
    label: str
    kind: ObservationKind
    synonyms: tuple[str, ...] = ()
    how: str = ""
    reach: Reach = Reach.OFF_THE_CAR
    answers: tuple[str, ...] = ()
    unit: str = ""
    grace: Decimal | None = None
    role: str = ""
    quantity: str = ""
    worked_out: WorkedOut | None = None
    pin: Decimal | None = None
    prefix: str = ""
    only_on: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class IdentificationRule:
    """`subject` (a part, a family or a car) shows one of `allowed` under `observation`."""

    subject: str
    observation: str
    allowed: tuple[Allowed, ...]
    sources: tuple[str, ...]


def months(text: str, *, last: bool = False) -> Decimal:
    """A year or a month ("2004", "2004-09") as a count of months; of a year the first or last.

    >>> months("2004-01") - months("2003", last=True)
    Decimal('1')

    Raises:
        ValueError: not a year, nor a year and a month from 01 to 12.
    """
    year, _, month = text.strip().partition("-")
    if not (len(year) == 4 and year.isdigit()) or (month and not month.isdigit()):
        raise ValueError(f"“{text}” is no date: write a year such as 2004 or a month as 2004-09")
    number = int(month) if month else (_MONTHS if last else 1)
    if not 1 <= number <= _MONTHS:
        raise ValueError(f"“{text}” is no date: there are months from 01 to 12")
    return Decimal(int(year) * _MONTHS + number - 1)


def month_text(count: Decimal) -> str:
    """The month of a count of months.

    >>> month_text(months("2004-09"))
    '2004-09'
    """
    year, month = divmod(int(count), _MONTHS)
    return f"{year:04d}-{month + 1:02d}"
