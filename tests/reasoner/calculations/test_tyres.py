from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from knockon.reasoner.calculations.tyre_ratings import load_index_for, load_kg, top_speed_kmh
from knockon.reasoner.calculations.tyres import (
    TyreFamily,
    TyreSize,
    circumference_change_percent,
    circumference_from_revs_per_km,
    parse_tyre,
    revs_per_km,
    rolling_circumference,
)

metric_sizes = st.builds(
    TyreSize,
    family=st.just(TyreFamily.METRIC),
    width_mm=st.integers(13, 35).map(lambda tens: tens * 10.0 + 5),
    rim_in=st.sampled_from([13.0, 14.0, 15.0, 16.0, 16.5, 17.0, 18.0, 19.5, 22.0]),
    construction=st.sampled_from("RDB"),
    aspect_percent=st.none() | st.integers(5, 17).map(lambda fives: fives * 5.0),
    prefix=st.sampled_from(["", "P", "LT"]),
    suffix=st.sampled_from(["", "C"]),
    load_index=st.none() | st.integers(60, 130),
    speed_symbol=st.none() | st.sampled_from("QRSTHVWY"),
).filter(lambda tyre: tyre.load_index is not None or tyre.speed_symbol is None)


@given(metric_sizes)
def test_a_size_written_out_reads_back_as_itself(tyre: TyreSize) -> None:
    assert parse_tyre(str(tyre)) == tyre


@given(metric_sizes)
def test_a_tyre_with_a_larger_aspect_stands_taller(tyre: TyreSize) -> None:
    lower, taller = (replace(tyre, aspect_percent=aspect) for aspect in (50.0, 55.0))
    assert lower.overall_diameter_mm < taller.overall_diameter_mm


@given(st.floats(1000, 4000))
def test_turns_per_kilometre_and_circumference_undo_each_other(mm: float) -> None:
    assert circumference_from_revs_per_km(revs_per_km(mm)) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "size", "service"),
    [
        ("205/55R16", "205/55R16", (None, None, None)),
        ("P225/50VR16", "P225/50VR16", (None, None, None)),
        (" 205 / 55 zr 16 (91W) ", "205/55ZR16", (91, None, "W")),
        ("LT235/85R16 120/116Q E", "LT235/85R16", (120, 116, "Q")),
        ("235/75R15LT", "235/75R15LT", (None, None, None)),
        ("185 R 14 C 102/100 R", "185R14C", (102, 100, "R")),
        ("31X10.5R15LT 109S", "31x10.50R15LT", (109, None, "S")),
        ("33 x 12.50 R 16.5", "33x12.50R16.5", (None, None, None)),
        ("31×10.50-15LT", "31x10.50-15LT", (None, None, None)),
        ("6.00-16", "6.00-16", (None, None, None)),
        ("7.50 R16 C", "7.50R16C", (None, None, None)),
        ("215/65R16 98H XL", "215/65R16", (98, None, "H")),
        ("T145/80D18 103M", "T145/80D18", (103, None, "M")),
    ],
)
def test_markings_are_read_as_people_write_them(
    text: str, size: str, service: tuple[int | None, int | None, str | None]
) -> None:
    tyre = parse_tyre(text)
    assert tyre.size == size
    assert (tyre.load_index, tyre.load_index_dual, tyre.speed_symbol) == service


@pytest.mark.parametrize("text", ["", "205", "205/55", "205-16", "big ones", "205/55R16 91W 5"])
def test_what_is_no_tyre_size_is_refused_with_examples(text: str) -> None:
    with pytest.raises(ValueError, match=r"is no tyre size: expected one like 205/55R16"):
        parse_tyre(text)


def test_a_tyre_with_an_impossible_aspect_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"aspect_percent is 15.0 %: .* from 20 % to 110 %"):
        parse_tyre("205/15R16")


def test_a_flotation_tyre_smaller_than_its_rim_is_refused() -> None:
    with pytest.raises(ValueError, match=r"rim_in is 20.0 in: it must be less than diameter_in"):
        parse_tyre("19x8.00R20")


def test_only_a_flotation_size_marks_a_diameter() -> None:
    with pytest.raises(ValueError, match="only its"):
        TyreSize(TyreFamily.METRIC, 205.0, 16.0, diameter_in=25.0)


def test_an_assumed_height_widens_the_band_of_the_circumference() -> None:
    stated = rolling_circumference(parse_tyre("185/82R14"))
    assumed = rolling_circumference(parse_tyre("185R14"))
    assert assumed.nominal_mm == pytest.approx(stated.nominal_mm)
    assert assumed.least_mm < stated.least_mm < stated.most_mm < assumed.most_mm


def test_a_tyre_never_rolls_further_than_its_free_circumference() -> None:
    with pytest.raises(ValueError, match=r"factor is 3.3"):
        rolling_circumference(parse_tyre("205/55R16"), factor=3.3)


@given(st.floats(1000, 4000), st.floats(1000, 4000))
def test_a_change_of_tyre_and_back_cancels(before: float, after: float) -> None:
    there = 1 + circumference_change_percent(before, after) / 100
    back = 1 + circumference_change_percent(after, before) / 100
    assert there * back == pytest.approx(1)


@given(st.integers(60, 130))
def test_the_smallest_index_for_a_load_is_the_load_s_own(index: int) -> None:
    assert load_index_for(load_kg(index)) == index


def test_no_car_tyre_carries_more_than_the_table() -> None:
    with pytest.raises(ValueError, match="must be at most 1900 kg"):
        load_index_for(1901)
    with pytest.raises(ValueError, match="must be from 60 to 130"):
        load_kg(131)
    with pytest.raises(ValueError, match="must be one of J, K"):
        top_speed_kmh("Ω")
