"""Units against the international definitions and against pint asked in its own words."""

import pint
import pytest
from knockon.reasoner.calculations.units import convert, read_quantity

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # International yard and pound agreement, 1959: inch, pound and mile by definition
        ("1 in", "mm", 25.4),
        ("1 lb", "kg", 0.45359237),
        ("1 mph", "km/h", 1.609344),
        # Standard gravity 9.80665 m/s² (3rd General Conference on Weights and Measures, 1901),
        # hence the pound-force and the kilogram-force
        ("1 lbf", "N", 4.4482216152605),
        ("1 kgf·m", "N·m", 9.80665),
        # The two above together
        ("1 lb-ft", "N·m", 1.3558179483314),
        ("1 lb-in", "N·m", 0.1129848290276),
        ("1 psi", "kPa", 6.894757293168),
        # International System of Units, 9th edition, table 8
        ("1 bar", "kPa", 100),
        ("180 deg", "rad", 3.14159265358979),
    ],
)
def test_units_are_as_defined(text: str, unit: str, value: float) -> None:
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("ours", "theirs", "to_ours", "to_theirs"),
    [
        ("ft-lb", "foot * pound_force", "N·m", "newton * meter"),
        ("thou", "thou", "mm", "millimeter"),
        ("rpm", "revolution / minute", "rpm", "rpm"),
        ("psi", "psi", "MPa", "megapascal"),
        ("mph", "mph", "km/h", "kilometer / hour"),
    ],
)
def test_conversions_agree_with_the_units_library(
    ours: str, theirs: str, to_ours: str, to_theirs: str
) -> None:
    expected = REGISTRY.Quantity(7.25, theirs).to(to_theirs).magnitude
    assert convert(7.25, ours, to_ours) == pytest.approx(expected, rel=1e-12)
