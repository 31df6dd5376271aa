"""Answers with what was measured or offered up on the parts in hand, before the catalogue knows."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from decimal import Decimal, InvalidOperation
from typing import Final

from pydantic import BaseModel, ConfigDict, Field

from ..reasoner.catalogue import Catalogue
from ..reasoner.interfaces.kind import Value
from ..reasoner.mating import Mating
from ..reasoner.measured import Measured, NotMeasurable, Tried, with_findings
from .compose import Composer
from .compose_checks import VOCABULARY
from .desk import Desk
from .quantities import UNITS
from .words import unit_word

_LARGEST: Final = Decimal(10**7)


class MeasuredValue(BaseModel):
    """A value read off the part in hand. The end and the quantity are those of a check."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    end: str = Field(max_length=500, examples=["https://knockon.example/end/rear-hub-spline-30"])
    quantity: str = Field(max_length=200, examples=["teeth"], description="its name or IRI")
    value: str = Field(min_length=1, max_length=100, examples=["30"])
    unit: str = Field(
        default="", max_length=20, description="mm or in, for lengths; as declared if left out"
    )


class TriedPair(BaseModel):
    """Two ends that were offered up to one another, and fit."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    first: str = Field(max_length=500)
    second: str = Field(max_length=500)


def desk_with(desk: Desk, measured: Sequence[MeasuredValue], tried: Sequence[TriedPair]) -> Desk:
    """A desk that answers as `desk` does, with the findings as further claims.

    Raises:
        NotMeasurable: a value, end or quantity is not what the catalogue can take.
    """
    if not measured and not tried:
        return desk
    catalogue = with_findings(
        desk.catalogue,
        [_measured(desk.catalogue, each) for each in measured],
        [Tried(each.first, each.second) for each in tried],
    )
    other = copy(desk)  # names, stock and builds are shared: what was measured changes none
    other.catalogue = catalogue
    other.mating = Mating(catalogue, desk.mating)
    other.composer = Composer(catalogue)
    return other


def _measured(catalogue: Catalogue, said: MeasuredValue) -> Measured:
    name = said.quantity.removeprefix(VOCABULARY)
    return Measured(said.end, name, _value(catalogue, name, said))


def _value(catalogue: Catalogue, name: str, said: MeasuredValue) -> Value:
    """A number in the declared unit where there is one, else the word as it was said."""
    quantity = catalogue.quantities.get(name)
    text = said.value.strip()
    if quantity is None or not quantity.unit:
        return text
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise NotMeasurable(f"the {quantity.label} is a number, not “{text}”") from None
    if not number.is_finite() or abs(number) > _LARGEST:
        raise NotMeasurable(f"the {quantity.label} cannot be {text}")
    if quantity.unit == "NUM":
        if number != number.to_integral_value() or number <= 0:
            raise NotMeasurable(f"the {quantity.label} is a whole number, not {text}")
        return int(number)
    declared = unit_word(quantity.unit)
    if said.unit in ("", declared):
        return number
    unit, wanted = UNITS.get(said.unit), UNITS.get(declared)
    if unit is None or wanted is None or unit.dimension != wanted.dimension:
        raise NotMeasurable(f"the {quantity.label} is told in {declared or 'plain numbers'}")
    return number * unit.factor / wanted.factor
