"""What the interface tests share: house tolerances, vocabulary, and ends to try rules on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path

import knockon.data
import knockon.ontology
from hypothesis import strategies as st
from knockon.reasoner.interfaces.kind import EndValues, Finding, Record, Value
from rdflib import RDF, RDFS, Dataset, Graph, Namespace, URIRef

KO = Namespace("https://knockon.example/ns#")


def _folder(package: object) -> Path:
    return Path(next(iter(package.__path__)))  # type: ignore[attr-defined]


@cache
def vocabulary() -> Graph:
    """The core vocabulary and every interface kind."""
    graph = Graph()
    folder = _folder(knockon.ontology)
    for path in [folder / "core.ttl", *sorted((folder / "interfaces").glob("*.ttl"))]:
        graph.parse(path)
    return graph


def local(term: object) -> str:
    """The local name of a term of the vocabulary."""
    return str(term).removeprefix(str(KO))


@cache
def ontology_kinds() -> tuple[str, ...]:
    """Names of the classes under ko:End."""
    return tuple(sorted(local(c) for c in vocabulary().subjects(RDFS.subClassOf, KO.End)))


def quantities_of(kind: str) -> set[str]:
    """Names of the quantities that ends of a kind carry."""
    return {local(q) for q in vocabulary().subjects(KO.quantityOf, KO[kind])}


@cache
def house_tolerances() -> Mapping[str, Mapping[str, Decimal]]:
    """The tolerances of data/tolerances.trig: by kind, then by name."""
    data = Dataset()
    data.parse(_folder(knockon.data) / "tolerances.trig", format="trig")
    found: dict[str, dict[str, Decimal]] = {}
    for subject, _, _, _ in data.quads((None, RDF.type, KO.Tolerance, None)):
        for graph in data.graphs():
            kind, name, amount = (
                graph.value(subject, p) for p in (KO.forKind, KO.onQuantity, KO.amount)
            )
            if isinstance(kind, URIRef) and amount is not None:
                found.setdefault(local(kind), {})[local(name)] = Decimal(str(amount))
    return found


def of(kind: str) -> Mapping[str, Decimal]:
    """The house tolerances of one kind; none for a kind that needs none."""
    return house_tolerances().get(kind, {})


def end(side: str = "", sign: int = 1, **values: Value | float) -> EndValues:
    """An end, with floats taken as the decimals they are written as."""
    exact = {k: Decimal(str(v)) if isinstance(v, float) else v for k, v in values.items()}
    return EndValues(side, exact, sign)


def steps(*rows: tuple[float, float, float]) -> tuple[Record, ...]:
    """Steps of a profile from rows of from, to, radius."""
    return tuple(
        dict(zip(("from", "to", "radius"), (Decimal(str(n)) for n in row), strict=True))
        for row in rows
    )


def by_quantity(findings: Iterable[Finding]) -> dict[str, Finding]:
    """Findings by the quantity they decide."""
    return {finding.quantity: finding for finding in findings}


class Watched(dict[str, Value]):
    """Values that remember which quantities a rule asked for."""

    def __init__(self, values: Mapping[str, Value], asked: set[str]) -> None:
        super().__init__(values)
        self._asked = asked

    def get(self, key: str, default: object = None) -> object:  # type: ignore[override]
        self._asked.add(key)
        return super().get(key, default)  # type: ignore[arg-type]

    def __getitem__(self, key: str) -> Value:
        self._asked.add(key)
        return super().__getitem__(key)

    def __contains__(self, key: object) -> bool:
        self._asked.add(str(key))
        return super().__contains__(key)

    def __iter__(self) -> Iterator[str]:
        return super().__iter__()


SIDES = {
    "Spline": ("external", "internal"),
    "BoltCircle": ("external", "internal"),
    "FlangeSpacing": ("external", "internal"),
    "MountSpacing": ("external", "internal"),
    "BoreSeat": ("external", "internal"),
    "HydraulicUnion": ("external", "internal"),
    "Connector": ("plug", "socket"),
    "Signal": ("signalSource", "signalSink"),
    "Envelope": ("outer", "inner"),
    "Capacity": ("demand", "capability"),
    "Ratio": ("",),
    "Length": ("",),
}

_D = Decimal
_CONTACTS: tuple[tuple[Record, ...], ...] = (
    ({"way": 1, "function": "earth", "use": "needs"},),
    ({"way": 1, "function": "earth", "use": "offers"}, {"way": 2, "use": "spare"}),
    (
        {"way": 2, "function": "earth", "use": "offers"},
        {"way": 1, "function": "speed pulse", "use": "needs"},
    ),
)
_STEPS = (
    steps((0, 42, 95)),
    steps((0, 42, 90), (42, 60, 70)),
    steps((-20, 10, 92), (50, 80, 94.5)),
)

# A few values of each quantity, near enough to one another that every outcome comes up.
POOL: dict[str, dict[str, tuple[Value, ...]]] = {
    "Spline": {
        "teeth": (27, 30),
        "module": (_D("1"), _D("1.0583"), _D("1.058")),
        "pressureAngle": (30, 45),
        "splineForm": ("involute", "straight"),
        "majorDiameter": (_D("30.9"), _D("31"), _D("31.8")),
        "minorDiameter": (_D("28.2"), _D("29")),
        "fitClass": ("5H", "5h", "7", "6k"),
        "engagement": (20, 35),
        "engagementNeeded": (25, 40),
    },
    "BoltCircle": {
        "bolts": (5, 6),
        "circleDiameter": (_D("114.3"), _D("114.5"), 115),
        "pilot": (_D("66.1"), _D("66.3"), _D("71.6")),
        "thread": ("M12", "M12x1.75", "M12x1.5", "1/2-20 UNF"),
        "seatForm": ("cone60", "ball"),
    },
    "FlangeSpacing": {
        "pattern": ("square", "rectangle"),
        "bolts": (4, 6),
        "spacing": (68, _D("68.2"), 75),
        "secondSpacing": (60, 61),
        "boltSize": (10, 11),
        "register": (60, _D("60.05"), 65),
    },
    "MountSpacing": {
        "centreDistance": (300, 304, 310),
        "secondDistance": (80, 81),
        "eyeWidth": (40, _D("40.5"), 44),
        "boltDiameter": (12, 14),
        "slotLength": (0, 8),
    },
    "BoreSeat": {
        "diameter": (40, 62),
        "fitCode": ("k6", "H7", "N7", "g6", "JS7"),
    },
    "HydraulicUnion": {
        "thread": ("M10x1", "3/8-24 UNF", "3/8-24"),
        "unionSeat": ("banjo", "bubble flare"),
    },
    "Connector": {
        "connectorFamily": ("C", "D"),
        "ways": (2, 4),
        "key": ("A", "B"),
        "contact": _CONTACTS,
    },
    "Signal": {
        "signalQuantity": ("vehicle speed", "reverse gear"),
        "signalForm": ("pulse", "cable"),
        "pulsesPerTurn": (4, _D("4.05"), 8),
    },
    "Envelope": {"step": _STEPS},
    "Capacity": {"torque": (200, 900), "load": (800,), "speed": (5000,), "factor": (_D("3.8"),)},
    "Ratio": {
        "ratio": (_D("4.1"), _D("4.11"), _D("3.73")),
        "drivenTeeth": (41, 37),
        "drivingTeeth": (10, 11),
    },
    "Length": {"length": (1200, 1210, 1290), "plungeIn": (0, 25), "plungeOut": (0, 20)},
}


def ends(kind: str) -> st.SearchStrategy[EndValues]:
    """Ends of a kind with some of its values, of any of its sides and, in chains, either sign."""
    values = st.fixed_dictionaries(
        {}, optional={name: st.sampled_from(pool) for name, pool in POOL[kind].items()}
    )
    signs = st.sampled_from([1, -1]) if SIDES[kind] == ("",) else st.just(1)
    return st.builds(EndValues, st.sampled_from(SIDES[kind]), values, signs)
