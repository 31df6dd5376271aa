from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.units import convert, known_units, read_quantity

PAIRS = [("mm", "in"), ("N·m", "lb-ft"), ("N·m", "lb-in"), ("km/h", "mph"), ("kg", "lb"),
         ("MPa", "psi"), ("deg", "rad"), ("N", "lbf")]  # fmt: skip


@given(st.floats(-1e6, 1e6), st.sampled_from(PAIRS))
def test_a_conversion_there_and_back_changes_nothing(value: float, pair: tuple[str, str]) -> None:
    one, other = pair
    assert convert(convert(value, one, other), other, one) == pytest.approx(value)


@given(st.integers(0, 40), st.integers(0, 63))
def test_inch_fractions_are_exact(whole: int, over: int) -> None:
    assert read_quantity(f"{whole} {over}/64 in", "mm") == pytest.approx(
        (whole + over / 64) * 25.4, rel=1e-15
    )


@given(st.decimals(0, 9999, places=3))
def test_a_decimal_is_read_as_written(number: object) -> None:
    assert read_quantity(f"{number} mm", "mm") == float(str(number))


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("1 3/8 in", "mm", 34.925),
        ("1-3/8in", "mm", 34.925),
        ("1⅜ in", "mm", 34.925),
        ('1 3/8"', "mm", 34.925),
        ("1 3⁄8 ″", "mm", 34.925),
        ("½ in.", "mm", 12.7),
        (".5 inch", "mm", 12.7),
        ("20 thou", "mm", 0.508),
        ("6 ft", "mm", 1828.8),
        ("-10 mm", "mm", -10),
        ("−10 mm", "mm", -10),
        ("100 Nm", "N·m", 100),
        ("100 N.m", "N·m", 100),
        ("10 kgf·m", "N·m", 98.0665),
        ("100 lb.ft", "ft-lb", 100),
        ("100 lbf·ft", "ft-lb", 100),
        ("1200 lb-in", "ft-lb", 100),
        ("30 psi", "kPa", 206.8427),
        ("60 kph", "km/h", 60),
        ("3000 rpm", "rev/min", 3000),
        ("7 N/mm²", "MPa", 7),
        ("90 °", "deg", 90),
    ],
)
def test_quantities_are_read_as_people_write_them(text: str, unit: str, value: float) -> None:
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "is no quantity"),
        ("in", "is no quantity"),
        ("about 3 in", "is no quantity"),
        ("2**9**9 in", "not known"),
        ("3 in or so", "not known: use one of"),
        ("3 mil", "“mil” is not known"),
        ("12", "has no unit"),
        ("14,5 mm", "has a comma"),
        ("1/0 in", "divides by nought"),
        ("12 kg", "a quantity in kg cannot be given in mm"),
    ],
)
def test_what_cannot_be_read_says_why(text: str, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        read_quantity(text, "mm")


def test_pounds_of_mass_are_no_pounds_of_torque() -> None:
    with pytest.raises(ValueError, match="cannot be given in"):
        read_quantity("12 lb", "N·m")


def test_an_infinite_value_is_not_converted() -> None:
    with pytest.raises(ValueError, match="value is inf"):
        convert(inf, "mm", "in")


def test_every_unit_offered_can_be_read() -> None:
    for unit in known_units():
        assert read_quantity(f"1 {unit}", unit) == 1
