"""The blueprint of a synthetic car as values: parts with their ends, sizes still by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .blueprint import TEXT

KINDS = {
    "SP": "Spline",
    "BC": "BoltCircle",
    "FS": "FlangeSpacing",
    "MS": "MountSpacing",
    "BS": "BoreSeat",
    "CN": "Connector",
    "SG": "Signal",
    "RA": "Ratio",
    "LE": "Length",
    "EN": "Envelope",
    "HU": "HydraulicUnion",
    "CA": "Capacity",
}
SIDES = {
    "ext": "External",
    "int": "Internal",
    "plug": "Plug",
    "socket": "Socket",
    "source": "SignalSource",
    "sink": "SignalSink",
    "outer": "Outer",
    "inner": "Inner",
    "demand": "Demand",
    "capability": "Capability",
}

_SWITCHES = ((1, "reverse lamp"), (2, "neutral"), (3, "switch feed"), (4, "earth"))
_CONTROLS = ("supply", "earth", "throttle", "brake lamp", "yaw", "hand lever", "", "wheel speed")
Contact = tuple[int, str, str]


def _all(ways: tuple[tuple[int, str], ...], use: str) -> tuple[Contact, ...]:
    return tuple((way, function, use) for way, function in ways)


def _switches(outputs: str, inputs: str) -> tuple[Contact, ...]:
    """Lamp and neutral go one way, feed and earth the other."""
    return _all(_SWITCHES[:2], outputs) + _all(_SWITCHES[2:], inputs)


_SUPPLY = ((1, "supply"), (2, "earth"))
_COIL = ((1, "coil plus"), (2, "coil minus"))
_CONTROLLER = tuple((way, function) for way, function in enumerate(_CONTROLS, 1) if function)
CONTACTS: Mapping[str, tuple[Contact, ...]] = {
    "supply.needs": _all(_SUPPLY, "needs"),
    "supply.offers": _all(_SUPPLY, "offers"),
    "coil.needs": _all(_COIL, "needs"),
    "coil.offers": _all(_COIL, "offers"),
    "controller.needs": _all(_CONTROLLER, "needs"),
    "controller.offers": _all(_CONTROLLER, "offers"),
    "switch.plug": _switches("offers", "needs"),
    "switch.socket": _switches("needs", "offers"),
    "switch.harness": _switches("offers", "needs"),
    "switch.body": _switches("needs", "offers"),
}


@dataclass(frozen=True, slots=True)
class EndPlan:
    """An end of the blueprint; values still hold names of sizes in braces."""

    role: str
    kind: str
    side: str
    values: tuple[tuple[str, str], ...]
    style: str


@dataclass(frozen=True, slots=True)
class PartPlan:
    """A part of the blueprint with its ends."""

    station: str
    price: float
    weight: float
    attributes: tuple[tuple[str, str], ...]
    ends: tuple[EndPlan, ...]
    style: str
    parent: str
    in_set: bool
    asks: str
    tolerance: tuple[str, str] | None


def _pairs(words: list[str]) -> tuple[tuple[str, str], ...]:
    return tuple((w.partition("=")[0], w.partition("=")[2]) for w in words)


def _only(words: list[str], mark: str) -> str:
    return next((w[len(mark) :] for w in words if w.startswith(mark)), "")


def _end(line: str) -> EndPlan:
    role, kind, side, *words = line.split()
    values = _pairs([w for w in words if not w.startswith("?")])
    return EndPlan(role, KINDS[kind], SIDES.get(side, ""), values, _only(words, "?"))


def _part(head: str, ends: list[EndPlan]) -> PartPlan:
    station, price, weight, *words = head.split()
    plain = [w for w in words if w[0] not in "?^=~" and w != "set"]
    own = _pairs([_only(words, "~")])
    return PartPlan(
        station,
        float(price),
        float(weight),
        _pairs(plain),
        tuple(ends),
        _only(words, "?"),
        _only(words, "^"),
        "set" in words,
        _only(words, "="),
        own[0] if own[0][0] else None,
    )


def _read(text: str) -> tuple[PartPlan, ...]:
    plans: list[tuple[str, list[EndPlan]]] = []
    for line in text.strip().splitlines():
        if line.startswith(" "):
            plans[-1][1].append(_end(line))
        else:
            plans.append((line, []))
    return tuple(_part(head, ends) for head, ends in plans)


PLANS = _read(TEXT)
"""Every part of the blueprint, in the order of its text."""
