"""Involute and straight-sided splines against standards, and pins against a construction.

Sources: [B92.1] equations for basic dimensions, ANSI B92.1-1970 R1993, at
https://engineersedge.com/gears/involute_spline_13649.htm; [B92.2M] symbols and relations of the
ANSI metric standard (the American edition of ISO 4156), at
https://help.autodesk.com/cloudhelp/2023/ENU/Inventor-Help/files/GUID-9CAF7F38-3C9B-47EA-98BC-0FC8F83FF207.htm;
[PINS] independent construction in pin_construction.py; [OVER] the procedure at
https://www.zakgear.com/Over_Pins.html, written out here step by step.
"""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin, tan

import pytest
from knockon.reasoner.interfaces.involute import (
    Root,
    SplineSize,
    System,
    between_pins,
    geometry,
    inv,
    inverse_inv,
    over_pins,
)
from knockon.reasoner.interfaces.kind import EndValues, Outcome
from knockon.reasoner.interfaces.spline import rule
from knockon.reasoner.interfaces.spline_strength import (
    shaft_shear_stress,
    tooth_bearing_stress,
    tooth_shear_stress,
)
from knockon.reasoner.interfaces.straight_sided import straight_spline
from scipy.optimize import brentq

from .pin_construction import dimension

INCH = 25.4


@pytest.mark.parametrize(
    ("angle", "value"),
    [
        # https://calculatorlib.com/involute-function-calculator: inv 20° = 0.014904
        (20.0, 0.014904),
        # Tables of involute functions in gear handbooks (from memory)
        (14.5, 0.0055448),
        (25.0, 0.0299753),
        (30.0, 0.0537515),
        (45.0, 0.2146018),
    ],
)
def test_the_involute_function_has_the_tabled_values(angle: float, value: float) -> None:
    assert inv(angle) == pytest.approx(value, abs=6e-7)


@pytest.mark.parametrize("value", [1e-6, 0.001, 0.0537515, 0.3, 1.0, 4.0])
def test_the_inverse_is_the_one_a_root_finder_gives(value: float) -> None:
    root = brentq(lambda a: tan(a) - a - value, 1e-6, pi / 2 - 1e-6, xtol=1e-14)
    assert inverse_inv(value) == pytest.approx(degrees(root), abs=1e-9)


@pytest.mark.parametrize(
    ("angle", "root", "hub_major", "shaft_major", "shaft_minor", "hub_form"),
    [
        # [B92.2M], in modules beyond (or short of) the teeth; hub form adds twice 0.1 m.
        (30.0, Root.FLAT, 1.5, 1.0, 1.5, 1.0),
        (30.0, Root.FILLET, 1.8, 1.0, 1.8, 1.0),
        (37.5, Root.FILLET, 1.4, 0.9, 1.4, 0.9),
        (45.0, Root.FILLET, 1.2, 0.8, 1.2, 0.8),
    ],
)
def test_metric_splines_have_the_proportions_of_the_standard(
    angle: float,
    root: Root,
    hub_major: float,
    shaft_major: float,
    shaft_minor: float,
    hub_form: float,
) -> None:
    z, m = 24, 2.0
    found = geometry(SplineSize(z, m, angle, root))
    assert found.pitch == z * m
    assert found.base == pytest.approx(z * m * cos(radians(angle)))
    assert found.internal_major == pytest.approx(m * (z + hub_major))
    assert found.external_major == pytest.approx(m * (z + shaft_major))
    assert found.external_minor == pytest.approx(m * (z - shaft_minor))
    assert found.internal_form == pytest.approx(m * (z + hub_form) + 0.2 * m)
    assert found.internal_minor == pytest.approx(found.external_form + 0.2 * m)
    assert found.tooth_thickness == pytest.approx(0.5 * pi * m)


@pytest.mark.parametrize(
    ("angle", "root", "hub_major", "shaft_minor", "hub_minor"),
    [
        # [B92.1], in inches times P, for pitches up to 12/24; 45 degrees from memory in the
        # minor diameter, where the page repeats the value of 37.5.
        (30.0, Root.FLAT, 1.35, 1.35, 1.0),
        (30.0, Root.FILLET, 1.8, 1.8, 1.0),
        (37.5, Root.FILLET, 1.6, 1.3, 0.8),
        (45.0, Root.FILLET, 1.4, 1.0, 0.6),
    ],
)
def test_inch_splines_have_the_proportions_of_the_standard(
    angle: float, root: Root, hub_major: float, shaft_minor: float, hub_minor: float
) -> None:
    teeth, pitch = 20, 10
    found = geometry(SplineSize(teeth, INCH / pitch, angle, root, System.PITCH))
    clearance = 2 * 0.002  # radial form clearance 0.001 D, here exactly its least value
    assert found.pitch / INCH == pytest.approx(2.0)
    assert found.internal_major / INCH == pytest.approx((teeth + hub_major) / pitch)
    assert found.external_major / INCH == pytest.approx((teeth + 1) / pitch)
    assert found.external_minor / INCH == pytest.approx((teeth - shaft_minor) / pitch)
    assert found.internal_minor / INCH == pytest.approx((teeth - hub_minor) / pitch)
    form = (teeth - hub_minor) / pitch - clearance
    assert found.external_form / INCH == pytest.approx(form)
    assert found.internal_form / INCH == pytest.approx((teeth + 1) / pitch + clearance)
    space = pi / 2 if angle == 30.0 else pi / 2 + 0.1
    assert found.space_width / INCH == pytest.approx(space / pitch)


PINNED = [
    (30, 1.0, 30.0, 1.92),
    (27, 1.0, 30.0, 2.0),
    (24, 1.0583333, 30.0, 2.032),
    (15, INCH / 16, 30.0, 3.048),
    (31, 1.0, 37.5, 1.9),
    (36, INCH / 32, 45.0, 1.6),
    (10, 2.5, 30.0, 5.0),
]


@pytest.mark.parametrize(("teeth", "module", "angle", "pin"), PINNED)
def test_over_pins_agrees_with_a_pin_laid_between_drawn_flanks(
    teeth: int, module: float, angle: float, pin: float
) -> None:
    # [PINS]
    tooth = 0.98 * pi * module / 2
    space = pi * module - tooth
    drawn = dimension(teeth, module, angle, pin, space, internal=False)
    assert over_pins(SplineSize(teeth, module, angle), pin, tooth) == pytest.approx(drawn, abs=1e-6)


@pytest.mark.parametrize(
    ("teeth", "module", "angle", "pin"),
    [
        (30, 1.0, 30.0, 1.728),
        (27, 1.0, 30.0, 1.75),
        (15, INCH / 16, 30.0, 2.743),
        (36, INCH / 32, 45.0, 1.4),
    ],
)
def test_between_pins_agrees_with_a_pin_laid_between_drawn_flanks(
    teeth: int, module: float, angle: float, pin: float
) -> None:
    # [PINS]
    space = 1.02 * pi * module / 2
    drawn = dimension(teeth, module, angle, pin, space, internal=True)
    size = SplineSize(teeth, module, angle)
    assert between_pins(size, pin, space) == pytest.approx(drawn, abs=1e-6)


@pytest.mark.parametrize(("teeth", "pitch", "pin"), [(16, 12, 0.16), (21, 16, 0.12)])
def test_over_pins_agrees_with_the_published_procedure(teeth: int, pitch: int, pin: float) -> None:
    # [OVER], spur case, in inches
    pressure = radians(30)
    pitch_diameter = teeth / pitch
    base = pitch_diameter * cos(pressure)
    thickness = pi / 2 / pitch
    involute = thickness / pitch_diameter + pin / base + tan(pressure) - pressure - pi / teeth
    at_pin = brentq(lambda a: tan(a) - a - involute, 1e-6, 1.5, xtol=1e-14)
    centres = base / cos(at_pin)
    over = centres + pin if teeth % 2 == 0 else cos(0.5 * pi / teeth) * centres + pin
    size = SplineSize(teeth, INCH / pitch, 30.0)
    assert over_pins(size, pin * INCH) / INCH == pytest.approx(over, abs=1e-9)


def test_a_rack_leaves_the_involute_at_the_form_diameter() -> None:
    # Independent construction: the rack's tip corner, h = 0.6 m below the pitch line, touches the
    # line of action (which is tangent to the base circle) h / sin α before the pitch point.
    z, m, angle = 24, 2.0, radians(30)
    along = z * m / 2 * tan(angle) * cos(angle) - 0.6 * m / sin(angle)
    base = z * m / 2 * cos(angle)
    radius = (base**2 + along**2) ** 0.5
    assert geometry(SplineSize(z, m, 30.0)).external_form == pytest.approx(2 * radius)


@pytest.mark.parametrize(
    ("teeth", "fit", "minor", "width"),
    # SAE parallel-side splines as tabled in Machinery's Handbook (from memory), shares of D
    [
        (4, "A", 0.850, 0.241),
        (4, "B", 0.750, 0.241),
        (6, "A", 0.900, 0.250),
        (6, "B", 0.850, 0.250),
        (6, "C", 0.800, 0.250),
        (10, "A", 0.910, 0.156),
        (10, "C", 0.810, 0.156),
        (16, "B", 0.860, 0.098),
    ],
)
def test_straight_sided_splines_have_the_proportions_of_the_table(
    teeth: int, fit: str, minor: float, width: float
) -> None:
    found = straight_spline(teeth, fit, 1.0)
    assert found.minor == pytest.approx(minor)
    assert found.width == pytest.approx(width)


def test_flank_pressure_is_the_torque_shared_by_the_flanks() -> None:
    # Statics: force per tooth = T / (r z share) over depth × length.
    torque, diameter, teeth, depth, length = 400.0, 32.0, 28, 1.1, 25.0
    force = torque * 1000 / (diameter / 2) / (teeth * 0.75)
    stress = tooth_bearing_stress(torque, diameter, teeth, depth, length, 0.75)
    assert stress == pytest.approx(force / (depth * length))


def test_tooth_shear_is_that_of_the_handbook_with_half_the_teeth_carrying() -> None:
    # Machinery's Handbook, strength of splines: S = 4 T / (D N L t) with half the teeth carrying
    # and all factors 1 (from memory).
    torque, diameter, teeth, thickness, length = 400.0, 32.0, 28, 1.7, 25.0
    handbook = 4 * torque * 1000 / (diameter * teeth * length * thickness)
    assert tooth_shear_stress(torque, diameter, teeth, thickness, length, 0.5) == pytest.approx(
        handbook
    )


@pytest.mark.parametrize(("diameter", "bore"), [(28.0, 0.0), (30.0, 12.0)])
def test_shaft_shear_is_the_integral_of_torsion(diameter: float, bore: float) -> None:
    # Independent: stress grows with radius; sum its moment over thin rings.
    rings, torque = 20000, 900.0
    inner, outer = bore / 2, diameter / 2
    width = (outer - inner) / rings
    moment = sum(2 * pi * (inner + (i + 0.5) * width) ** 3 / outer * width for i in range(rings))
    assert shaft_shear_stress(torque, diameter, bore) == pytest.approx(
        torque * 1000 / moment, rel=1e-6
    )


@pytest.mark.parametrize("other", [29, 31])
def test_hubs_one_tooth_apart_never_mate(other: int) -> None:
    # Common practice; and by geometry the pitch circles differ by a whole module.
    from decimal import Decimal

    bounds = {
        n: Decimal(1000) for n in ("module", "pressureAngle", "majorDiameter", "minorDiameter")
    }
    shaft = EndValues("external", {"teeth": 30, "module": 1, "pressureAngle": 30})
    hub = EndValues("internal", {"teeth": other, "module": 1, "pressureAngle": 30})
    assert Outcome.CLASHES in {f.outcome for f in rule([shaft, hub], bounds)}
