"""Promote, retract and dispute: what each states, and that verdicts turn with it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from knockon.reasoner.build import stock_build
from knockon.reasoner.cascade import Cascade, find_cascade
from knockon.reasoner.catalogue import Catalogue, Standing
from knockon.reasoner.files import fingerprint
from knockon.reasoner.interfaces.kind import Scalar
from knockon.reasoner.load import build_catalogue
from knockon.reasoner.mating import Mating
from knockon.reasoner.problem import Wishes
from knockon.reasoner.reading import read_facts
from knockon.reasoner.upkeep.changes import ChangeSet, invert
from knockon.reasoner.upkeep.preview_edit import catalogue_of, facts_after
from knockon.reasoner.upkeep.quads import quads_of
from knockon.reasoner.upkeep.standing import (
    NewSource,
    Signature,
    StandingRefused,
    Stated,
    dispute,
    promote_fit,
    promote_value,
    retract,
    shared_by,
)
from knockon.reasoner.verdicts import Verdict

from tests.conftest import TINY_DATA, family, part, tiny_files

SPACE = "https://knockon.example/"
SIGNED = Signature("Ann", datetime(2024, 5, 1, 12, tzinfo=UTC), "it was on the bench")


def src(name: str) -> str:
    return f"{SPACE}source/{name}"


def end(name: str) -> str:
    return f"{SPACE}end/{name}"


DATA = (
    TINY_DATA
    + """
@prefix form: <https://knockon.example/form/> .
src:bench { src:bench a ko:Source ; skos:prefLabel "bench" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Measured . }
src:trials { src:trials a ko:Source ; skos:prefLabel "trial fits" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:TrialFitted . }
src:club { src:club a ko:Source ; skos:prefLabel "club notes" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Reported . }
src:guess { src:guess a ko:Source ; skos:prefLabel "likeness" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Presumed .
    end:hub-guess ko:teeth 27 ; ko:module 1.0 ; ko:pressureAngle 30.0 . }
src:drawings {
end:hub-guess a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal .
form:s27 a ko:Form ; ko:teeth 27 ; ko:module 1.0 ; ko:pressureAngle 30.0 .
end:hub-formed a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:form form:s27 .
end:shaft-formed a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ; ko:form form:s27 .
"""
    + family("guessed-hubs", "hub", "hub-guess", "face-5x100")
    + family("formed-hubs", "hub", "hub-formed", "face-5x100")
    + family("formed-shafts", "shaft", "shaft-formed")
    + part("TH-G", "guessed-hubs", "hub of which the spline is a guess")
    + part("TH-F", "formed-hubs", "hub of a known form")
    + part("TS-F", "formed-shafts", "shaft of a known form")
    + "}\n"
)


@pytest.fixture(scope="module")
def data() -> Stated:
    files = tiny_files(DATA)
    return Stated(read_facts(files), build_catalogue(fingerprint(files), files))


def after(data: Stated, *changes: ChangeSet) -> Stated:
    facts = facts_after(data.facts, changes)
    return Stated(facts, catalogue_of(facts))


def fitting(catalogue: Catalogue, number: str) -> Cascade:
    build = stock_build(catalogue, catalogue.cars[f"{SPACE}car/tiny"])
    wishes = Wishes({f"{SPACE}station/hub": f"{SPACE}part/{number}"})
    return find_cascade(Mating(catalogue), build, wishes)


def shaft(cascade: Cascade) -> tuple[Verdict, Verdict | None]:
    """What becomes of the half-shaft, kindly and strictly."""
    (found,) = [k for k in cascade.knock_ons if k.station == f"{SPACE}station/shaft"]
    return found.verdict, found.strictly


def test_before_anything_the_guessed_spline_is_to_be_checked(data: Stated) -> None:
    cascade = fitting(data.catalogue, "TH-G")
    assert shaft(cascade)[0] is Verdict.KEEPS
    assert not cascade.strictly_workable
    assert [check.joint for check in cascade.checks] == [f"{SPACE}joint/shaft-to-hub"]


def test_a_trial_fit_proves_what_was_presumed(data: Stated) -> None:
    change = promote_fit(data, end("hub-guess"), end("shaft-27"), src("trials"), SIGNED)
    assert [str(g) for _, _, _, g in change.added] == [src("trials")]
    assert not change.removed
    cascade = fitting(after(data, change).catalogue, "TH-G")
    assert cascade.strictly_workable
    assert not cascade.checks
    assert shaft(cascade) == (Verdict.KEEPS, Verdict.KEEPS)


def test_a_measurement_proves_a_value_and_leaves_the_guess_beside_it(data: Stated) -> None:
    changes = [
        promote_value(data, end("hub-guess"), quantity, src("bench"), SIGNED)
        for quantity in ("teeth", "module", "pressureAngle")
    ]
    catalogue = after(data, *changes).catalogue
    (claim,) = catalogue.ends[end("hub-guess")].claims["teeth"]
    assert claim.sources == (src("bench"), src("guess"))
    assert fitting(catalogue, "TH-G").strictly_workable


def test_a_measurement_that_says_otherwise_turns_the_verdict(data: Stated) -> None:
    disputed = dispute(data, end("hub-guess"), "teeth", 30, src("bench"), SIGNED)
    both = after(data, disputed)
    claims = both.catalogue.ends[end("hub-guess")].claims["teeth"]
    assert [(claim.value, claim.sources) for claim in claims] == [
        (30, (src("bench"),)),
        (27, (src("guess"),)),
    ]
    cascade = fitting(both.catalogue, "TH-G")
    assert not cascade.strictly_workable, "27 would fit and 30 would not: nobody knows"
    guess_gone = retract(both, end("hub-guess"), "teeth", src("guess"), SIGNED)
    certain = fitting(after(both, guess_gone).catalogue, "TH-G")
    assert shaft(certain)[0] is Verdict.MUST


def test_a_disputed_value_that_was_certain_makes_the_joint_unproven(data: Stated) -> None:
    assert fitting(data.catalogue, "TH-F").strictly_workable
    change = dispute(data, end("hub-formed"), "teeth", 28, src("club"), SIGNED)
    assert [str(s) for s, _, _, _ in change.added] == [f"{SPACE}form/s27"]
    assert shared_by(data, change) == (end("hub-formed"), end("shaft-formed"))
    assert fitting(after(data, change).catalogue, "TH-F").checks


def test_a_value_of_a_form_is_promoted_for_the_one_end_that_was_measured(data: Stated) -> None:
    change = promote_value(data, end("hub-formed"), "teeth", src("bench"), SIGNED)
    catalogue = after(data, change).catalogue
    (mine,) = catalogue.ends[end("hub-formed")].claims["teeth"]
    (theirs,) = catalogue.ends[end("shaft-formed")].claims["teeth"]
    assert (mine.sources, theirs.sources) == ((src("bench"),), (src("drawings"),))


def test_a_new_source_is_described_with_the_edit(data: Stated) -> None:
    letter = NewSource(src("letter"), "a letter", "a customer in Tarnside", Standing.REPORTED)
    change = dispute(data, end("hub-guess"), "module", Decimal("1.25"), letter, SIGNED)
    catalogue = after(data, change).catalogue
    described = catalogue.sources[src("letter")]
    assert (described.label, described.by) == ("a letter", "a customer in Tarnside")
    assert (described.standing, described.date) == (Standing.REPORTED, "2024-05-01")
    assert len(catalogue.ends[end("hub-guess")].claims["module"]) == 2


def test_what_is_retracted_is_no_longer_known(data: Stated) -> None:
    change = retract(data, end("hub-27"), "teeth", src("drawings"), SIGNED)
    changed = after(data, change)
    assert "teeth" not in changed.catalogue.ends[end("hub-27")].claims
    assert quads_of(facts_after(changed.facts, [invert(change)])) == quads_of(data.facts)


def test_a_trial_fit_can_be_retracted_from_either_end(data: Stated) -> None:
    tried = after(data, promote_fit(data, end("hub-guess"), end("shaft-27"), src("trials"), SIGNED))
    for one in ("hub-guess", "shaft-27"):
        change = retract(tried, end(one), "triedWith", src("trials"), SIGNED)
        assert not after(tried, change).catalogue.tried


def test_a_record_is_retracted_whole() -> None:
    own = "part:TW-100 ko:ownTolerance [ ko:onQuantity ko:pilotSlack ; ko:amount 0.3 ] ."
    files = tiny_files(TINY_DATA.replace("gen:tiny a", f"{own}\ngen:tiny a"))
    data = Stated(read_facts(files), build_catalogue(fingerprint(files), files))
    change = retract(data, f"{SPACE}part/TW-100", "ownTolerance", src("drawings"), SIGNED)
    assert len(change.removed) == 3
    assert not after(data, change).catalogue.parts[f"{SPACE}part/TW-100"].tolerances


# ---------------------------------------------------------------------- what is refused

Refused = Callable[[Stated], ChangeSet]


def _dispute(value: Scalar, source: str = "club", quantity: str = "teeth") -> Refused:
    return lambda data: dispute(data, end("hub-27"), quantity, value, src(source), SIGNED)


REFUSED: dict[str, tuple[Refused, str]] = {
    "a trial fit in a source that proves nothing": (
        lambda d: promote_fit(d, end("hub-guess"), end("shaft-27"), src("club"), SIGNED),
        "club notes is reported, and only what is trial-fitted or stronger",
    ),
    "a value promoted by no stronger word": (
        lambda d: promote_value(d, end("hub-27"), "teeth", src("club"), SIGNED),
        "club notes is reported, and only what is trial-fitted or stronger",
    ),
    "a fit of an end with itself": (
        lambda d: promote_fit(d, end("hub-27"), end("hub-27"), src("trials"), SIGNED),
        "not tried with itself",
    ),
    "an end that nobody states": (
        lambda d: promote_value(d, end("hub-2"), "teeth", src("bench"), SIGNED),
        "there is no end hub-2",
    ),
    "a value that nobody states": (
        lambda d: promote_value(d, end("hub-27"), "minorDiameter", src("bench"), SIGNED),
        "nobody states minorDiameter of hub-27; there is module, pressureAngle, teeth",
    ),
    "a source that nobody describes": (_dispute(28, "bnch"), "no source bnch is described"),
    "a dispute that agrees": (_dispute(27), "what is stated already; to confirm it, promote it"),
    "a source that disputes itself": (_dispute(28, "drawings"), "states this value itself"),
    "a text for a number": (_dispute("many"), "“many” is not of the same sort"),
    "the word of a source that said nothing": (
        lambda d: retract(d, end("hub-27"), "teeth", src("bench"), SIGNED),
        "bench says nothing of hub-27 under teeth",
    ),
    "a source described twice": (
        lambda d: promote_fit(
            d, end("hub-guess"), end("shaft-27"),
            NewSource(src("trials"), "again", "Ann", Standing.TRIAL_FITTED), SIGNED,
        ),
        "trials is described already",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_refused_is(what: str, data: Stated) -> None:
    make, words = REFUSED[what]
    with pytest.raises(StandingRefused, match=words.replace("(", r"\(")):
        make(data)


def test_a_value_on_which_sources_differ_is_not_promoted_blindly(data: Stated) -> None:
    disputed = after(data, dispute(data, end("hub-27"), "teeth", 28, src("club"), SIGNED))
    with pytest.raises(StandingRefused, match="sources differ on this value"):
        promote_value(disputed, end("hub-27"), "teeth", src("bench"), SIGNED)
