"""Work goes to the hand that knows it, and nobody is idle for that."""

from __future__ import annotations

from zlib import crc32

import pytest
from knockon.api import turns
from knockon.api.turns import Turns, car_in


def filled(*abouts: str) -> Turns[str]:
    made: Turns[str] = Turns(2)
    for about in abouts:
        assert made.put(about, about)
    return made


def test_a_hand_takes_what_it_knows_first_and_then_whatever_there_is() -> None:
    cars = [f"car {at}" for at in range(8)]
    found = filled(*cars)
    own = [car for car in cars if crc32(car.encode()) % 2 == 0]
    others = [car for car in cars if car not in own]
    assert own
    assert others
    assert [found.take(0) for _ in cars] == [*own, *others]


def test_what_has_waited_long_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "_PATIENCE", 0.0)
    cars = [f"car {at}" for at in range(8)]
    found = filled(*cars)
    assert [found.take(1) for _ in cars] == cars


def test_when_all_is_over_nothing_is_taken_in_and_what_was_left_is_told() -> None:
    found = filled("a", "b")
    assert found.close() == ("a", "b")
    assert found.take(0) is None
    assert not found.put("c", "c")


@pytest.mark.parametrize(
    ("sentence", "car"),
    [
        ("what else must change if I fit HD hub to Tiny T1 light?", "tiny t1 light"),
        ("what else must change if I fit A to W2 and fit B to W2 with at most 9 EUR?", "w2"),
        ("what fits rear hub on “Wether W2”", "wether w2"),
        ("show", "show"),
    ],
)
def test_the_car_of_a_sentence_is_guessed(sentence: str, car: str) -> None:
    assert car_in(sentence) == car
