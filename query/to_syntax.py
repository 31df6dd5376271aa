"""What each rule of the grammar means, as a part of the tree of a sentence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final, TypeAlias, TypeVar

from lark import Token, Transformer, Tree

from . import syntax as s
from .errors import BadQuantity, Problem, SaidTwice, UnexpectedWord
from .grammar import NAMES
from .phrases import LONGEST_NAME, NOWHERE, CarName, KeptName, Name, Span
from .quantities import Dimension, NotAQuantity, Quantity, named, read_quantity
from .reading import name_too_long
from .terms import WORK, Terms

_MEASURED: Final[tuple[Dimension, ...]] = ("length", "mass", "angle")
_MEASURES: Final[dict[Dimension, str]] = {
    "count": "has no unit",
    "length": "is a length",
    "torque": "is a torque",
    "mass": "is a mass",
    "speed": "is a road speed",
    "turning": "is a speed of turning",
    "money": "is a sum of money",
    "labour": "is a time of labour",
    "angle": "is an angle",
}
_TWICE: Final = {
    "cost": "the most it may cost",
    "labour": "the most hours",
    "wheel": "the largest wheel",
    "floor": "the weakest standing",
}
_Children: TypeAlias = list[Any]
_Said: TypeAlias = tuple[str, Any, Span]
"""One thing said in a clause: the field of `Terms`, its value, and where."""
_T = TypeVar("_T")


class ToSyntax(Transformer[Token, Any]):
    """Turns the parser's tree of a sentence into the tree of `syntax`.

    One rule of the grammar, one method; the children are what its own rules have become.
    """

    # ruff: noqa: D102, ARG002 - the grammar says what each rule is.

    def __init__(self, sentence: str) -> None:
        super().__init__()
        self._sentence = sentence

    def __default__(self, data: Any, children: _Children, meta: Any) -> Any:
        """Names by the table; nothing else is left over."""
        if data in NAMES:
            return self._name(NAMES[data], children[0])
        return Tree(data, children, meta)

    def _name(self, kind: type[Name], token: Token) -> Name:
        text = str(token)
        if token.type == "QUOTED":
            text = text[1:-1].replace('""', '"') if text.startswith('"') else text[1:-1]
        text = " ".join(text.split())
        if len(text) > LONGEST_NAME:
            raise name_too_long(_span(token), self._sentence)
        return kind(text, _span(token))

    def _amount(self, token: Token, *wanted: Dimension) -> Quantity:
        span = _span(token)
        units = tuple(unit for each in wanted for unit in named(each))
        try:
            quantity = read_quantity(str(token))
        except NotAQuantity as error:
            start = span.start + max(0, str(token).find(error.blame))
            span = Span(start, start + len(error.blame))
            raise BadQuantity(Problem(str(error), span, units).within(self._sentence)) from None
        if quantity.dimension not in wanted:
            told = _MEASURES[quantity.dimension]
            is_length = quantity.dimension == "length"
            hint = "For wheels say “at most 15-inch wheels”" if is_length else ""
            problem = Problem(f"“{token}” {told}", span, units, hint=hint)
            raise BadQuantity(problem.within(self._sentence))
        return quantity

    # ------------------------------------------------------------------ what a change leads to

    def start(self, c: _Children) -> s.Sentence:
        sentence: s.Sentence = c[0]
        return sentence

    def fits(self, c: _Children) -> tuple[s.Fitting, ...]:
        return tuple(c)

    def fitting(self, c: _Children) -> s.Fitting:
        return s.Fitting(*c)

    def change(self, c: _Children) -> s.Change:
        *fits, car, terms = c
        # `checks for A, B on CAR` lists its fittings itself.
        flat = fits[0] if isinstance(fits[0], tuple) else tuple(fits)
        return s.Change(flat, car, terms)

    def knock_ons(self, c: _Children) -> s.KnockOns:
        return s.KnockOns(*c)

    def checks(self, c: _Children) -> s.Checks:
        return s.Checks(*c)

    def unproven_if(self, c: _Children) -> s.UnprovenIf:
        return s.UnprovenIf(*c)

    def why_must(self, c: _Children) -> s.WhyMust:
        return s.WhyMust(*c)

    def why_not(self, c: _Children) -> s.WhyNot:
        return s.WhyNot(*c)

    # ------------------------------------------------------------------ what fits what

    def does_fit(self, c: _Children) -> s.DoesFit:
        part, car, *at, terms = c
        return s.DoesFit(part, car, at[0] if at else None, terms)

    def does_mate(self, c: _Children) -> s.DoesMate:
        return s.DoesMate(*c)

    def what_fits(self, c: _Children) -> s.WhatFits:
        return s.WhatFits(*c)

    def where_fits(self, c: _Children) -> s.WhereFits:
        return s.WhereFits(*c)

    def least_change(self, c: _Children) -> s.LeastChange:
        sort, *cars, terms = c
        return s.LeastChange(sort, tuple(cars), terms)

    # ------------------------------------------------------------------ what a thing is

    def show(self, c: _Children) -> s.Show:
        return s.Show(*c)

    def unproven(self, c: _Children) -> s.Unproven:
        return s.Unproven(*c)

    def compare(self, c: _Children) -> s.Compare:
        return s.Compare(tuple(c))

    def tell_apart(self, c: _Children) -> s.TellApart:
        return s.TellApart(*c)

    def differences(self, c: _Children) -> s.Differences:
        return s.Differences(*c)

    def identify(self, c: _Children) -> s.Identify:
        sort, *rest = c
        car = rest.pop(0) if isinstance(rest[0], CarName) else None
        return s.Identify(sort, tuple(rest), car)

    def serial(self, c: _Children) -> s.Serial:
        return s.Serial(int(c[0]))

    def built(self, c: _Children) -> s.Built:
        year, _, month = str(c[0]).partition("-")
        if month and not 1 <= int(month) <= 12:
            problem = Problem(f"“{c[0]}” names no month", _span(c[0]), ("a month from 01 to 12",))
            raise UnexpectedWord(problem.within(self._sentence))
        return s.Built(int(year), int(month) if month else None)

    def feature(self, c: _Children) -> s.Feature:
        what, *amount = c
        return s.Feature(what, self._amount(amount[0], *_MEASURED) if amount else None)

    def count(self, c: _Children) -> s.Feature:
        number, what = c
        return s.Feature(what, read_quantity(str(number)))

    # ------------------------------------------------------------------ what it works out to

    def calculation(self, c: _Children) -> s.Calculation:
        measure, car, *fits = c
        return s.Calculation(_measure(str(measure)), car, *fits)

    def engine_speed(self, c: _Children) -> s.EngineSpeed:
        gear, speed, car, *fits = c
        return s.EngineSpeed(_gear(str(gear)), self._amount(speed, "speed"), car, *fits)

    def road_speed(self, c: _Children) -> s.RoadSpeed:
        engine, gear, car, *fits = c
        return s.RoadSpeed(_gear(str(gear)), self._amount(engine, "turning"), car, *fits)

    def speedometer(self, c: _Children) -> s.Speedometer:
        speed, car, *fits = c
        return s.Speedometer(self._amount(speed, "speed"), car, *fits)

    def bolt_circle(self, c: _Children) -> s.BoltCircle:
        chord, bolts = c
        if not 3 <= int(bolts) <= 10:
            problem = Problem(
                f"a circle of {bolts} bolts cannot be worked out", _span(bolts), ("3 to 10 bolts",)
            )
            raise BadQuantity(problem.within(self._sentence))
        return s.BoltCircle(self._amount(chord, "length"), int(bolts))

    # ------------------------------------------------------------------ a conversation

    def let(self, c: _Children) -> s.Let:
        alias, car, *fits = c
        return s.Let(alias, car, tuple(fits))

    def follow_up(self, c: _Children) -> s.FollowUp:
        terms: Terms = c.pop()
        kept = [n for n in c if isinstance(n, KeptName)]
        terms = replace(terms, keeping=_unique(kept, terms.keeping))
        fits = next((f for f in c if isinstance(f, tuple)), ())
        car = next((n for n in c if isinstance(n, CarName)), None)
        return s.FollowUp(fits, car, terms)

    def may_change(self, c: _Children) -> s.FollowUp:
        *freed, terms = c
        return s.FollowUp(terms=terms, freed=_unique(freed))

    # ------------------------------------------------------------------ terms

    def terms(self, c: _Children) -> Terms:
        """All clauses together: lists are joined, what can have one value has one."""
        found: dict[str, Any] = {}
        for field, value, span in (said for clause in c for said in clause):
            if isinstance(value, tuple):
                found[field] = _unique(found.get(field, ()), value)
                continue
            if field in found and field in _TWICE:
                problem = Problem(f"{_TWICE[field]} is said twice", span)
                raise SaidTwice(problem.within(self._sentence))
            found[field] = value
        if "refused" in found:
            found["refused"] = tuple(w for w in WORK if w in found["refused"])
        return Terms(**found)

    def keeping(self, c: _Children) -> list[_Said]:
        return [("keeping", tuple(c), NOWHERE)]

    def limits(self, c: _Children) -> list[_Said]:
        return c

    def using(self, c: _Children) -> list[_Said]:
        return c

    def without(self, c: _Children) -> list[_Said]:
        return [("without", tuple(c), NOWHERE)]

    def without_from(self, c: _Children) -> list[_Said]:
        return [("without_from", tuple(c), NOWHERE)]

    def at_most(self, c: _Children) -> _Said:
        amount, *wheels = c
        if wheels:
            return "wheel", self._amount(amount, "length"), _span(amount)
        quantity = self._amount(amount, "money", "labour")
        return ("cost" if quantity.dimension == "money" else "labour"), quantity, _span(amount)

    def no_work(self, c: _Children) -> _Said:
        return "refused", (" ".join(str(c[0]).lower().split()),), NOWHERE

    def floor(self, c: _Children) -> _Said:
        return "floor", "-".join(str(c[0]).lower().replace("-", " ").split()), _span(c[0])

    def stock(self, c: _Children) -> _Said:
        return "stock", True, NOWHERE

    def donor(self, c: _Children) -> _Said:
        return "donors", tuple(c), NOWHERE

    def new_parts(self, c: _Children) -> _Said:
        return "new_parts", True, NOWHERE


def _span(token: Token) -> Span:
    return Span(token.start_pos or 0, token.end_pos or 0)


def _unique(*groups: Iterable[_T]) -> tuple[_T, ...]:
    return tuple(dict.fromkeys(item for group in groups for item in group))


def _gear(text: str) -> int:
    word = text.lower().removeprefix("gear").removesuffix("gear").strip()
    return int(word[0]) if word[0].isdigit() else s.ORDINALS.index(word) + 1


def _measure(text: str) -> s.Measure:
    words = " ".join(text.lower().split()).removeprefix("the ").replace("center", "centre")
    return next(m for m in s.MEASURES if m == words.removesuffix("s"))
