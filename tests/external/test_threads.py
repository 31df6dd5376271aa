"""Threads against published tables.

Sources: [SHIGLEY] Shigley's Mechanical Engineering Design, 9th edition, table 8-2 (from ANSI
B1.1-1974), as shown at https://digilib.universitaspertamina.ac.id/ebook/ (page 413 of the book);
[UNF] the UNF table of https://ficientdesign.com/tag/unf/; [ISO724] the fine-thread table after
ISO 724 at https://engineeringhardware.com/?p=39; [ISO898] nominal stress areas and proof loads
of EN ISO 898-1 as tabled on a fastener dealer's page "ISO Metric Pitch Thread Proof Loads".
"""

from __future__ import annotations

import pytest
from knockon.reasoner.interfaces.threads import (
    PROOF_STRESS,
    minor_diameter,
    pitch_diameter,
    proof_load,
    stress_area,
    thread,
    torque_estimate,
)

INCH = 25.4


@pytest.mark.parametrize(
    ("name", "square_inches"),
    [
        # [SHIGLEY]
        ("1/4-20", 0.0318),
        ("1/4-28", 0.0364),
        ("5/16-18", 0.0524),
        ("3/8-16", 0.0775),
        ("3/8-24 UNF", 0.0878),
        ("7/16-14 UNC", 0.1063),
        ("7/16-20 UNF", 0.1187),
        ("1/2-13", 0.1419),
        ("1/2-20 UNF", 0.1599),
        ("9/16-18", 0.203),
        ("5/8-18", 0.256),
        ("3/4-16", 0.373),
        ("#10-32", 0.0200),
    ],
)
def test_inch_stress_areas_are_those_of_the_table(name: str, square_inches: float) -> None:
    area = stress_area(thread(name)) / INCH**2
    assert area == pytest.approx(square_inches, rel=0.003)


@pytest.mark.parametrize(
    ("name", "pitch_inches"),
    [("3/8-24", 0.3479), ("7/16-20", 0.4050), ("1/2-20", 0.4675), ("5/8-18", 0.5889)],  # [UNF]
)
def test_inch_pitch_diameters_are_those_of_the_table(name: str, pitch_inches: float) -> None:
    assert pitch_diameter(thread(name)) / INCH == pytest.approx(pitch_inches, abs=6e-5)


@pytest.mark.parametrize(
    ("name", "pitch", "minor", "area"),
    [
        # [ISO724]
        ("M8x1", 7.350, 6.917, 39.2),
        ("M10x1.25", 9.188, 8.647, 61.2),
        ("M10x1", 9.350, 8.917, 64.5),
        ("M12x1.5", 11.026, 10.376, 88.1),
        ("M12x1.25", 11.188, 10.647, 92.1),
        ("M14x1.5", 13.026, 12.376, 125.0),
        # diameters from [ISO724]; areas from ISO 898-1 (from memory), where the page differs
        ("M18x1.5", 17.026, 16.376, 216.0),
        ("M20x1.5", 19.026, 18.376, 272.0),
    ],
)
def test_fine_threads_have_the_diameters_of_the_table(
    name: str, pitch: float, minor: float, area: float
) -> None:
    found = thread(name)
    assert pitch_diameter(found) == pytest.approx(pitch, abs=6e-4)
    assert minor_diameter(found) == pytest.approx(minor, abs=6e-4)
    assert stress_area(found) == pytest.approx(area, rel=0.005)


@pytest.mark.parametrize(
    ("name", "area"),
    # [ISO898]
    [
        ("M6", 20.1),
        ("M8", 36.6),
        ("M10", 58.0),
        ("M12", 84.3),
        ("M14", 115),
        ("M16", 157),
        ("M20", 245),
        ("M24", 353),
    ],
)
def test_coarse_stress_areas_are_those_of_the_standard(name: str, area: float) -> None:
    assert stress_area(thread(name)) == pytest.approx(area, rel=0.004)


@pytest.mark.parametrize(
    ("name", "property_class", "newtons"),
    [
        # [ISO898]
        ("M8", "8.8", 21200),
        ("M10", "8.8", 33700),
        ("M10", "10.9", 48100),
        ("M12", "4.6", 19000),
        ("M12", "5.8", 32000),
        ("M12", "8.8", 48900),
        ("M12", "10.9", 70000),
        ("M12", "12.9", 81800),
        ("M14", "9.8", 74800),
        ("M16", "8.8", 91000),
        ("M20", "8.8", 147000),
        ("M24", "10.9", 293000),
    ],
)
def test_proof_loads_are_those_of_the_standard(
    name: str, property_class: str, newtons: float
) -> None:
    assert proof_load(thread(name), property_class) == pytest.approx(newtons, rel=0.004)


@pytest.mark.parametrize(
    ("property_class", "stress"),
    # ISO 898-1:1999 sections 3 to 7 as tabled at
    # http://www.mem50212.com/MDME/iTester/get-info/bolts.html
    [("4.6", 225), ("4.8", 310), ("5.8", 380), ("9.8", 650), ("10.9", 830), ("12.9", 970)],
)
def test_proof_stresses_are_those_of_the_standard(property_class: str, stress: int) -> None:
    assert PROOF_STRESS[property_class] == stress


def test_the_textbook_bolt_gets_the_textbook_torque() -> None:
    # Shigley, chapter 8, bolted joint of a 3/4-16 UNF grade 5 bolt with 25 kip of preload and
    # K = 0.2: 3750 lbf·in (from memory).
    kip, pound_inch = 4448.222, 0.1129848
    found = torque_estimate(thread("3/4-16 UNF"), 25 * kip, (0.2, 0.2))
    assert found.low / pound_inch == pytest.approx(3750, rel=1e-4)


def test_a_nut_factor_from_oiled_to_dry_more_than_doubles_the_torque() -> None:
    # Shigley table 8-15: 0.30 black non-plated, 0.20 zinc, 0.18 lubricated, 0.12 anti-seize
    # (from memory).
    found = torque_estimate(thread("1/2-13"), 30000, (0.12, 0.30))
    assert found.high / found.low == pytest.approx(2.5)
