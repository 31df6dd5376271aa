"""A counter with few names, several of them awkward: for tests of names, completion and errors."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass

from knockon.query.errors import AmbiguousName, UnknownName
from knockon.query.follow_up import in_full
from knockon.query.format import format_sentence
from knockon.query.names import CarScope, Entry, Label, NameIndex, resolve
from knockon.query.parse import parse
from knockon.query.phrases import CarName, FeatureName, Name, NewName
from knockon.query.repair import with_correction

STATIONS = (
    ("front-hub", "front hub"),
    ("rear-hub", "rear hub"),
    ("front-wheel", "front wheel", "wheel"),
    ("rear-wheel", "rear wheel", "wheel"),
    ("propshaft", "propshaft", "prop shaft"),
    ("half-shaft", "half-shaft"),
    ("transfer-box", "transfer box"),
    ("parking-brake", "parking brake", "handbrake"),
    ("calliper", "brake calliper"),
    ("rear-axle", "rear axle"),
)
PARTS = (
    ("OW-42310", "HD rear hub", "rear-hub", "30 splines, from serial 41200"),
    ("OW-42110", "light rear hub", "rear-hub", "24 splines"),
    ("OW-31020", "light calliper", "calliper", "one piston"),
    ("OW-31040", "HD calliper", "calliper", "two pistons"),
    ("OW-60150", "15-inch steel wheel", "rear-wheel", "offset 25 mm"),
    ("BK-60150", "15-inch steel wheel", "rear-wheel", "offset 0 mm, by Brannock"),
    ("OW-60160", "16-inch wheel", "rear-wheel", ""),
    ("OW-70610", "six-speed gearbox", "gearbox", ""),
    ("OW-52300", "HD half-shaft", "half-shaft", "30 splines"),
)
W2 = CarScope(
    "Wether W2 late",
    {
        "st:front-hub": None,
        "st:rear-hub": "part:OW-42110",
        "st:front-wheel": "part:OW-60150",
        "st:rear-wheel": "part:OW-60150",
        "st:propshaft": None,
        "st:half-shaft": None,
        "st:parking-brake": None,
        "st:calliper": "part:OW-31020",
        "st:rear-axle": None,
    },
)


@dataclass(frozen=True)
class Counter:
    """The lexicon of the counter; `more` is added to it."""

    more: tuple[Entry, ...] = ()

    def entries(self) -> Iterable[Entry]:
        for iri, *labels in STATIONS:
            yield Entry(f"st:{iri}", "station", tuple(map(Label, labels)))
        # The word that means one thing on one side of the ocean and another on the other.
        yield Entry(
            "st:cardan",
            "station",
            (Label("front propshaft"), Label("driveshaft", "en-US")),
        )
        yield Entry(
            "st:front-shaft",
            "station",
            (Label("front half-shaft"), Label("driveshaft", "en-GB")),
        )
        for number, label, _, detail in PARTS:
            yield Entry(f"part:{number}", "part", (Label(label),), number, detail)
        yield Entry("fam:hd-hub", "family", (Label("HD hub family"), Label("strong hub")))
        yield Entry("fam:rear-hub", "family", (Label("rear hub"),), "", "2 parts")
        yield Entry("fam:gearbox", "family", (Label("gearbox"),))
        for car, detail in (("W1 early", ""), ("W2 early", ""), ("W2 late", "from serial 41200")):
            yield Entry(f"car:{car}", "car", (Label(f"Wether {car}"), Label(car)), "", detail)
        yield Entry("car:lanner", "car", (Label("Lanner"),))
        yield Entry("gen:w2", "generation", (Label("Wether W2"), Label("W2")))
        yield Entry("src:drawings", "source", (Label("maker's drawings"),))
        yield Entry("maker:brannock", "maker", (Label("Brannock"),))
        yield from self.more


def counter(*more: Entry) -> NameIndex:
    """The names of the counter."""
    return NameIndex(Counter(more))


def names_in(tree: object) -> Iterator[Name]:
    """Every name of a tree that something must be found for, in the order of its fields."""
    if isinstance(tree, Name):
        if not isinstance(tree, NewName | FeatureName):
            yield tree
    elif isinstance(tree, tuple):
        for each in tree:
            yield from names_in(each)
    elif is_dataclass(tree):
        for field in fields(tree):
            yield from names_in(getattr(tree, field.name))


def understand(text: str, names: NameIndex) -> str:
    """The canonical form of the first sentence of a conversation, once all its names are found.

    Cars are looked up first; the stations must be there on a Wether W2 late.
    """
    sentence = in_full(parse(text, lambda tree: _all_found(tree, names)), None)
    found = sorted(names_in(sentence), key=lambda name: not isinstance(name, CarName))
    on_w2 = any(isinstance(name, CarName) and "W2 late" in name.text for name in found)
    for name in found:
        try:
            resolve(name, names, W2 if on_w2 and not isinstance(name, CarName) else None)
        except UnknownName as error:
            raise with_correction(error, text, lambda t: _plainly(t, names)) from None
    return format_sentence(sentence)


def _plainly(text: str, names: NameIndex) -> str:
    """As `understand`, without looking for corrections of corrections."""
    sentence = parse(text)
    _all_found(sentence, names)
    return format_sentence(sentence)


def _all_found(tree: object, names: NameIndex) -> None:
    for name in names_in(tree):
        with suppress(AmbiguousName):
            resolve(name, names)
