"""Parts that somebody will not have: by wheel size, by the work they need, by name, by maker."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from decimal import Decimal
from typing import Any

from ..reasoner.catalogue import Part
from .syntax import Work

_ACTS: Mapping[Work, tuple[str, ...]] = {
    "cutting": ("cut", "shorten"),
    "drilling": ("drill",),
    "machining": ("machin", "relieve", "turn", "mill", "skim"),
    "irreversible work": (),
}


class _Asked(Set[str]):
    """A set that is only gone through by whoever wants all of it."""

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def __hash__(self) -> int:
        return self._hash()

    def __or__(self, others: Set[Any]) -> Set[Any]:
        """What is refused for one reason or another is not gone through either."""
        return _Either(self, others)

    __ror__ = __or__

    @classmethod
    def _from_iterable(cls, iris: Iterator[str]) -> frozenset[str]:  # type: ignore[override]
        return frozenset(iris)


class Refused(_Asked):
    """The parts of a catalogue that are refused. Of a part it is found out when it is asked for.

    A question meets few of the parts there are.
    """

    def __init__(self, parts: Mapping[str, Part], refuses: Callable[[Part], bool]) -> None:
        self._parts, self._refuses = parts, refuses

    def __contains__(self, iri: object) -> bool:
        part = self._parts.get(iri) if isinstance(iri, str) else None
        return part is not None and self._refuses(part)

    def __iter__(self) -> Iterator[str]:
        return (iri for iri, part in self._parts.items() if self._refuses(part))


class _Either(_Asked):
    """What is in one of two."""

    def __init__(self, first: Set[Any], second: Set[Any]) -> None:
        self._first, self._second = first, second

    def __contains__(self, each: object) -> bool:
        return each in self._first or each in self._second

    def __iter__(self) -> Iterator[str]:
        yield from self._first
        yield from (each for each in self._second if each not in self._first)


def wheel_above(part: Part, most: Decimal) -> bool:
    """Whether it is a wheel of more than so many inches."""
    size = part.attributes.get("rimDiameter")
    return isinstance(size, (int, Decimal)) and not isinstance(size, bool) and size > most


def is_or_is_of(part: Part, iri: str) -> bool:
    """Whether it is this part, or one of this family."""
    return iri == part.iri or iri in part.families


def comes_from(part: Part, iri: str) -> bool:
    """Whether a maker makes it, or one source alone knows of it."""
    return part.maker == iri or set(part.sources) == {iri}


def needs(part: Part, work: Work) -> bool:
    """Whether it is a rework that takes such work."""
    if not part.rework_of:
        return False
    if work == "irreversible work":
        return part.irreversible
    return any(stem in part.rework_act.casefold() for stem in _ACTS[work])
