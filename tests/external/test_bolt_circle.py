"""Bolt circles against published chord tables, worked examples and points on a drawn circle.

Sources: [CHORDS] pitch circle chordal distance constants at
https://online.documentine.com/bolt-hole-circle-math/1/pitch-circle-chordal-distance-calculation.html
and the spacing table at http://shopswarf.orcon.net.nz/spacing.html; [EXAMPLE] the worked example
at https://terican.com/calculators/bolt-circle-calculator; [DRAWN] points on a circle, by cosine
and sine and the distance of two points.
"""

from __future__ import annotations

from decimal import Decimal
from math import cos, dist, pi, sin

import pytest
from knockon.reasoner.interfaces.chords import (
    centres_from_edges,
    chord,
    circle_from_chord,
    measuring_aid,
    possible_circles,
)
from knockon.reasoner.interfaces.spacers import (
    spacer_effect,
    stud_length_needed,
    turns_of_thread,
    usual_engagement,
)
from knockon.reasoner.interfaces.threads import thread


@pytest.mark.parametrize(
    ("bolts", "constant"),
    # [CHORDS]
    [
        (3, 0.86603),
        (4, 0.70711),
        (5, 0.58779),
        (6, 0.50000),
        (7, 0.43388),
        (8, 0.38268),
        (9, 0.34202),
        (10, 0.30902),
    ],
)
def test_chord_constants_are_those_of_the_table(bolts: int, constant: float) -> None:
    assert chord(1.0, bolts) == pytest.approx(constant, abs=6e-6)


def test_six_holes_on_a_hundred_are_fifty_apart() -> None:
    assert chord(100.0, 6) == pytest.approx(50.0)  # [EXAMPLE]


@pytest.mark.parametrize(
    ("bolts", "times"),
    # https://pistonvsrotor.com/blog/ways-of-measuring-lug-pattern gives 1.05 for five bolts;
    # the longer figures are [DRAWN].
    [(5, 1.05), (3, 1.1547), (7, 1.0257), (9, 1.0154)],
)
def test_the_odd_count_factor_is_the_one_that_is_published(bolts: int, times: float) -> None:
    assert measuring_aid(bolts).times == pytest.approx(times, abs=0.0016)


@pytest.mark.parametrize("bolts", range(3, 11))
def test_chords_are_distances_of_points_on_a_circle(bolts: int) -> None:
    # [DRAWN]
    radius = 57.15
    points = [
        (radius * cos(2 * pi * i / bolts), radius * sin(2 * pi * i / bolts)) for i in range(bolts)
    ]
    for apart in range(1, bolts // 2 + 1):
        assert chord(2 * radius, bolts, apart) == pytest.approx(dist(points[0], points[apart]))


def test_a_five_bolt_circle_cannot_be_measured_straight_across() -> None:
    # Common practice; [DRAWN]: no two of five points are a diameter apart.
    aid = measuring_aid(5)
    assert not aid.straight_across
    assert "no stud stands opposite" in aid.advice
    assert max(chord(114.3, 5, apart) for apart in (1, 2)) < 114.3 - 5
    for bolts in (4, 6, 8, 10):
        assert measuring_aid(bolts).straight_across


def test_five_on_four_and_a_half_inches_is_recognised_from_its_neighbours() -> None:
    # Common practice: 5 x 4.5 in is 5 x 114.3 mm; neighbouring centres are 67.2 mm apart.
    centres = centres_from_edges(79.2, 12.0)
    assert circle_from_chord(centres, 5) == pytest.approx(114.3, abs=0.1)
    assert [c.circle for c in possible_circles(5, centres, 0.1)] == [Decimal("114.3")]


def test_a_rough_reading_leaves_two_circles_open() -> None:
    # Common practice: 5 x 114.3 and 5 x 115, or 120 and 120.65, are mistaken for one another.
    assert {c.circle for c in possible_circles(5, 67.4, 0.5)} == {Decimal("114.3"), Decimal(115)}
    near = {c.circle for c in possible_circles(5, chord(120.3, 5), 0.3)}
    assert near == {Decimal(120), Decimal("120.65")}


def test_six_on_five_and_a_half_inches_is_139_7() -> None:
    # Common practice: opposite centres of a six-bolt truck hub.
    found = possible_circles(6, 139.6, 0.3, apart=3)
    assert [c.circle for c in found] == [Decimal("139.7")]


def test_a_20_mm_spacer_takes_20_from_the_offset_and_widens_the_track_by_40() -> None:
    # Common practice.
    found = spacer_effect(Decimal(35), Decimal(20))
    assert (found.offset, found.track_change) == (15, 40)


def test_a_five_millimetre_spacer_wants_studs_five_longer() -> None:
    # Common practice: at least the stud's diameter of thread in the nut, eight turns for M12x1.5.
    stud = thread("M12x1.5")
    engaged = usual_engagement(stud)
    pads = [stud_length_needed(Decimal(12), Decimal(t), engaged) for t in (0, 5)]
    assert pads == [24, 29]
    assert turns_of_thread(engaged, stud) == 8
