"""The canonical form of a sentence: the one way to say what its tree means.

`parse(format_sentence(tree)) == tree`, and formatting the result again changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from . import syntax as s
from .grammar import pattern
from .phrases import FeatureName, Name
from .quantities import Quantity
from .terms import Terms


def format_sentence(sentence: s.Sentence) -> str:
    """The canonical sentence of a tree.

    >>> from .parse import parse
    >>> format_sentence(parse("WHAT must change if i fit A, B into W2 with no cutting, keeping C"))
    'what else must change if I fit A and fit B to W2 keeping C, with no cutting?'
    """
    text = _body(sentence)
    return text if isinstance(sentence, s.Let | s.Show | s.Compare | s.Identify) else f"{text}?"


def _body(sentence: s.Sentence) -> str:
    match sentence:
        case s.KnockOns(change):
            return f"what else must change {_if(change)}"
        case s.Checks(change):
            return f"what must I check {_if(change)}"
        case s.UnprovenIf(change):
            return f"what is unproven {_if(change)}"
        case s.WhyMust(station, change):
            return _joined(f"why must {_n(station)} change", _if(change) if change else "")
        case s.WhyNot(part, change):
            return _joined(f"why not {_n(part)}", _if(change) if change else "")
        case s.DoesFit(part, car, at, terms):
            return _joined(f"does {_n(part)} fit {_n(car)}", _at(at), format_terms(terms))
        case s.DoesMate(first, second):
            return f"does {_n(first)} mate with {_n(second)}"
        case s.WhatFits(station, car, terms):
            return _joined(f"what fits {_n(station)} on {_n(car)}", format_terms(terms))
        case s.WhereFits(part, car):
            return _joined(f"where does {_n(part)} fit", _on(car))
        case s.LeastChange(sort, cars, terms):
            asked = f"which {_n(sort)} needs the least change across {_list(map(_n, cars))}"
            return _joined(asked, format_terms(terms))
        case s.Show(thing, car):
            return _joined(f"show {_n(thing)}", _on(car))
        case s.Unproven(thing, car):
            return _joined(f"what is unproven about {_n(thing)}", _on(car))
        case s.Compare(things):
            return f"compare {_n(things[0])} with {_list(map(_n, things[1:]))}"
        case s.TellApart(first, second):
            return f"how do I tell {_n(first)} from {_n(second)}"
        case s.Differences(first, second):
            return f"what differs between {_n(first)} and {_n(second)}"
        case s.Identify(sort, evidence, car):
            known = _list(map(_evidence, evidence))
            return _joined(f"identify {_n(sort)}", _on(car), f"with {known}")
        case s.Calculation(measure, car, fits):
            return _joined(f"what is the {measure} on {_n(car)}", _what_if(fits))
        case s.EngineSpeed(gear, speed, car, fits):
            turning = f"how fast does the engine turn in {s.ORDINALS[gear - 1]} at {speed}"
            return _joined(turning, _on(car), _what_if(fits))
        case s.RoadSpeed(gear, engine, car, fits):
            asked = f"what road speed is {engine} in {s.ORDINALS[gear - 1]} on {_n(car)}"
            return _joined(asked, _what_if(fits))
        case s.Speedometer(speed, car, fits):
            asked = f"what will the speedometer read at {speed} on {_n(car)}"
            return _joined(asked, _what_if(fits))
        case s.BoltCircle(chord, bolts):
            return f"what bolt circle gives a chord of {chord} with {bolts} bolts"
        case s.Let(alias, car, fits):
            fitted = f"with {_list(map(_fitting, fits))}" if fits else ""
            return _joined(f"let {_n(alias)} be {_n(car)}", fitted)
        case s.FollowUp():
            return _follow_up(sentence)


def format_terms(terms: Terms) -> str:
    """The clauses of terms in their canonical order; empty if nothing is insisted on."""
    at_most = [f"at most {q}" for q in (terms.cost, terms.labour) if q]
    if terms.wheel:
        at_most.append(f"at most {_size(terms.wheel)} wheels")
    limits = [*at_most, *(f"no {work}" for work in terms.refused)]
    if terms.floor:
        limits.append(f"nothing weaker than {terms.floor}")
    supplies = ["stock"] if terms.stock else []
    supplies += [f"donor {_n(car)}" for car in terms.donors]
    supplies += ["new parts"] if terms.new_parts else []
    clauses = {
        "keeping": map(_n, terms.keeping),
        "with": limits,
        "using": supplies,
        "without": map(_n, terms.without),
        "without parts from": map(_n, terms.without_from),
    }
    said = [(word, _list(items)) for word, items in clauses.items()]
    return ", ".join(f"{word} {items}" for word, items in said if items)


def format_name(name: Name) -> str:
    """A name as a sentence has it: in quotes only if it needs them.

    >>> from .phrases import PartName
    >>> format_name(PartName("hub with bearing"))
    '"hub with bearing"'
    """
    bare = pattern("FEATURE" if isinstance(name, FeatureName) else "NAME")
    first = name.text.split(" ", 1)[0].lower()
    special = ("i", "serial", "build", "built") if isinstance(name, FeatureName) else ("i",)
    if bare.fullmatch(name.text) and first not in special and not _counts(name):
        return name.text
    return '"' + name.text.replace('"', '""') + '"'


_n = format_name


def _counts(name: Name) -> bool:
    # A number in front of a feature would be read as a count of it.
    return isinstance(name, FeatureName) and name.text[0].isdigit()


def _if(change: s.Change) -> str:
    to = f"to {_n(change.car)}"
    return _joined("if I", _fits(change.fits), to, format_terms(change.terms))


def _fits(fits: Iterable[s.Fitting]) -> str:
    return " and ".join(f"fit {_fitting(f)}" for f in fits)


def _fitting(fitting: s.Fitting) -> str:
    return _joined(_n(fitting.part), _at(fitting.at))


def _what_if(fits: tuple[s.Fitting, ...]) -> str:
    return f"if I {_fits(fits)}" if fits else ""


def _on(car: Name | None) -> str:
    return f"on {_n(car)}" if car else ""


def _at(station: Name | None) -> str:
    return f"at {_n(station)}" if station else ""


def _size(quantity: Quantity) -> str:
    return f"{quantity.number}-inch" if quantity.unit == "in" else str(quantity)


def _evidence(evidence: s.Evidence) -> str:
    match evidence:
        case s.Serial(number):
            return f"serial {number}"
        case s.Built(year, month):
            return f"build date {year:04}" + (f"-{month:02}" if month else "")
        case s.Feature(what, None):
            return _n(what)
        case s.Feature(what, Quantity(unit="") as amount):
            return f"{amount} {_n(what)}"
        case s.Feature(what, amount):
            return f"{_n(what)} {amount}"


def _follow_up(follow_up: s.FollowUp) -> str:
    terms = follow_up.terms
    if follow_up.freed:
        freed = f"and if {_list(map(_n, follow_up.freed))} may change"
        return _joined(freed, format_terms(terms))
    if follow_up.fits:
        to = f"to {_n(follow_up.car)}" if follow_up.car else ""
        return _joined("and if I", _fits(follow_up.fits), to, format_terms(terms))
    if follow_up.car:
        return _joined("and", _on(follow_up.car), format_terms(terms))
    if terms.keeping:
        rest = format_terms(replace(terms, keeping=()))
        kept = f"and if I keep {_list(map(_n, terms.keeping))}"
        return f"{kept}, {rest}" if rest else kept
    return f"and {format_terms(terms)}"


def _joined(*pieces: str) -> str:
    return " ".join(piece for piece in pieces if piece)


def _list(items: Iterable[str]) -> str:
    """A list in words, without a comma before its last “and”."""
    words = list(items)
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
