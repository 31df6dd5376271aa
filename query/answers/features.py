"""What was seen, counted or measured, found among the observations of the catalogue."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rapidfuzz import fuzz, process

from ...reasoner.observations import Observation, ObservationKind
from ...reasoner.readings import Reading, UnreadableError, read
from ...reasoner.witness import MODEL_YEAR, NOT_THERE, THERE
from .. import syntax as s
from ..errors import Problem
from ..phrases import FeatureName, Name
from ..quantities import Quantity
from ..spelling import key_of, words_of
from ..words import plain, unit_word
from .ground import Ground, NoAnswer, no_answer

_WORDS = {ObservationKind.FEATURE}
"""Kinds that are read as a word and not as a number."""


def reading_of(
    ground: Ground, evidence: s.Evidence, candidates: Sequence[str], sort: Name
) -> tuple[Reading, str]:
    """A reading of what was said, and how it was understood."""
    try:
        match evidence:
            case s.Serial(digits):
                seen = _serial_series(ground, candidates, sort)
                return read(seen, digits), f"serial {digits}: read as the {seen.label}"
            case s.Built(year, month):
                text = f"{year:04}" + (f"-{month:02}" if month else "")
                seen = ground.witness.observation(MODEL_YEAR)
                return read(seen, text), f"built {text}: read as the {seen.label}"
            case s.Feature(what, amount):
                return _feature(ground, what, amount, candidates)
    except UnreadableError as error:
        nearest = (error.nearest,) if error.nearest else ()
        raise NoAnswer(Problem(str(error), sort.span, nearest=nearest)) from None
    except KeyError:
        raise no_answer(sort, "the catalogue says nothing of that observation") from None


def _serial_series(ground: Ground, candidates: Sequence[str], sort: Name) -> Observation:
    """The number series a serial belongs to: the part's own where it has one, else the car's."""
    observations = ground.witness.observations(candidates)
    own = [o for o in observations if o.kind is ObservationKind.OWN_NUMBER]
    cars = [o for o in observations if o.kind is ObservationKind.CAR_NUMBER]
    series = own or cars
    if not series:
        raise no_answer(sort, "no serial number tells these parts apart")
    if len(series) > 1:
        labels = tuple(o.label for o in series)
        hint = f"Write for example: 41200 {labels[0]}"
        message = "there are several number series: say which"
        raise NoAnswer(Problem(message, sort.span, nearest=labels, hint=hint))
    return series[0]


def _feature(
    ground: Ground, what: FeatureName, amount: Quantity | None, candidates: Sequence[str]
) -> tuple[Reading, str]:
    observations = ground.witness.observations(candidates)
    if amount is None:
        answers = [(o, answer) for o in observations for answer in o.answers]
        matches = [(o, answer) for o, answer in answers if _says(o, answer, what.text)]
        matches = matches or [(o, a) for o, a in answers if _hints(what.text, o.label, a)]
        if len(matches) == 1:
            seen, answer = matches[0]
            return read(seen, answer), f"{what}: {seen.label} {answer}"
        found = list(dict.fromkeys(o for o, _ in matches)) or _named(ground, observations, what)
        raise _unknown_feature(what, observations, found)
    kinds = {ObservationKind.MEASURE} if amount.unit else set(ObservationKind) - _WORDS
    named = _named(ground, [o for o in observations if o.kind in kinds], what)
    if len(named) != 1:
        raise _unknown_feature(what, observations, named)
    seen = named[0]
    value = amount.value if amount.unit in ("", "in") and seen.unit == "IN" else amount.base
    said = f"{what} {amount}: {seen.label} {plain(value)} {unit_word(seen.unit)}"
    return read(seen, f"{value:f}"), said.rstrip()


def _named(
    ground: Ground, observations: Iterable[Observation], what: FeatureName
) -> list[Observation]:
    """Observations of that name; failing that, those whose name has all of its words."""
    known = list(observations)
    named = [o for o in known if key_of(what.text) in _names(ground, o)]
    return named or [o for o in known if _hints(what.text, o.label)]


def _hints(phrase: str, label: str, answer: str = "") -> bool:
    """Whether every word of a phrase is in a name (and some are in the answer, if there is one)."""
    wanted, of_answer = set(words_of(phrase)), set(words_of(answer))
    if answer in (THERE, NOT_THERE) or (answer and not wanted & of_answer):
        return False
    return bool(wanted) and wanted <= of_answer | set(words_of(label))


def _says(seen: Observation, answer: str, phrase: str) -> bool:
    """Whether a phrase gives this answer: “cartridge”, “cartridge bearing”, “no speed port”."""
    wanted = key_of(phrase)
    forms = {answer, f"{answer} {seen.label}", f"{seen.label} {answer}"}
    if answer == THERE:
        forms = {seen.label, f"with {seen.label}", *seen.synonyms}
    elif answer == NOT_THERE:
        forms = {f"no {seen.label}", *(f"no {name}" for name in seen.synonyms)}
    return wanted in {key_of(form) for form in forms}


def _names(ground: Ground, seen: Observation) -> set[str]:
    names = {seen.label, *seen.synonyms}
    quantity = ground.catalogue.quantities.get(seen.quantity)
    if quantity is not None:
        role = ground.catalogue.name(seen.role)
        short = quantity.label.removeprefix("number of ")
        names |= {quantity.label, short, f"{role} {quantity.label}", f"{role} {short}"}
    return {key_of(name) for name in names}


def _unknown_feature(
    what: FeatureName, observations: Iterable[Observation], found: Sequence[Observation]
) -> NoAnswer:
    if len(found) > 1:
        message = f"“{what}” may mean {len(found)} things to look at"
        return NoAnswer(Problem(message, what.span, nearest=tuple(o.label for o in found)))
    labels = []
    for seen in observations:
        labels.append(seen.label)
        labels += [a for a in seen.answers if a not in (THERE, NOT_THERE)]
    near = process.extract(what.text, list(dict.fromkeys(labels)), scorer=fuzz.WRatio, limit=5)
    message = f"nothing to look at is called “{what}”"
    if found:
        message = f"“{what}” wants an answer or a number"
        labels = [f"{a} {found[0].label}" for a in found[0].answers] or [f"{what} 67.2 mm"]
        return NoAnswer(Problem(message, what.span, nearest=tuple(labels[:5])))
    return NoAnswer(Problem(message, what.span, nearest=tuple(each[0] for each in near)))
