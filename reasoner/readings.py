"""What somebody saw, read off or measured, checked against what the observation can show."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches

from .errors import KnockonError
from .observations import Allowed, Observation, ObservationKind, Span, months


class UnreadableError(KnockonError):
    """What was said is no answer to the observation. `nearest` is a word it may read, or ""."""

    def __init__(self, observation: str, what: str, nearest: str = "") -> None:
        self.observation, self.nearest = observation, nearest
        super().__init__(what)


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing that is known. `said` is as it was put, `shows` what that can mean."""

    observation: str
    said: str
    shows: Allowed


def read(
    observation: Observation, said: str | int | Decimal, *, grace: Decimal | None = None
) -> Reading:
    """A reading of an observation.

    A measured value means itself, give or take `grace`; unless given, that is how exactly the
    observation can be read, and never less than half of the last place that was stated.

    Raises:
        UnreadableError: not a number, date or word that the observation can show.
    """
    text = str(said).strip()
    shows: Allowed
    match observation.kind:
        case ObservationKind.FEATURE:
            shows = _word(observation, text)
        case ObservationKind.DATE:
            shows = _date(observation, text)
        case ObservationKind.OWN_NUMBER | ObservationKind.CAR_NUMBER:
            shows = _serial(observation, text)
        case ObservationKind.COUNT:
            shows = _whole(observation, text)
        case ObservationKind.MEASURE:
            shows = _measure(observation, text, grace)
    return Reading(observation.iri, text, shows)


def agree(one: Allowed, other: Allowed) -> bool:
    """Whether two answers can be the same thing.

    >>> agree("Pressed in", "pressed in"), agree(Span(Decimal(1), Decimal(4)), Span(Decimal(5)))
    (True, False)
    """
    if isinstance(one, Span):
        return isinstance(other, Span) and one.meets(other)
    return isinstance(other, str) and one.casefold() == other.casefold()


def _word(observation: Observation, text: str) -> str:
    known = {answer.casefold(): answer for answer in observation.answers}
    if not known or text.casefold() in known:
        return known.get(text.casefold(), text)
    nearest = get_close_matches(text.casefold(), sorted(known), n=1, cutoff=0.0)
    words = ", ".join(f"“{answer}”" for answer in observation.answers)
    raise UnreadableError(
        observation.iri,
        f"“{text}” is no answer to {observation.label}: it can be {words}",
        known[nearest[0]] if nearest else "",
    )


def _date(observation: Observation, text: str) -> Span:
    try:
        return Span(months(text), months(text, last=True))
    except ValueError as error:
        raise UnreadableError(observation.iri, str(error)) from None


def _serial(observation: Observation, text: str) -> Span:
    bare = text.casefold()
    if observation.prefix:
        bare = bare.removeprefix(observation.prefix.casefold())
    digits = bare.replace(" ", "").replace("-", "")
    if not (digits.isascii() and digits.isdigit()):
        example = f"{observation.prefix}12345"
        raise UnreadableError(
            observation.iri, f"“{text}” is no {observation.label}: write it as {example}"
        )
    return Span(Decimal(digits), Decimal(digits))


def _whole(observation: Observation, text: str) -> Span:
    number = _number(observation, text)
    if number != number.to_integral_value():
        raise UnreadableError(observation.iri, f"“{text}” is no count: write a whole number")
    return Span(number, number)


def _measure(observation: Observation, text: str, grace: Decimal | None) -> Span:
    number = _number(observation, text)
    if grace is None:
        places = number.as_tuple().exponent
        last = Decimal(1).scaleb(places if isinstance(places, int) else 0)
        grace = max(last / 2, observation.grace or Decimal(0))
    return Span(number, number).widened(grace)


def _number(observation: Observation, text: str) -> Decimal:
    try:
        number = Decimal(text)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise UnreadableError(observation.iri, f"“{text}” is no number: write it as 67.2")
    return number
