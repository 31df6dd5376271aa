"""Trees of sentences, made at random, every form of them."""

from __future__ import annotations

import string
from decimal import Decimal

from hypothesis import strategies as st
from knockon.query import syntax as s
from knockon.query.phrases import (
    CarName,
    FeatureName,
    KeptName,
    Name,
    NewName,
    PartName,
    SortName,
    SourceName,
    StationName,
    ThingName,
)
from knockon.query.quantities import Quantity, UnitName
from knockon.query.terms import FLOORS, WORK, Terms

# Words that a grammar could stumble over: its own, numbers, amounts, marks and other scripts.
_WORDS = """
and with to on fit if I i not parts from new stock donor serial built build 15-inch 15 5" mm
OW-42310 keeping no at most the its wheels No. (alt) Gehäuse 轴 «x» 3/8 70.5 km/h bolt-on needs
change may be what ' “ ” " \\ , ; # ? ! . .5 a.b -
"""
_AWKWARD = st.sampled_from(_WORDS.split())
_LETTERS = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=6
)
_PLAIN = st.text(string.ascii_letters + string.digits + "-", min_size=1, max_size=8)
phrases = (
    st.lists(st.one_of(_PLAIN, _AWKWARD, _LETTERS), min_size=1, max_size=5)
    .map(" ".join)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)


def _of(kind: type[Name]) -> st.SearchStrategy[Name]:
    return phrases.map(kind)


def _several(each: st.SearchStrategy[object], least: int = 0, most: int = 3) -> st.SearchStrategy:
    return st.lists(each, min_size=least, max_size=most, unique=True).map(tuple)


parts, cars, stations = _of(PartName), _of(CarName), _of(StationName)
things, sorts, kept, sources = _of(ThingName), _of(SortName), _of(KeptName), _of(SourceName)


def amounts(*units: UnitName) -> st.SearchStrategy[Quantity]:
    number = st.decimals(0, 999_999, places=3).map(lambda value: value.normalize() + Decimal(0))
    return st.builds(Quantity, number, st.sampled_from(units))


terms = st.builds(
    Terms,
    keeping=_several(kept),
    cost=st.none() | amounts("EUR"),
    labour=st.none() | amounts("hours"),
    wheel=st.none() | amounts("in", "mm", "cm"),
    refused=st.sets(st.sampled_from(WORK)).map(lambda some: tuple(w for w in WORK if w in some)),
    floor=st.none() | st.sampled_from(FLOORS),
    stock=st.booleans(),
    donors=_several(cars),
    new_parts=st.booleans(),
    without=_several(parts),
    without_from=_several(sources),
)
fittings = st.builds(s.Fitting, parts, st.none() | stations)
fits = _several(fittings)
changes = st.builds(s.Change, _several(fittings, 1), cars, terms)
evidence = st.one_of(
    st.builds(s.Serial, st.integers(0, 999_999_999)),
    st.builds(s.Built, st.integers(0, 9999), st.none() | st.integers(1, 12)),
    st.builds(
        s.Feature,
        _of(FeatureName),
        st.none() | amounts("mm", "in", "cm", "kg", "lb", "degrees"),
    ),
    st.builds(
        s.Feature,
        _of(FeatureName),
        st.integers(0, 999_999_999).map(lambda n: Quantity(Decimal(n), "")),
    ),
)
gears, speeds = st.integers(1, 8), amounts("km/h", "mph")
follow_ups = st.one_of(
    st.builds(s.FollowUp, _several(fittings, 1), st.none() | cars, terms),
    st.builds(s.FollowUp, st.just(()), cars, terms),
    st.builds(s.FollowUp, st.just(()), st.none(), terms.filter(lambda t: t != Terms())),
    st.builds(s.FollowUp, terms=terms, freed=_several(kept, 1)),
)
sentences: st.SearchStrategy[s.Sentence] = st.one_of(
    st.builds(s.KnockOns, changes),
    st.builds(s.Checks, changes),
    st.builds(s.UnprovenIf, changes),
    st.builds(s.WhyMust, stations, st.none() | changes),
    st.builds(s.WhyNot, parts, st.none() | changes),
    st.builds(s.DoesFit, parts, cars, st.none() | stations, terms),
    st.builds(s.DoesMate, parts, parts),
    st.builds(s.WhatFits, stations, cars, terms),
    st.builds(s.WhereFits, parts, st.none() | cars),
    st.builds(s.LeastChange, sorts, _several(cars, 1), terms),
    st.builds(s.Show, things, st.none() | cars),
    st.builds(s.Unproven, things, st.none() | cars),
    st.builds(s.Compare, _several(things, 2)),
    st.builds(s.TellApart, things, things),
    st.builds(s.Differences, cars, cars),
    st.builds(s.Identify, sorts, _several(evidence, 1), st.none() | cars),
    st.builds(s.Calculation, st.sampled_from(s.MEASURES), cars, fits),
    st.builds(s.EngineSpeed, gears, speeds, cars, fits),
    st.builds(s.RoadSpeed, gears, amounts("rev/min"), cars, fits),
    st.builds(s.Speedometer, speeds, cars, fits),
    st.builds(s.BoltCircle, amounts("mm", "in", "cm"), st.integers(3, 10)),
    st.builds(s.Let, _of(NewName), cars, fits),
    follow_ups,
)
# Sentences that almost are: words of the language and of the trade in any order.
_STARTS = st.sampled_from(["compare", "show", "does", "mate", "how", "tell", "what else must"])
babble = st.lists(st.one_of(_AWKWARD, _PLAIN, _STARTS), max_size=12).map(" ".join)
