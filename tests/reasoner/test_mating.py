"""What comes of ends meeting: gaps, disputes, presumptions, trial fits, go-betweens, made to suit."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from knockon.reasoner.build import meetings, stock_build
from knockon.reasoner.catalogue import Catalogue, Standing
from knockon.reasoner.interfaces.kind import Outcome
from knockon.reasoner.mating import PROVEN, Mate, Mating

from ..conftest import SPLINE, TINY_DATA, TINY_STATIONS, family, part

Build = Callable[..., Catalogue]
PART, JOINT, END = (f"https://knockon.example/{what}/" for what in ("part", "joint", "end"))
SHAFT, WHEEL = JOINT + "shaft-to-hub", JOINT + "hub-to-wheel"


def source(name: str, standing: str, facts: str) -> str:
    """Another named graph with its standing and facts."""
    return f"""
src:{name} {{ src:{name} a ko:Source ; skos:prefLabel "{name}" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:{standing} .
{facts} }}
"""


def meet(catalogue: Catalogue, joint: str, *numbers: str | None) -> tuple[Mate, ...]:
    """Let parts meet, in the order of the joint's stations."""
    parts = [catalogue.parts[PART + n] if n else None for n in numbers]
    return Mating(catalogue).meet(catalogue.joints[joint], parts)


def spare_hub(values: str, label: str = "spare hub") -> str:
    """A hub that no car left the works with; its spline has the given values."""
    return (
        family("spare-hub", "hub", "spare-spline", "face-5x100")
        + "end:spare-spline a ko:Spline ; ko:role role:hub-spline ; "
        + f"ko:side ko:Internal{values} .\n"
        + part("TH-99", "spare-hub", label)
    )


def test_hubs_one_tooth_apart_never_mate(build_tiny: Build) -> None:
    known = build_tiny(
        TINY_DATA + source("bench", "Measured", spare_hub(f" ; ko:teeth 28 ; {SPLINE}"))
    )
    (mate,) = meet(known, SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.CLASHES


def test_a_value_nobody_stated_leaves_the_joint_unproven_and_names_what_to_measure(
    build_tiny: Build,
) -> None:
    known = build_tiny(TINY_DATA + source("bench", "Measured", spare_hub(f" ; {SPLINE}")))
    (mate,) = meet(known, SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.UNPROVEN
    assert {f.needs for f in mate.findings if f.needs} == {"teeth"}


def test_a_mate_that_rests_on_a_presumption_is_unproven(build_tiny: Build) -> None:
    facts = spare_hub("") + "end:spare-spline ko:teeth 27 ; " + SPLINE + " .\n"
    known = build_tiny(TINY_DATA + source("likeness", "Presumed", facts))
    (mate,) = meet(known, SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.MATES
    assert mate.standing is Standing.PRESUMED
    assert mate.under(PROVEN) is Outcome.UNPROVEN


def test_one_clash_that_stands_firm_is_enough_though_the_rest_is_presumed(
    build_tiny: Build,
) -> None:
    presumed = source("likeness", "Presumed", spare_hub(f" ; {SPLINE}"))
    counted = source("bench", "Measured", "end:spare-spline ko:teeth 33 .\n")
    (mate,) = meet(build_tiny(TINY_DATA + presumed + counted), SHAFT, "TS-27", "TH-99")
    assert mate.under(PROVEN) is Outcome.CLASHES


def test_a_clash_that_is_only_presumed_proves_nothing(build_tiny: Build) -> None:
    presumed = source("likeness", "Presumed", spare_hub(f" ; ko:teeth 33 ; {SPLINE}"))
    (mate,) = meet(build_tiny(TINY_DATA + presumed), SHAFT, "TS-27", "TH-99")
    assert mate.under(PROVEN) is Outcome.UNPROVEN


def test_sources_that_differ_leave_the_joint_unproven_and_both_are_kept(build_tiny: Build) -> None:
    one = source("bench", "Measured", spare_hub(f" ; ko:teeth 27 ; {SPLINE}"))
    other = source("forum", "Reported", "end:spare-spline ko:teeth 28 .\n")
    known = build_tiny(TINY_DATA + one + other)
    (mate,) = meet(known, SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.UNPROVEN
    assert mate.disputed == ("teeth",)
    assert [claim.value for claim in known.ends[END + "spare-spline"].claims["teeth"]] == [27, 28]


def test_a_dispute_that_does_not_matter_decides_nothing(build_tiny: Build) -> None:
    one = source("bench", "Measured", spare_hub(f" ; ko:teeth 33 ; {SPLINE}"))
    other = source("forum", "Reported", "end:spare-spline ko:teeth 34 .\n")
    (mate,) = meet(build_tiny(TINY_DATA + one + other), SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.CLASHES


def test_a_trial_fit_settles_what_nobody_measured(build_tiny: Build) -> None:
    gap = source("bench", "Measured", spare_hub(f" ; {SPLINE}"))
    trial = source("trials", "TrialFitted", "end:spare-spline ko:triedWith end:shaft-27 .\n")
    (mate,) = meet(build_tiny(TINY_DATA + gap + trial), SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.MATES
    assert mate.settled_by == "trial"
    assert mate.standing is Standing.TRIAL_FITTED


def test_a_trial_fit_against_the_numbers_is_a_dispute(build_tiny: Build) -> None:
    other = source("bench", "Measured", spare_hub(f" ; ko:teeth 33 ; {SPLINE}"))
    trial = source("trials", "TrialFitted", "end:spare-spline ko:triedWith end:shaft-27 .\n")
    (mate,) = meet(build_tiny(TINY_DATA + other + trial), SHAFT, "TS-27", "TH-99")
    assert mate.outcome is Outcome.UNPROVEN
    assert mate.settled_by == "trial against the numbers"


def test_what_left_the_works_together_is_proven_though_nobody_measured_it(
    build_tiny: Build,
) -> None:
    known = build_tiny(
        TINY_DATA.replace("ko:side ko:Internal ; ko:teeth 27 ;", "ko:side ko:Internal ;")
    )
    (mate,) = meet(known, SHAFT, "TS-27", "TH-27")
    assert mate.outcome is Outcome.MATES
    assert mate.settled_by == "works"


def test_an_end_that_meets_nothing_is_a_clash_where_it_must_meet(build_tiny: Build) -> None:
    bare = family("bare-hub", "hub", "face-5x100") + part("TH-00", "bare-hub", "bare hub")
    known = build_tiny(TINY_DATA + source("bench", "Measured", bare))
    (mate,) = meet(known, SHAFT, "TS-27", "TH-00")
    assert mate.outcome is Outcome.CLASHES
    assert meet(known, SHAFT, None, "TH-00") == ()


@pytest.mark.parametrize(
    ("alone", "outcome"), [("MayStandAlone", None), ("WantsBlank", Outcome.MATES)]
)
def test_an_end_may_stand_alone_or_want_a_blank(
    build_tiny: Build, alone: str, outcome: Outcome | None
) -> None:
    must = "ko:withRole role:shaft-spline ; ko:alone ko:"
    stations = TINY_STATIONS.replace(f"{must}MustMeet", f"{must}{alone}")
    bare = family("bare-hub", "hub", "face-5x100") + part("TH-00", "bare-hub", "bare hub")
    known = build_tiny(TINY_DATA + source("bench", "Measured", bare), stations)
    found = meet(known, SHAFT, "TS-27", "TH-00")
    assert [mate.outcome for mate in found] == ([] if outcome is None else [outcome])


ADAPTER = (
    family("adapter", "spacer", "adapter-in", "adapter-out")
    + "end:adapter-in a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ; "
    "ko:bolts 5 ; ko:circleDiameter 100.0 ; ko:pilot 56.1 .\n"
    "end:adapter-out a ko:BoltCircle ; ko:role role:hub-face ; ko:side ko:External ; "
    "ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.5 .\n"
    + part("TA-1", "adapter", "100 to 120 wheel adapter")
)


def test_a_go_between_mates_on_both_its_sides(build_tiny: Build) -> None:
    known = build_tiny(TINY_DATA + source("bench", "Measured", ADAPTER))
    assert [m.outcome for m in meet(known, WHEEL, "TH-27", "TW-120", None)] == [Outcome.CLASHES]
    assert [m.outcome for m in meet(known, WHEEL, "TH-27", "TW-120", "TA-1")] == [Outcome.MATES] * 2
    assert Outcome.CLASHES in [m.outcome for m in meet(known, WHEEL, "TH-27", "TW-100", "TA-1")]


TO_ORDER = (
    family("shaft-to-order", "shaft", "ordered-spline")
    + "end:ordered-spline a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ; "
    f"{SPLINE} ; ko:madeToSuit [ ko:ofQuantity ko:teeth ; ko:least 24.0 ; ko:most 29.0 ] .\n"
    + part("TS-00", "shaft-to-order", "half-shaft to order")
)


def test_what_is_made_to_suit_takes_the_value_it_meets_within_its_range(build_tiny: Build) -> None:
    known = build_tiny(TINY_DATA + source("bench", "Measured", TO_ORDER))
    (fits,) = meet(known, SHAFT, "TS-00", "TH-27")
    assert fits.outcome is Outcome.MATES
    assert fits.made == ((END + "ordered-spline", "teeth", 27),)
    (beyond,) = meet(known, SHAFT, "TS-00", "TH-30")
    assert beyond.outcome is Outcome.CLASHES


def test_the_stock_car_has_no_clash(tiny: Catalogue) -> None:
    found = meetings(Mating(tiny), stock_build(tiny, next(iter(tiny.cars.values()))))
    assert found
    assert all(mate.outcome is Outcome.MATES for mate in found)


def test_no_stock_build_of_the_demo_clashes(demo: Catalogue, demo_mating: Mating) -> None:
    for car in demo.cars.values():
        found = meetings(demo_mating, stock_build(demo, car))
        clashing = [m.joint for m in found if m.outcome is Outcome.CLASHES]
        assert not clashing, car.label
