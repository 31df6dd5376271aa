"""Identification is what its definitions say, on every small set of rules that is drawn."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st
from knockon.reasoner.catalogue import Catalogue, Part, Source, Standing, Station
from knockon.reasoner.identify import Remains, WarningKind, identify
from knockon.reasoner.looks import find_looks, tell_apart
from knockon.reasoner.observations import IdentificationRule, Observation, ObservationKind, Span
from knockon.reasoner.readings import Reading
from knockon.reasoner.witness import Witness

NUMBERS = range(-1, 8)
KINDS = st.sampled_from(
    [
        ObservationKind.OWN_NUMBER,
        ObservationKind.COUNT,
        ObservationKind.CAR_NUMBER,
        ObservationKind.DATE,
    ]
)


def bare_catalogue(parts: int, sources: dict[str, Source]) -> Catalogue:
    """So many parts of one station with no ends, no joints and no cars: for what is not fitment."""
    return Catalogue(
        version="bare",
        sources=sources,
        stations={"s": Station("s", "s", (), 1, "", False)},
        families={},
        parts={
            f"p{n}": Part(
                f"p{n}", f"p{n}", f"p{n}", (), "maker", "f", frozenset({"f"}), ("s",), {}, {}, ()
            )
            for n in range(parts)
        },
        ends={}, joints={}, cars={}, generations={}, lines={}, roles={}, sets={}, makers={},
        operations={}, quantities={}, kinds={}, tolerances={}, tried={},
    )  # fmt: skip


@st.composite
def drawn(draw: st.DrawFn) -> tuple[Witness, list[Reading]]:
    """Up to four parts, three observations, and rules with ranges, gaps and two sources."""
    catalogue = bare_catalogue(
        draw(st.integers(2, 4)),
        {
            "firm": Source("firm", "firm", Standing.DOCUMENTED),
            "weak": Source("weak", "weak", Standing.PRESUMED),
        },
    )
    names = [f"o{i}" for i in range(draw(st.integers(1, 3)))]
    observations = {name: Observation(name, name, draw(KINDS)) for name in names}
    rules = []
    for subject in catalogue.parts:
        for name in names:
            for source in draw(st.lists(st.sampled_from(["firm", "weak"]), max_size=2)):
                low = draw(st.integers(0, 6))
                span = Span(Decimal(low), Decimal(draw(st.integers(low, 6))))
                rules.append(IdentificationRule(subject, name, (span,), (source,)))
    full = replace(catalogue, observations=observations, identification=tuple(rules))
    readings = [
        Reading(name, str(n), Span(Decimal(n), Decimal(n)))
        for name in names
        if (n := draw(st.none() | st.integers(0, 6))) is not None
    ]
    return Witness(full), readings


calm = settings(max_examples=200, deadline=None, derandomize=True)


def _may_show(known: Witness, subject: str, name: str, number: int) -> str:
    """By the words of the definitions: yes, no, or doubted."""
    by_source: dict[str, list[bool]] = {}
    for rule in known.catalogue.identification:
        if rule.subject == subject and rule.observation == name:
            [span] = rule.allowed
            assert isinstance(span, Span)
            assert span.least is not None
            assert span.most is not None
            fits = span.least <= number <= span.most
            by_source.setdefault(rule.sources[0], []).append(fits)
    if not by_source or any(any(fits) for fits in by_source.values()):
        return "yes"
    return "no" if "firm" in by_source else "doubted"


@calm
@given(case=drawn())
def test_what_remains_is_what_no_counted_reading_speaks_against(
    case: tuple[Witness, list[Reading]],
) -> None:
    known, readings = case
    found = identify(known, known.catalogue.parts, readings)
    counted = [r for r in readings if r not in found.set_aside]
    for candidate in found.candidates:
        answers = [_may_show(known, candidate.subject, r.observation, int(r.said)) for r in counted]
        expected = (
            Remains.RULED_OUT if "no" in answers
            else Remains.DOUBTED if "doubted" in answers else Remains.POSSIBLE
        )  # fmt: skip
        assert candidate.remains is expected
    assert not found.of(Remains.POSSIBLE) or all(
        w.kind is not WarningKind.NOTHING_REMAINS for w in found.warnings
    )


@calm
@given(case=drawn())
def test_only_a_weaker_reading_is_ever_set_aside(case: tuple[Witness, list[Reading]]) -> None:
    known, readings = case
    found = identify(known, known.catalogue.parts, readings)
    for warning in found.warnings:
        if warning.kind is WarningKind.NOTHING_REMAINS:
            continue
        [aside] = warning.readings
        weight = known.observation(aside.observation).kind.weight
        assert warning.decided_by
        assert all(
            known.observation(r.observation).kind.weight < weight for r in warning.decided_by
        )
        for subject in warning.subjects:
            assert _may_show(known, subject, aside.observation, int(aside.said)) != "yes"


@calm
@given(case=drawn())
def test_the_order_in_which_things_are_said_changes_nothing(
    case: tuple[Witness, list[Reading]],
) -> None:
    known, readings = case
    there = identify(known, known.catalogue.parts, readings)
    back = identify(known, known.catalogue.parts, readings[::-1])
    assert there.candidates == back.candidates
    assert there.warnings == back.warnings
    assert there.looks == back.looks


@calm
@given(case=drawn())
def test_what_a_look_leaves_is_the_average_over_all_it_can_show(
    case: tuple[Witness, list[Reading]],
) -> None:
    known, _ = case
    parts = tuple(known.catalogue.parts)
    looks = {look.observation.iri: look.expected for look in find_looks(known, parts)}
    for name in known.catalogue.observations:
        firm = [p for p in parts if _firmly(known, p, name)]
        left_by = {
            frozenset(p for p in parts if _may_show(known, p, name, n) != "no")
            for n in NUMBERS
            if any(_may_show(known, p, name, n) == "yes" for p in firm)
        }
        total = Fraction(0)
        for p in parts:
            sizes = [len(cell) for cell in left_by if p in cell]
            total += Fraction(sum(sizes), len(sizes)) if sizes else Fraction(len(parts))
        expected = total / len(parts)
        assert looks.get(name, Fraction(len(parts))) == expected


def _firmly(known: Witness, subject: str, name: str) -> bool:
    return any(
        r.subject == subject and r.observation == name and r.sources == ("firm",)
        for r in known.catalogue.identification
    )


@calm
@given(case=drawn())
def test_what_surely_tells_two_parts_apart_has_no_answer_in_common(
    case: tuple[Witness, list[Reading]],
) -> None:
    known, _ = case
    first, second, *_ = known.catalogue.parts
    for apart in tell_apart(known, first, second):
        both = [
            n
            for n in NUMBERS
            if _may_show(known, first, apart.observation.iri, n)
            == _may_show(known, second, apart.observation.iri, n)
            == "yes"
        ]
        if apart.sure:
            assert not both
