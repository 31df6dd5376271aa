"""What `knockon matrix` says while it works and when it is done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .words import CAUTIONS

_VERDICTS = ("fits", "with changes", "not")
_EXPLAINED = {
    "fits": "no other station changes",
    "with changes": "other stations change too",
    "not": "no plan is workable",
}


@dataclass(frozen=True, slots=True)
class Pace:
    """How far a run is: `before` cells were there when it began `seconds` ago."""

    done: int
    of: int
    before: int
    seconds: float

    def line(self) -> str:
        """Such as “1,234,000 of 2,005,400 cells (61 %), 95 a second, about 2 h 15 min left”."""
        share = 100 * self.done // self.of if self.of else 100
        line = f"{self.done:,} of {self.of:,} cells ({share} %)"
        fresh = self.done - self.before
        if not fresh or self.seconds <= 0:
            return line
        rate = fresh / self.seconds
        if self.done == self.of:
            return f"{line}, {rate:,.0f} a second, in {lasting(self.seconds)}"
        return f"{line}, {rate:,.0f} a second, about {lasting((self.of - self.done) / rate)} left"


def lasting(seconds: float) -> str:
    """A time as people say it.

    >>> lasting(0.2), lasting(59), lasting(3540), lasting(8100), lasting(200_000)
    ('1 s', '59 s', '59 min', '2 h 15 min', '2 days 8 h')
    """
    whole = max(1, round(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes = round(whole / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} day{'s' if days > 1 else ''} {hours} h"


def summary(
    where: str, catalogue: str, cars: int, counts: Mapping[tuple[str, str], int]
) -> Iterator[str]:
    """What is in a matrix, kindly and strictly read, and where it is.

    `counts` has how often each pair of verdicts occurs.
    """
    total = sum(counts.values())
    on = "1 car" if cars == 1 else f"{cars:,} cars"
    yield f"{total:,} cells: every part at each station it can sit at, on {on}"
    yield f"  {'':14}{'kindly':>14}{'only proven':>14}"
    for verdict in _VERDICTS:
        kindly = sum(n for (word, _), n in counts.items() if word == verdict)
        strictly = sum(n for (_, word), n in counts.items() if word == verdict)
        yield f"  {verdict:14}{kindly:>14,}{strictly:>14,}   {_EXPLAINED[verdict]}"
    doubtful = sum(n for (one, other), n in counts.items() if one != other)
    if doubtful:
        yield f"  {doubtful:,} cells turn on joints that nobody has proven"
    yield f"{where}  (catalogue {catalogue[:12]})"
    yield f"! {CAUTIONS['always']}"
