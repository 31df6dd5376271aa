"""Bolt circles: a wheel, rotor, drum or spacer on a hub.

The hub is the external end (studs and spigot), what is drilled the internal one. A dual-drilled
part has two such ends; each is compared for itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from .kind import EndValues, Finding, Kind, Outcome, Tolerances, bound, opposite, same, within
from .pairs import EXTERNAL_INTERNAL, both_state, goes_into, plain, two
from .threads import same_thread

NAME = "BoltCircle"


def rule(ends: Sequence[EndValues], tolerances: Tolerances) -> tuple[Finding, ...]:
    """Whether it goes over the studs, sits on the spigot, and takes the nuts.

    >>> from decimal import Decimal
    >>> hub = EndValues("external", {"bolts": 5, "circleDiameter": Decimal("114.3"),
    ...                              "pilot": Decimal("60.1")})
    >>> wheel = EndValues("internal", {"bolts": 5, "circleDiameter": Decimal("114.3"),
    ...                                "pilot": Decimal("67.1")})
    >>> bounds = {"circleDiameter": Decimal("0.2"), "pilotSlack": Decimal("0.3")}
    >>> [f.note for f in rule([hub, wheel], bounds) if f.note]
    ['a centring ring 60.1 to 67.1 mm is wanted']
    """
    first, second = two(ends, NAME)
    return tuple(_findings(first, second, tolerances))


def _findings(first: EndValues, second: EndValues, tolerances: Tolerances) -> Iterator[Finding]:
    yield opposite(first, second, EXTERNAL_INTERNAL)
    yield same("bolts", first, second)
    yield within("circleDiameter", first, second, bound(tolerances, NAME, "circleDiameter"))
    yield _pilot(first, second, tolerances)
    if both_state("thread", first, second):
        yield same_thread(first, second)
    if both_state("seatForm", first, second):
        yield same("seatForm", first, second)


def _pilot(first: EndValues, second: EndValues, tolerances: Tolerances) -> Finding:
    finding = goes_into("pilot", first, second, slack=bound(tolerances, NAME, "pilotSlack"))
    a, b = first.number("pilot"), second.number("pilot")
    if finding.outcome is not Outcome.CLASHES or a is None or b is None:
        return finding
    spigot, bore = (a, b) if first.side == "external" else (b, a)
    if bore < spigot:
        return replace(
            finding, note=f"the bore is {plain(spigot - bore)} mm too small for the spigot"
        )
    return replace(finding, note=f"a centring ring {plain(spigot)} to {plain(bore)} mm is wanted")


KIND = Kind(
    NAME,
    rule,
    remedies=("centring ring", "spacer", "adapter", "redrill"),
    equal=("bolts",),
    near="circleDiameter",
)
