"""How a sentence is answered: a small plan of steps over the reasoner, for `knockon explain`.

The plan is derived from the tree of the sentence. The desk does not run it: it runs the functions
that the plan names, and a test holds the order in which it calls them against the plan of every
form of sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from . import syntax as s
from .format import format_name, format_sentence, format_terms
from .phrases import Name
from .wishes import Resolver


@dataclass(frozen=True, slots=True)
class Argument:
    """What a step is given: a phrase of the sentence, or what an earlier step made (its number)."""

    name: str
    text: str = ""
    step: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One call: the function by its path below `knockon`, what it is given, what it makes.

    `only_if` says when it is left out; empty if it never is.
    """

    function: str
    arguments: tuple[Argument, ...]
    makes: str
    only_if: str = ""


@dataclass(frozen=True, slots=True)
class QueryPlan:
    """The steps that answer a sentence, in order, numbered from 1."""

    sentence: str
    steps: tuple[Step, ...]


def plan_of(sentence: s.Sentence) -> QueryPlan:
    """The plan of a whole sentence (see `follow_up.in_full`).

    >>> from .parse import parse
    >>> [step.function for step in plan_of(parse("where does OW-1 fit?")).steps]
    ['query.wishes.Resolver.part', 'reasoner.where_fits.where_fits']
    """
    return QueryPlan(format_sentence(sentence), tuple(_steps(sentence)))


def resolved(plan: QueryPlan, sentence: s.Sentence, resolver: Resolver) -> QueryPlan:
    """The plan with what its names mean on this catalogue written after them.

    Raises:
        QueryError: a name of a change means nothing, or several things.
    """
    change = getattr(sentence, "change", None)
    if not isinstance(change, s.Change):
        return plan
    build = resolver.build(change.car)
    fits = resolver.fittings(change.fits, build)
    name = resolver.catalogue.name
    parts = ", ".join(f"{name(part)} as {name(station)}" for station, part in fits.items())
    meant = {"car": build.name, "parts": parts}
    return replace(plan, steps=tuple(_said(step, meant) for step in plan.steps))


def _said(step: Step, meant: dict[str, str]) -> Step:
    arguments = []
    for argument in step.arguments:
        means = meant.get(argument.name, argument.text)
        said = argument.text if means == argument.text else f"{argument.text} ({means})"
        arguments.append(argument if argument.step else replace(argument, text=said))
    return replace(step, arguments=tuple(arguments))


def render_query_plan(plan: QueryPlan) -> str:
    """The plan as numbered lines."""
    lines = [plan.sentence, ""]
    for number, step in enumerate(plan.steps, 1):
        given = ", ".join(_argument(a) for a in step.arguments)
        lines.append(f"{number}. {step.function}({given})")
        lines.append(f"   → {step.makes}{f'; only if {step.only_if}' if step.only_if else ''}")
    return "\n".join(lines) + "\n"


def _argument(argument: Argument) -> str:
    return f"{argument.name} = {f'[{argument.step}]' if argument.step else argument.text}"


# ---------------------------------------------------------------------- the steps of each form


def _steps(sentence: s.Sentence) -> Iterator[Step]:
    match sentence:
        case s.KnockOns(change) | s.Checks(change) | s.UnprovenIf(change):
            yield from _change(change)
            yield _cascade()
            yield Step(
                "reasoner.plans.find_plans",
                (_from("build", 1), _from("wishes", 3), _from("supply", 4), _from("points", 5)),
                "the best plans: parts, cost, hours, what cannot be undone",
                "a plan is workable and plans are wanted",
            )
        case s.WhyMust(station, s.Change() as change):
            yield from _change(change)
            yield _stations(station, 1)
            yield _cascade()
        case s.WhyNot(part, s.Change() as change):
            yield from _change(change)
            yield _part(part)
            yield Step(
                "reasoner.reasons.explain_change",
                (_from("build", 1), _from("part", 5), _from("wishes", 3), _from("supply", 4)),
                "the chains of reasons that rule it out",
                "it is offered, and cannot stay where it would sit",
            )
        case s.DoesFit(part, car, _, terms):
            yield _build(car)
            yield _part(part)
            yield from _terms(terms, 1)
            yield _cascade(1, 3, 4, only_if="the part is not there already")
        case s.WhatFits(station, car, terms):
            yield _build(car)
            yield _stations(station, 1)
            yield from _terms(terms, 1)
            yield Step("reasoner.kit_choice.kit_parts", (_from("station", 2),), "the parts for it")
            yield Step(
                "reasoner.kit_choice.choose_kit",
                (_from("parts", 5), _from("builds", 1), _from("wishes", 3)),
                "for each part how many other stations change, read kindly and strictly",
            )
        case _:
            yield from _others(sentence)


def _others(sentence: s.Sentence) -> Iterator[Step]:
    match sentence:
        case s.DoesMate(first, second):
            yield _part(first)
            yield _part(second)
            yield Step(
                "reasoner.mating.Mating.meet_keys",
                (_from("first", 1), _from("second", 2)),
                "at each joint that both have an end for: every comparison, by rule and tolerance",
                "they have a joint in common",
            )
        case s.WhereFits(part, car):
            yield _part(part)
            where = (Argument("cars", format_name(car) if car else "every car"),)
            yield Step(
                "reasoner.where_fits.where_fits",
                (_from("part", 1), *where),
                "for each car and station: as it is, with how many changes, or why not",
            )
        case s.LeastChange(sort, cars, terms):
            yield _thing(sort)
            yield Step(
                "reasoner.kit_choice.kit_parts", (_from("sort", 1),), "the parts of the sort"
            )
            yield Step(
                "query.wishes.Resolver.wishes",
                (Argument("terms", format_terms(terms) or "none"),),
                "what is insisted on",
            )
            names = ", ".join(map(format_name, cars))
            yield Step(
                "reasoner.kit_choice.choose_kit",
                (_from("parts", 2), Argument("cars", names), _from("wishes", 3)),
                "the parts in order of how much changes over all the cars",
            )
        case s.Show(thing, _):
            yield _thing(thing)
        case s.Unproven(thing, _):
            yield _thing(thing)
            yield Step(
                "reasoner.mating.Mating.meet",
                (_from("thing", 1),),
                "each meeting of it that nobody has proven, and the values that are missing",
                "parts of it meet others",
            )
        case s.Compare(things):
            for thing in things:
                yield _thing(thing)
        case s.TellApart(first, second):
            yield _thing(first)
            yield _thing(second)
            yield Step(
                "reasoner.looks.tell_apart",
                (_from("first", 1), _from("second", 2)),
                "what separates them, the sure and easy first",
            )
        case s.Differences(first, second):
            yield Step(
                "reasoner.differences.find_differences",
                (Argument("first", format_name(first)), Argument("second", format_name(second))),
                "what differs, station by station and end by end",
            )
        case s.Identify(sort, _, _):
            yield _thing(sort)
            yield Step("reasoner.identify.lookalikes", (_from("sort", 1),), "the candidates")
            seen = Argument("readings", format_sentence(sentence).partition(" with ")[2])
            yield Step(
                "reasoner.identify.identify",
                (_from("candidates", 2), seen),
                "what remains and why, and what to look at next",
            )
        case _:
            yield from _sums(sentence)


def _sums(sentence: s.Sentence) -> Iterator[Step]:
    match sentence:
        case s.BoltCircle(chord, bolts):
            given = (Argument("chord", str(chord)), Argument("bolts", str(bolts)))
            yield Step("reasoner.interfaces.chords.circle_from_chord", given, "the circle")
            yield Step(
                "reasoner.interfaces.chords.possible_circles", given, "known circles within reach"
            )
        case s.Let(_, car, fits):
            yield _build(car)
            yield _fittings(fits, 1)
            given = (_from("build", 1), _from("fits", 2))
            yield Step("query.wishes.with_fits", given, "the build under its name")
            yield Step("reasoner.build.clashes", (_from("build", 3),), "joints that clash in it")
        case s.Calculation() | s.EngineSpeed() | s.RoadSpeed() | s.Speedometer():
            yield _build(sentence.car)
            yield _fittings(sentence.fits, 1)
            yield Step(
                "reasoner.drivetrain.Drivetrain",
                (_from("build", 1), _from("fits", 2)),
                f"{_sum(sentence)}, with every fact it rests on",
            )


def _sum(sentence: s.Calculation | s.EngineSpeed | s.RoadSpeed | s.Speedometer) -> str:
    match sentence:
        case s.Calculation(measure):
            return f"the {measure}"
        case s.EngineSpeed():
            return "the engine speed"
        case s.RoadSpeed():
            return "the road speed"
        case s.Speedometer():
            return "what the speedometer reads"


# ---------------------------------------------------------------------- steps that many share


def _change(change: s.Change) -> Iterator[Step]:
    yield _build(change.car)
    yield _fittings(change.fits, 1)
    terms = format_terms(change.terms) or "none"
    yield Step(
        "query.wishes.Resolver.wishes",
        (_from("fits", 2), Argument("terms", terms), _from("build", 1)),
        "what is insisted on: fits, keeps, refusals, limits",
    )
    yield _supply(terms)


def _terms(terms: s.Terms, build: int) -> Iterator[Step]:
    said = format_terms(terms) or "none"
    given = (Argument("terms", said), _from("build", build))
    yield Step("query.wishes.Resolver.wishes", given, "what is insisted on")
    yield _supply(said)


def _supply(terms: str) -> Step:
    given = (Argument("terms", terms),)
    return Step("query.wishes.Resolver.supply", given, "where parts may come from")


def _cascade(build: int = 1, wishes: int = 3, supply: int = 4, *, only_if: str = "") -> Step:
    return Step(
        "reasoner.cascade.find_cascade",
        (_from("build", build), _from("wishes", wishes), _from("supply", supply)),
        "must, choice or keeps for every station, with reasons and checks; or the conflict",
        only_if,
    )


def _build(car: Name) -> Step:
    return Step("query.wishes.Resolver.build", (Argument("car", format_name(car)),), "the build")


def _fittings(fits: Iterable[s.Fitting], build: int) -> Step:
    said = ", ".join(
        format_name(f.part) + (f" at {format_name(f.at)}" if f.at else "") for f in fits
    )
    given = (Argument("parts", said or "none"), _from("build", build))
    return Step("query.wishes.Resolver.fittings", given, "which part goes to which station")


def _part(part: Name) -> Step:
    return Step("query.wishes.Resolver.part", (Argument("part", format_name(part)),), "the part")


def _thing(thing: Name) -> Step:
    return Step("query.names.resolve_one", (Argument("name", format_name(thing)),), "what it names")


def _stations(station: Name, build: int) -> Step:
    given = (Argument("station", format_name(station)), _from("build", build))
    return Step("query.wishes.Resolver.stations", given, "the stations that it means")


def _from(name: str, step: int) -> Argument:
    return Argument(name, step=step)
