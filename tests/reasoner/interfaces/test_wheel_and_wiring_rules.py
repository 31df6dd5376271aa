"""Wheels on hubs, brakes in wheels, pipes in cylinders, plugs in sockets, senders and gauges."""

from __future__ import annotations

import pytest
from knockon.reasoner.interfaces.connector import compare_contacts
from knockon.reasoner.interfaces.kind import EndValues, Outcome, overall
from knockon.reasoner.interfaces.registry import compare

from .house import by_quantity, end, of, steps

MATES, CLASHES, UNPROVEN = Outcome.MATES, Outcome.CLASHES, Outcome.UNPROVEN


def meet(kind: str, *ends: EndValues) -> Outcome:
    return overall(compare(kind, ends, of(kind)))


def hub(**values: object) -> EndValues:
    base = {"bolts": 5, "circleDiameter": 114.3, "pilot": 66.1}
    return end("external", **{**base, **values})  # type: ignore[arg-type]


def wheel(**values: object) -> EndValues:
    base = {"bolts": 5, "circleDiameter": 114.3, "pilot": 66.1}
    return end("internal", **{**base, **values})  # type: ignore[arg-type]


def test_a_wheel_of_the_same_circle_and_pilot_goes_on() -> None:
    assert meet("BoltCircle", hub(), wheel()) is MATES


def test_114_3_and_115_are_two_circles() -> None:
    assert meet("BoltCircle", hub(), wheel(circleDiameter=115)) is CLASHES
    assert meet("BoltCircle", hub(circleDiameter=114.5), wheel()) is MATES


def test_a_bore_smaller_than_the_spigot_never_seats() -> None:
    found = by_quantity(compare("BoltCircle", [wheel(pilot=64), hub()], of("BoltCircle")))["pilot"]
    assert found.outcome is CLASHES
    assert "2.1 mm too small" in found.note


def test_a_larger_bore_wants_a_centring_ring_and_its_sizes_are_given() -> None:
    found = by_quantity(compare("BoltCircle", [hub(), wheel(pilot=72.6)], of("BoltCircle")))
    assert found["pilot"].outcome is CLASHES
    assert found["pilot"].note == "a centring ring 66.1 to 72.6 mm is wanted"


def test_six_bolts_do_not_go_on_five_although_the_circle_is_the_same() -> None:
    assert meet("BoltCircle", hub(), wheel(bolts=6)) is CLASHES


def test_threads_and_seats_count_where_both_state_them() -> None:
    assert meet("BoltCircle", hub(thread="M12x1.5"), wheel()) is MATES
    assert meet("BoltCircle", hub(thread="M12x1.5"), wheel(thread="M12x1.25")) is CLASHES
    assert meet("BoltCircle", hub(seatForm="cone60"), wheel(seatForm="ball")) is CLASHES


def test_a_hub_whose_spigot_nobody_measured_is_unproven() -> None:
    found = compare(
        "BoltCircle", [end("external", bolts=5, circleDiameter=114.3), wheel()], of("BoltCircle")
    )
    assert [f.needs for f in found if f.needs] == ["pilot"]


def test_a_parking_brake_that_is_wider_than_the_hat_fouls_and_the_place_is_named() -> None:
    hat = end("outer", step=steps((0, 40, 95)))
    shoes = end("inner", step=steps((8, 35, 96)))
    found = by_quantity(compare("Envelope", [hat, shoes], of("Envelope")))["step"]
    assert found.outcome is CLASHES
    assert found.margin == -4
    assert "fouls by 1 mm from 8 to 35" in found.note


def test_a_gap_smaller_than_the_margin_is_a_clash_that_still_clears() -> None:
    rim = end("outer", step=steps((-50, 100, 184)))
    calliper = end("inner", step=steps((-20, 60, 182)))
    found = by_quantity(compare("Envelope", [calliper, rim], of("Envelope")))["step"]
    assert found.outcome is CLASHES
    assert "clears by 2 mm" in found.note


def test_parts_that_stand_at_different_places_of_the_axis_never_foul() -> None:
    first, second = end("outer", step=steps((0, 40, 60))), end("inner", step=steps((40, 80, 90)))
    assert meet("Envelope", first, second) is MATES
    near = {**of("Envelope"), "axialClearance": of("Envelope")["axialClearance"] + 1}
    assert overall(compare("Envelope", [first, second], near)) is CLASHES


def test_a_profile_nobody_drew_is_unproven_and_one_that_runs_backwards_too() -> None:
    rim = end("outer", step=steps((-50, 100, 184)))
    assert meet("Envelope", rim, end("inner")) is UNPROVEN
    assert meet("Envelope", rim, end("inner", step=steps((60, -20, 150)))) is UNPROVEN


@pytest.mark.parametrize(
    ("pipe", "port", "outcome"),
    [
        (("M10x1", "bubble flare"), ("M10x1", "bubble flare"), MATES),
        (("M10x1", "bubble flare"), ("M10x1", "inverted flare"), CLASHES),
        (("3/8-24 UNF", "inverted flare"), ("M10x1", "inverted flare"), CLASHES),
        (("3/8-24", "inverted flare"), ("3/8-24 UNF", "inverted flare"), MATES),
    ],
)
def test_brake_pipes_need_thread_and_seat_alike(
    pipe: tuple[str, str], port: tuple[str, str], outcome: Outcome
) -> None:
    ends = [
        end(side, thread=thread, unionSeat=seat)
        for side, (thread, seat) in (("external", pipe), ("internal", port))
    ]
    assert meet("HydraulicUnion", *ends) is outcome


def test_a_thread_nobody_can_read_proves_nothing() -> None:
    ends = [
        end("external", thread="ten fine", unionSeat="banjo"),
        end("internal", thread="M10x1", unionSeat="banjo"),
    ]
    assert meet("HydraulicUnion", *ends) is UNPROVEN


NEEDS = ({"way": 1, "function": "speed pulse", "use": "needs"},)


def plug(contact: object = NEEDS, **values: object) -> EndValues:
    base = {"connectorFamily": "C", "ways": 3, "contact": contact}
    return end("plug", **{**base, **values})  # type: ignore[arg-type]


def socket(contact: object, **values: object) -> EndValues:
    base = {"connectorFamily": "C", "ways": 3, "contact": contact}
    return end("socket", **{**base, **values})  # type: ignore[arg-type]


def test_a_plug_mates_when_everything_it_needs_arrives_at_the_right_way() -> None:
    offer = ({"way": 1, "function": "speed pulse", "use": "offers"}, {"way": 2, "use": "spare"})
    found = compare("Connector", [plug(), socket(offer)], of("Connector"))
    assert overall(found) is MATES
    assert found[-1].note == "ways carried: 1 speed pulse; spare: 2"


def test_a_function_that_nothing_offers_is_missing() -> None:
    offer = ({"way": 1, "function": "earth", "use": "offers"},)
    found = compare("Connector", [plug(), socket(offer)], of("Connector"))
    assert overall(found) is CLASHES
    assert "offered nowhere" in found[-1].note


def test_a_function_at_another_way_is_a_matter_of_re_pinning() -> None:
    offer = ({"way": 3, "function": "speed pulse", "use": "offers"},)
    found = compare("Connector", [socket(offer), plug()], of("Connector"))
    assert overall(found) is CLASHES
    assert "re-pin" in found[-1].note


def test_the_socket_may_need_things_of_the_plug_too() -> None:
    there = ({"way": 2, "function": "reverse lamp", "use": "offers"},)
    here = ({"way": 2, "function": "reverse lamp", "use": "needs"},)
    assert compare_contacts(there, here).matched == ((2, "reverse lamp"),)


def test_another_key_keeps_the_plug_out_and_an_unmarked_one_does_not() -> None:
    offer = ({"way": 1, "function": "speed pulse", "use": "offers"},)
    assert meet("Connector", plug(key="A"), socket(offer, key="B")) is CLASHES
    assert meet("Connector", plug(key="A"), socket(offer)) is MATES
    assert meet("Connector", plug(key="A"), socket(None)) is UNPROVEN


def sender(**values: object) -> EndValues:
    base = {"signalQuantity": "vehicle speed", "signalForm": "pulse", "pulsesPerTurn": 4}
    return end("signalSource", **{**base, **values})  # type: ignore[arg-type]


def gauge(**values: object) -> EndValues:
    base = {"signalQuantity": "vehicle speed", "signalForm": "pulse", "pulsesPerTurn": 4}
    return end("signalSink", **{**base, **values})  # type: ignore[arg-type]


def test_a_gauge_that_wants_a_pulse_gets_nothing_from_a_turning_cable() -> None:
    assert meet("Signal", sender(), gauge()) is MATES
    assert meet("Signal", sender(signalForm="cable"), gauge()) is CLASHES


@pytest.mark.parametrize(("pulses", "note"), [(8, "100 % high"), (3, "25 % low")])
def test_a_sender_of_other_pulses_makes_the_speedometer_wrong(pulses: int, note: str) -> None:
    for pair in ([sender(pulsesPerTurn=pulses), gauge()], [gauge(), sender(pulsesPerTurn=pulses)]):
        found = compare("Signal", pair, of("Signal"))[-1]
        assert found.outcome is CLASHES
        assert note in found.note


def test_two_senders_do_not_make_a_gauge() -> None:
    assert meet("Signal", sender(), sender()) is CLASHES
