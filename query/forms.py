"""Every form of sentence, what it asks, and examples of it: for the manual, help and tests."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from . import syntax as s


@dataclass(frozen=True, slots=True)
class Form:
    """One form; the first example is the one to show, and every example parses to `tree`."""

    tree: type
    asks: str
    examples: tuple[str, ...]


FORMS: Final = (
    Form(
        s.KnockOns,
        "what a change drags along: must, choice or keeps for every station, with the reasons",
        (
            "what else must change if I fit HD rear hub to Wether W2 late?",
            "what else must change if I fit OW-42310 and fit HD half-shaft to Wether W2 late"
            " keeping the wheels, with at most 10 hours and no cutting, using stock and donor"
            " Wether HD?",
            "what must change if I fit six-speed gearbox into Lanner with nothing weaker than"
            " documented, without parts from Brannock?",
        ),
    ),
    Form(
        s.Checks,
        "what to measure or read off before ordering",
        (
            "what must I check if I fit HD rear hub to Wether W2 late?",
            "checks for HD rear hub on Wether W2 late",
        ),
    ),
    Form(
        s.UnprovenIf,
        "which joints of a change nobody has proved",
        ("what is unproven if I fit late gearbox to Wether W1 early?",),
    ),
    Form(
        s.WhyMust,
        "the chain of reasons behind one station, down to measured values; without a change it"
        " asks about the last question",
        (
            "why must the parking brake change if I fit HD rear hub to Wether W2 late?",
            "why must the parking brake change?",
        ),
    ),
    Form(
        s.WhyNot,
        "what rules a part out",
        (
            "why not light calliper if I fit HD rear hub to Wether W2 late?",
            "why not OW-31020?",
        ),
    ),
    Form(
        s.DoesFit,
        "whether a part fits a car, and on what terms",
        (
            "does HD rear hub fit Wether W2 late?",
            "does 15-inch steel wheel fit Wether W3 wide at front hub keeping the callipers?",
        ),
    ),
    Form(
        s.DoesMate,
        "whether the ends of two parts meet",
        ("does OW-42310 mate with HD half-shaft?",),
    ),
    Form(
        s.WhatFits,
        "every part that fits one station of a car",
        (
            "what fits rear hub on Wether W2 late?",
            "what fits propshaft on Wether W1 early using new parts?",
        ),
    ),
    Form(
        s.WhereFits,
        "the cars and stations that take a part",
        ("where does HD rear hub fit?", "where does OW-42310 fit on Wether W2 late?"),
    ),
    Form(
        s.LeastChange,
        "which part of a sort drags the least along, over several cars",
        (
            "which six-speed gearbox needs the least change across Wether W1 early, Wether W2"
            " late and Lanner?",
        ),
    ),
    Form(
        s.Show,
        "what the catalogue holds on a thing",
        ("show OW-42310", "show rear hub on Wether W2 late"),
    ),
    Form(
        s.Unproven,
        "values and joints that nobody has proved",
        (
            "what is unproven about HD rear hub?",
            "what is unproven about rear axle on Wether W2 late?",
        ),
    ),
    Form(
        s.Compare,
        "things side by side",
        ("compare HD rear hub with light rear hub", "compare A with B, C and D"),
    ),
    Form(
        s.TellApart,
        "what to look at or measure to tell two lookalikes apart",
        ("how do I tell HD rear hub from light rear hub?",),
    ),
    Form(
        s.Differences,
        "the stations in which two cars differ",
        ("what differs between Wether W2 early and Wether W2 late?",),
    ),
    Form(
        s.Identify,
        "which part this is, from what can be seen or measured; says so if two signs disagree",
        (
            "identify rear hub with serial 41200 and 30 teeth",
            "identify rear hub on Wether W2 late with build date 2005-03, chord 70.5 mm and"
            " green mark",
        ),
    ),
    Form(
        s.Calculation,
        "a figure before and after a change",
        (
            "what is the track width on Wether W3 narrow if I fit wide half-shaft?",
            "what is the brake torque split on Wether W2 late?",
        ),
    ),
    Form(
        s.EngineSpeed,
        "engine speed at a road speed",
        ("how fast does the engine turn in fifth at 110 km/h on Wether W2 late?",),
    ),
    Form(
        s.RoadSpeed,
        "road speed at an engine speed",
        ("what road speed is 3000 rpm in fifth on Wether W2 late?",),
    ),
    Form(
        s.Speedometer,
        "what the speedometer shows",
        ("what will the speedometer read at 100 km/h on Wether W2 late if I fit 16-inch wheel?",),
    ),
    Form(
        s.BoltCircle,
        "the bolt circle from a measured chord between neighbouring bolts",
        ("what bolt circle gives a chord of 67.2 mm with 5 bolts?",),
    ),
    Form(
        s.Let,
        "gives a build a name for the sentences that follow",
        (
            "let my-car be Wether W2 late with 15-inch steel wheel",
            'let my-car be Wether W2 late with 15" steel wheel at front hub and HD rear hub',
        ),
    ),
    Form(
        s.FollowUp,
        "the last question, amended; it is printed back in full",
        (
            "and if I keep the wheels?",
            "and if the wheels may change?",
            "and if I fit HD calliper?",
            "and on Wether W2 early?",
            "and with at most 6 hours?",
        ),
    ),
)
