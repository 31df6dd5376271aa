"""What an interface kind is: the values an end carries, what a rule finds, and what a mate is.

This package knows no RDF. A rule is a pure function from the ends that meet, and the tolerances
that hold there, to findings. Every finding names the quantity it decides, so that a reader can
follow it back to the claims behind the number.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

Scalar: TypeAlias = Decimal | int | str | bool
"""One value. Lengths in mm, angles in degrees, torque in N·m; numbers exact."""

Record: TypeAlias = Mapping[str, Scalar]
"""A small record, such as one step of a profile or one contact of a plug."""

Value: TypeAlias = Scalar | tuple[Record, ...]
"""What an end carries under one quantity name."""

Tolerances: TypeAlias = Mapping[str, Decimal]
"""Tolerance by name (usually the quantity it bounds), in the quantity's own unit."""


class Outcome(StrEnum):
    """Three-valued: an interface fits, does not, or nobody knows yet."""

    MATES = "mates"
    CLASHES = "clashes"
    UNPROVEN = "unproven"


class Relation(StrEnum):
    """What must hold between the first and the second value of a finding."""

    SAME = "the same"
    WITHIN = "within tolerance"
    AT_LEAST = "at least"
    AT_MOST = "at most"
    OPPOSITE = "opposite"
    CLEARS = "clears"
    OFFERS = "offers"
    CLOSES = "closes"


@dataclass(frozen=True, slots=True)
class EndValues:
    """One end as a rule sees it.

    `side` is the local name of its side ("external", "internal", "source" …) or "". `values` maps
    quantity names (local names of value properties, e.g. "teeth", "circleDiameter") to values;
    a quantity nobody stated is absent. `sign` is +1 or -1 in a chain of lengths or ratios.
    """

    side: str = ""
    values: Mapping[str, Value] = field(default_factory=dict)
    sign: int = 1

    def number(self, quantity: str) -> Decimal | None:
        """The exact number under `quantity`, or None where nobody stated one.

        Raises:
            TypeError: the value is not a number; shapes keep such data out of a catalogue.
        """
        value = self.values.get(quantity)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
            raise TypeError(f"{quantity} is not a number: {value!r}")
        return Decimal(value)

    def word(self, quantity: str) -> str | None:
        """The text under `quantity`, or None."""
        value = self.values.get(quantity)
        return None if value is None else str(value)

    def records(self, quantity: str) -> tuple[Record, ...] | None:
        """The records under `quantity`, or None."""
        value = self.values.get(quantity)
        return value if isinstance(value, tuple) else None


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule decided about one quantity.

    `first` and `second` are the values compared (None where missing). `tolerance` is the bound
    that was applied. `margin` is how much is left before the outcome turns: positive when it
    mates, negative when it clashes, in the quantity's unit. `needs` names the quantity to measure
    when the outcome is unproven. `note` adds what the kind alone can say, as a finished phrase.
    """

    quantity: str
    outcome: Outcome
    relation: Relation
    first: Scalar | None = None
    second: Scalar | None = None
    tolerance: Decimal | None = None
    margin: Decimal | None = None
    needs: str = ""
    note: str = ""


class MissingToleranceError(KeyError):
    """A rule asked for a tolerance that nobody stated; the message names kind and tolerance."""

    def __init__(self, kind: str, name: str) -> None:
        self.kind, self.name = kind, name
        super().__init__(
            f"no tolerance {name!r} for {kind}: state a ko:Tolerance with ko:forKind ko:{kind} "
            f"and ko:onQuantity ko:{name}"
        )

    def __str__(self) -> str:
        return str(self.args[0])


def bound(tolerances: Tolerances, kind: str, name: str) -> Decimal:
    """The tolerance `name`, which must have been stated: rules hold no defaults of their own.

    Raises:
        MissingToleranceError: no such tolerance.
    """
    amount = tolerances.get(name)
    if amount is None:
        raise MissingToleranceError(kind, name)
    return amount


Span: TypeAlias = tuple[Decimal, Decimal]
"""From where to where something reaches, in the unit of its quantity."""

Rule: TypeAlias = Callable[[Sequence[EndValues], Tolerances], tuple[Finding, ...]]


@dataclass(frozen=True, slots=True)
class Kind:
    """An interface kind: its name (local name of its class in the ontology) and its rule.

    `remedies` names, most usual first, what else than another part at the station resolves a
    clash of this kind ("adapter", "converter", "ring", "re-pin" …); words of the trade.

    Ends are looked up by these, so the rule must call it a clash wherever both ends state them
    and a quantity in `equal` differs, or `near` differs by more than the tolerance of that name
    and what the ends state as `slack`; `if_stated` are further ones that must be equal where both
    ends state them, whether others are missing or not. A kind that names none has all its ends
    compared.

    `span` says from where to where an end reaches in a chain, None where it does not say; the rule
    must call it a clash wherever the spans of all ends, summed up, do not come as near to 0 as the
    tolerance, and nothing proven wherever an end does not say.
    """

    name: str
    rule: Rule
    remedies: tuple[str, ...] = ()
    equal: tuple[str, ...] = ()
    if_stated: tuple[str, ...] = ()
    near: str = ""
    slack: str = ""
    span: Callable[[EndValues], Span | None] | None = None

    @property
    def tolerance(self) -> str:
        """The name of the tolerance on `near`."""
        return self.near


def overall(findings: Sequence[Finding]) -> Outcome:
    """One clash makes a clash; else one gap makes it unproven; else it mates.

    >>> overall([Finding("teeth", Outcome.MATES, Relation.SAME)])
    <Outcome.MATES: 'mates'>
    """
    return worst([finding.outcome for finding in findings])


def worst(outcomes: Sequence[Outcome]) -> Outcome:
    """A clash before a gap, a gap before a mate; what is nothing mates."""
    if Outcome.CLASHES in outcomes:
        return Outcome.CLASHES
    return Outcome.UNPROVEN if Outcome.UNPROVEN in outcomes else Outcome.MATES


def _missing(quantity: str, relation: Relation, a: Scalar | None, b: Scalar | None) -> Finding:
    return Finding(quantity, Outcome.UNPROVEN, relation, a, b, needs=quantity)


def _decided(holds: bool) -> Outcome:
    return Outcome.MATES if holds else Outcome.CLASHES


def same(quantity: str, first: EndValues, second: EndValues) -> Finding:
    """Both ends state the same value; unproven while either is silent.

    >>> f = same("teeth", EndValues(values={"teeth": 27}), EndValues(values={"teeth": 30}))
    >>> f.outcome.value, f.first, f.second
    ('clashes', 27, 30)
    """
    a, b = first.values.get(quantity), second.values.get(quantity)
    if isinstance(a, tuple) or isinstance(b, tuple):
        raise TypeError(f"{quantity} is a record; its kind must compare it")
    if a is None or b is None:
        return _missing(quantity, Relation.SAME, a, b)
    return Finding(quantity, _decided(a == b), Relation.SAME, a, b)


def within(quantity: str, first: EndValues, second: EndValues, tolerance: Decimal) -> Finding:
    """The two numbers differ by no more than `tolerance` (the bound itself still mates)."""
    a, b = first.number(quantity), second.number(quantity)
    if a is None or b is None:
        return _missing(quantity, Relation.WITHIN, a, b)
    margin = tolerance - abs(a - b)
    return Finding(quantity, _decided(margin >= 0), Relation.WITHIN, a, b, tolerance, margin)


def at_least(
    quantity: str, have: Decimal | None, need: Decimal | None, *, needs: str = ""
) -> Finding:
    """What is there reaches what is asked for. `needs` names what to measure where unknown."""
    if have is None or need is None:
        return Finding(
            quantity, Outcome.UNPROVEN, Relation.AT_LEAST, have, need, needs=needs or quantity
        )
    margin = have - need
    return Finding(quantity, _decided(margin >= 0), Relation.AT_LEAST, have, need, None, margin)


def opposite(first: EndValues, second: EndValues, pair: tuple[str, str]) -> Finding:
    """The two ends are of opposite sides, such as external in internal."""
    a, b = first.side or None, second.side or None
    if a is None or b is None:
        return _missing("side", Relation.OPPOSITE, a, b)
    return Finding("side", _decided({a, b} == set(pair)), Relation.OPPOSITE, a, b)
