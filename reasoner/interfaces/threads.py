"""Screw threads: names, dimensions, stress area, proof load, and an estimate of torque.

ISO metric threads (ISO 68-1, 261, 724, 898-1) and Unified inch threads (ASME B1.1). Dimensions
are basic sizes in mm. A torque worked out from a nut factor is an estimate and nothing more: the
maker's torque comes first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import pi

from .kind import EndValues, Finding, Outcome, Relation
from .pairs import plain

INCH = Decimal("25.4")

# ISO 261, coarse series (mm: mm). Sizes a parts desk meets.
COARSE = {
    Decimal(size): Decimal(pitch)
    for size, pitch in (
        ("3", "0.5"),
        ("4", "0.7"),
        ("5", "0.8"),
        ("6", "1"),
        ("7", "1"),
        ("8", "1.25"),
        ("10", "1.5"),
        ("12", "1.75"),
        ("14", "2"),
        ("16", "2"),
        ("18", "2.5"),
        ("20", "2.5"),
        ("22", "2.5"),
        ("24", "3"),
        ("27", "3"),
        ("30", "3.5"),
        ("33", "3.5"),
        ("36", "4"),
        ("39", "4"),
    )
}

# ISO 898-1: stress under proof load, MPa; from M16 up the class 8.8 steel is another.
PROOF_STRESS = {
    "4.6": Decimal(225),
    "4.8": Decimal(310),
    "5.6": Decimal(280),
    "5.8": Decimal(380),
    "6.8": Decimal(440),
    "8.8": Decimal(580),
    "9.8": Decimal(650),
    "10.9": Decimal(830),
    "12.9": Decimal(970),
}
_PROOF_8_8_LARGE = Decimal(600)

_METRIC = re.compile(r"M(\d+(?:\.\d+)?)(?:\s*[xX×]\s*(\d+(?:\.\d+)?))?")
_INCH = re.compile(r"(#\d+|(?:\d+ )?\d+/\d+|\d+)-(\d+)(?:\s*UN[CFS]?)?")


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: its basic major diameter and pitch in mm, and threads per inch of a Unified one."""

    diameter: Decimal
    pitch: Decimal
    per_inch: int | None = None

    @property
    def unified(self) -> bool:
        """Whether it is a Unified inch thread."""
        return self.per_inch is not None

    def __str__(self) -> str:
        if self.per_inch is None:
            return f"M{self.diameter.normalize():f}x{self.pitch.normalize():f}"
        return f"{(self.diameter / INCH).normalize():f} in-{self.per_inch}"


def thread(name: str) -> Thread:
    """Reads a thread's name. M12 alone is the coarse pitch.

    >>> thread("M12") == thread("M12x1.75"), thread("M12") == thread("M12x1.5")
    (True, False)
    >>> thread("7/16-20 UNF").pitch
    Decimal('1.27')

    Raises:
        ValueError: not a thread's name, or a metric size without a coarse pitch of its own.
    """
    text = " ".join(name.split())
    if found := _METRIC.fullmatch(text):
        diameter = Decimal(found[1])
        if found[2]:
            return Thread(diameter, Decimal(found[2]))
        if diameter not in COARSE:
            raise ValueError(f"{name!r}: no coarse pitch is known for that size; write M…x…")
        return Thread(diameter, COARSE[diameter])
    if found := _INCH.fullmatch(text):
        return Thread(_inches(found[1]) * INCH, INCH / int(found[2]), int(found[2]))
    raise ValueError(f"{name!r} is no thread: write M12x1.5, or 7/16-20 UNF")


def _inches(text: str) -> Decimal:
    if text.startswith("#"):
        # Numbered sizes: 0.060 in and 0.013 in more for each number (ASME B1.1).
        return Decimal("0.060") + int(text[1:]) * Decimal("0.013")
    size = sum((Fraction(part) for part in text.split()), Fraction(0))
    return Decimal(size.numerator) / Decimal(size.denominator)


def same_thread(first: EndValues, second: EndValues) -> Finding:
    """Both ends have one thread, however it is written; unproven while either is silent.

    >>> finding = same_thread(EndValues(values={"thread": "M12"}),
    ...                       EndValues(values={"thread": "M12x1.5"}))
    >>> finding.outcome.value, finding.note
    ('clashes', 'same diameter, pitch 1.75 against 1.5')
    """
    a, b = first.word("thread"), second.word("thread")
    if a is None or b is None:
        return Finding("thread", Outcome.UNPROVEN, Relation.SAME, a, b, needs="thread")
    try:
        one, other = thread(a), thread(b)
    except ValueError as error:
        # A name nobody can read proves nothing; it is as good as missing.
        return Finding(
            "thread", Outcome.UNPROVEN, Relation.SAME, a, b, needs="thread", note=str(error)
        )
    if one == other:
        return Finding("thread", Outcome.MATES, Relation.SAME, a, b)
    note = ""
    if one.diameter == other.diameter:
        note = f"same diameter, pitch {plain(one.pitch, 3)} against {plain(other.pitch, 3)}"
    return Finding("thread", Outcome.CLASHES, Relation.SAME, a, b, note=note)


def pitch_diameter(of: Thread) -> float:
    """Basic pitch diameter, mm (ISO 724): d - 0.649519 P.

    >>> round(pitch_diameter(thread("M12x1.5")), 3)
    11.026
    """
    return float(of.diameter) - 0.649519 * float(of.pitch)


def minor_diameter(of: Thread) -> float:
    """Basic minor diameter of the internal thread, mm (ISO 724): d - 1.082532 P.

    >>> round(minor_diameter(thread("M12x1.5")), 3)
    10.376
    """
    return float(of.diameter) - 1.082532 * float(of.pitch)


def stress_area(of: Thread) -> float:
    """Tensile stress area, mm²: ISO 898-1 for metric, ASME B1.1 for Unified threads.

    >>> round(stress_area(thread("M12")), 1), round(stress_area(thread("1/2-20 UNF")), 1)
    (84.3, 103.2)
    """
    # Metric takes the mean of pitch and root diameter (d - 0.938194 P); Unified rounds it so.
    factor = 0.9743 if of.unified else 0.938194
    return pi / 4 * (float(of.diameter) - factor * float(of.pitch)) ** 2


def proof_load(of: Thread, property_class: str) -> float:
    """Proof load, N, of a metric bolt of an ISO 898-1 property class.

    >>> round(proof_load(thread("M12"), "10.9"), -2)
    69900.0

    Raises:
        ValueError: no such class, or an inch thread, whose grades are others.
    """
    if of.unified:
        raise ValueError(f"{of} is an inch thread; property classes are for metric ones")
    if property_class not in PROOF_STRESS:
        raise ValueError(f"no property class {property_class!r}; known: {', '.join(PROOF_STRESS)}")
    stress = PROOF_STRESS[property_class]
    if property_class == "8.8" and of.diameter > 16:
        stress = _PROOF_8_8_LARGE
    return float(stress) * stress_area(of)


@dataclass(frozen=True, slots=True)
class TorqueEstimate:
    """A range of tightening torque, N·m. An estimate only: never in place of the maker's torque."""

    low: float
    high: float
    preload: float
    label: str = "estimate only; the maker's torque comes first"


def torque_estimate(of: Thread, preload: float, nut_factors: tuple[float, float]) -> TorqueEstimate:
    """Torque that gives a preload (N), for a range of nut factors K: T = K F d.

    Nut factors run from about 0.12 (anti-seize) to 0.30 (black, dry): the same preload may want
    two and a half times the torque, which is why this is an estimate.

    >>> estimate = torque_estimate(thread("M12x1.5"), 40000, (0.16, 0.24))
    >>> round(estimate.low), round(estimate.high)
    (77, 115)

    Raises:
        ValueError: the factors are not a range of positive numbers, or the preload is negative.
    """
    low, high = nut_factors
    if not 0 < low <= high or preload < 0:
        raise ValueError("a torque estimate wants 0 < low factor <= high factor and a preload")
    arm = preload * float(of.diameter) / 1000
    return TorqueEstimate(low * arm, high * arm, preload)
