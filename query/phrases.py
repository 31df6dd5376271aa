"""The names in a sentence: phrases as they were typed, that say by their type what may stand there.

`names.resolve` finds what they mean.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, TypeAlias

What: TypeAlias = Literal["part", "family", "station", "car", "generation", "source", "maker"]
"""What a name can be the name of."""


@dataclass(frozen=True, slots=True)
class Span:
    """From which character to which (exclusive) something stood in the text."""

    start: int
    end: int


NOWHERE = Span(0, 0)
LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class Name:
    """A phrase that names something: one to 200 characters, single spaces between its words."""

    text: str
    span: Span = field(default=NOWHERE, compare=False, repr=False)
    wanted: ClassVar[tuple[What, ...]] = ()
    ranked: ClassVar[bool] = True
    """Whether `wanted` is in order of preference; if not, different sorts are ambiguous."""
    place: ClassVar[str] = "a name"

    def __str__(self) -> str:
        """The phrase."""
        return self.text

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> Any:
        """In JSON a name is its phrase."""
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(
            lambda text: cls(" ".join(text.split())),
            core_schema.str_schema(pattern=_PHRASE, max_length=LONGEST_NAME),
            serialization=core_schema.plain_serializer_function_ser_schema(str),
        )


_PHRASE = r"^[^\x00-\x1f\x7f-\x9f]*[^\x00-\x1f\x7f-\x9f\s][^\x00-\x1f\x7f-\x9f]*$"


class PartName(Name):
    """A part, or a family of parts."""

    __slots__ = ()
    wanted = ("part", "family")
    place = "a part"


class CarName(Name):
    """A car, a generation, or a build that was named with `let`."""

    __slots__ = ()
    wanted = ("car", "generation")
    place = "a car"


class StationName(Name):
    """A station."""

    __slots__ = ()
    wanted = ("station",)
    place = "a station"


class KeptName(Name):
    """What is to stay: one or more stations, or a part that is on the car now."""

    __slots__ = ()
    wanted = ("station", "part", "family")
    place = "a station or part to keep"


class SortName(Name):
    """A sort of part: a family, or whatever sits at a station."""

    __slots__ = ()
    wanted = ("family", "station")
    place = "a sort of part"


class ThingName(Name):
    """Anything the catalogue knows."""

    __slots__ = ()
    wanted = ("part", "family", "station", "car", "generation")
    ranked = False
    place = "a part, car or station"


class SourceName(Name):
    """A source of facts, or a maker of parts."""

    __slots__ = ()
    wanted = ("source", "maker")
    place = "a source or maker"


class NewName(Name):
    """A name that the sentence gives to something."""

    __slots__ = ()
    place = "a name for the build"


class FeatureName(Name):
    """What is seen or measured on a part in the hand."""

    __slots__ = ()
    place = "a feature"
