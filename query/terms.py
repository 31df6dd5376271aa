"""The terms of a question: what the customer insists on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from .phrases import CarName, KeptName, PartName, SourceName
from .quantities import Quantity

Work: TypeAlias = Literal["cutting", "drilling", "machining", "irreversible work"]
WORK: tuple[Work, ...] = ("cutting", "drilling", "machining", "irreversible work")
Floor: TypeAlias = Literal["measured", "trial-fitted", "documented", "reported", "presumed"]
FLOORS: tuple[Floor, ...] = ("measured", "trial-fitted", "documented", "reported", "presumed")


@dataclass(frozen=True, slots=True)
class Terms:
    """What the customer insists on. Everything holds at once; what is left out is free.

    If none of `stock`, `donors` and `new_parts` is said, parts may come from anywhere.
    """

    keeping: tuple[KeptName, ...] = ()
    cost: Quantity | None = None
    """At most so much money."""
    labour: Quantity | None = None
    """At most so many hours."""
    wheel: Quantity | None = None
    """Wheels of at most this nominal diameter."""
    refused: tuple[Work, ...] = ()
    """Work that may not be done, in the order of `WORK`."""
    floor: Floor | None = None
    """The weakest standing that counts as proof."""
    stock: bool = False
    donors: tuple[CarName, ...] = ()
    new_parts: bool = False
    without: tuple[PartName, ...] = ()
    """Parts or families that may not be used."""
    without_from: tuple[SourceName, ...] = ()
    """Makers whose parts, or sources on whose word parts, may not be used."""


ANY_TERMS = Terms()
