"""Which saved questions an edit turns and why; the commands about edits and the check."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from hypothesis import given, settings
from knockon.query.check import CheckReport, check_lines
from knockon.query.desk import Desk
from knockon.query.preview import Sides, preview
from knockon.query.preview_lines import preview_lines
from knockon.query.preview_note import Preview
from knockon.query.shop import read_questions
from knockon.reasoner.build import modified, stock_build
from knockon.reasoner.catalogue import Catalogue
from knockon.reasoner.upkeep.preview import Edit

from tests.conftest import PREFIXES, TINY_DATA, family, part
from tests.reasoner.upkeep.test_preview import edits

SPACE = "https://knockon.example/"
HD_HUB = "what else must change if I fit HD hub to Tiny T1 light?"
BIG_WHEEL = "what else must change if I fit big wheel to Tiny T1 light?"
Build = Callable[..., Catalogue]


def seen(
    before: Catalogue,
    after: Catalogue,
    *questions: str,
    whole: bool = False,
    desk: Desk | None = None,
) -> Preview:
    sides = Sides.of(desk or Desk(before), Edit.between(before, after))
    return preview(sides, questions, whole=whole)


def test_an_option_that_comes_is_told_with_the_part_that_brings_it(
    build_tiny: Build, tiny: Catalogue
) -> None:
    after = build_tiny(
        TINY_DATA + f"src:drawings {{ {part('TW-121', 'wheel-120', 'cheaper big wheel')} }}"
    )
    found = seen(tiny, after, HD_HUB)
    (question,) = found.questions
    (wheel,) = question.verdicts
    assert wheel.text == "wheel: must (now also TW-121)"
    assert [p.number for p in wheel.offered] == ["TW-121"]
    assert [fact.text for fact in question.why] == ["cheaper big wheel (TW-121) is new"]


def test_a_verdict_that_turns_is_told_with_the_value_that_turned_it(
    build_tiny: Build, tiny: Catalogue
) -> None:
    # Recounted, the HD hub has the light half-shaft's teeth; what it requires is taken away.
    recounted = TINY_DATA.replace(" ; ko:requires fam:hd-shaft", "").replace(
        "ko:side ko:Internal ; ko:teeth 30", "ko:side ko:Internal ; ko:teeth 27"
    )
    found = seen(tiny, build_tiny(recounted), HD_HUB, BIG_WHEEL)
    hub, wheel = found.questions
    assert "half-shaft: must → keeps" in [verdict.text for verdict in hub.verdicts]
    assert hub.before.startswith("2 must change")
    assert hub.after.startswith("1 must change")
    assert "hub spline" in hub.why[0].text or "hub-spline" in hub.why[0].text
    assert any(fact.text.endswith("30 (tiny drawings, documented) → 27 (tiny drawings, documented)")
               for fact in hub.why)  # fmt: skip
    assert "half-shaft" in " ".join(verdict.text for verdict in wheel.verdicts)


def test_a_value_within_tolerance_changes_reasons_and_no_verdict(
    build_tiny: Build, tiny: Catalogue
) -> None:
    measured = TINY_DATA.replace("end:face-5x120 a", 'end:face-5x120 ko:thread "M12x1.5" ; a')
    after = build_tiny(measured.replace("ko:circleDiameter 120.0 ; ko:pilot 72.5",
                                        "ko:circleDiameter 120.1 ; ko:pilot 72.5"))  # fmt: skip
    found = seen(tiny, after, HD_HUB)
    assert not found.questions
    assert found.other_reasons == (HD_HUB,)


def test_a_check_that_comes_is_a_difference(build_tiny: Build, tiny: Catalogue) -> None:
    unmeasured = TINY_DATA.replace(
        "ko:bolts 5 ; ko:circleDiameter 120.0 ; ko:pilot 72.6",
        "ko:bolts 5 ; ko:circleDiameter 120.0",
    )
    (question,) = seen(tiny, build_tiny(unmeasured), HD_HUB).questions
    assert "hub face ↔ wheel: to be checked; without it nothing is workable" in question.lines
    assert "it no longer has a plan in which every joint is proven" in question.lines
    assert any("72.6 (tiny drawings, documented) → nothing" in fact.text for fact in question.why)


def test_a_question_that_loses_its_part_says_why(build_tiny: Build, tiny: Catalogue) -> None:
    gone = "\n".join(line for line in TINY_DATA.splitlines() if not line.startswith("part:TW-120 "))
    found = seen(tiny, build_tiny(gone), BIG_WHEEL, "what fits wheel on Tiny T1 light?")
    lost, fits = found.questions
    assert lost.after.startswith("no answer: nothing is called “big wheel”")
    assert any(line.startswith("no longer: ") and "TW-120" in line for line in fits.lines)
    assert any("big wheel (TW-120) is gone" in fact.text for fact in lost.why)


def test_what_was_never_understood_is_listed_apart(build_tiny: Build, tiny: Catalogue) -> None:
    found = seen(tiny, build_tiny(TINY_DATA + "#"), "will it blend?")
    assert not found.questions
    assert found.unanswered[0].startswith("will it blend?: ")


def test_a_saved_build_is_previewed_and_may_be_lost(build_tiny: Build, tiny: Catalogue) -> None:
    stock = stock_build(tiny, tiny.cars[f"{SPACE}car/tiny"])
    fits = {
        f"{SPACE}station/{station}": f"{SPACE}part/{number}"
        for station, number in (("hub", "TH-30"), ("shaft", "TS-30"), ("wheel", "TW-120"))
    }
    desk = Desk(tiny, builds={"wide one": modified(stock, fits, "wide one")})
    after = build_tiny(TINY_DATA.replace("ko:teeth 30 ; ko:module 1.0", "ko:teeth 30 ; ko:module 1.0", 1)
                       .replace("ko:side ko:External ; ko:teeth 30", "ko:side ko:External ; ko:teeth 31"))  # fmt: skip
    (changed,) = seen(tiny, after, desk=desk).builds
    assert (changed.name, changed.saved, changed.status) == ("wide one", True, "breaks")
    (joint,) = changed.joints
    assert joint.because == ("number of teeth 31 against 30: must be the same",)
    gone = "\n".join(line for line in TINY_DATA.splitlines() if not line.startswith("part:TW-120 "))
    lost = [b for b in seen(tiny, build_tiny(gone), desk=desk).builds if b.saved]
    assert [(b.status, b.note) for b in lost] == [
        ("is gone", f"wide one: the catalogue has no part {SPACE}part/TW-120")
    ]


def test_questions_out_of_reach_are_passed_over_and_lose_nothing(build_tiny: Build) -> None:
    two = (
        TINY_DATA
        + """src:drawings { gen:t2 a ko:Generation ; skos:prefLabel "Tiny T2" .
    car:trailer a ko:Car ; skos:prefLabel "Tiny trailer" ; ko:ofGeneration gen:t2 ;
    ko:has [ ko:atStation st:wheel ; ko:part part:TW-100 ] . }"""
    )
    trailer = "what else must change if I fit big wheel to Tiny trailer?"
    before, after = build_tiny(two), build_tiny(two.replace("ko:teeth 30", "ko:teeth 31"))
    found = seen(before, after, HD_HUB, trailer)
    assert (found.questions_asked, found.questions_passed_over) == (1, 1)
    everything = seen(before, after, HD_HUB, trailer, whole=True)
    assert everything.questions_passed_over == 0
    assert everything.questions == found.questions
    assert everything.builds == found.builds


@given(edits())
@settings(max_examples=25, deadline=None)
def test_passing_over_loses_no_difference(made: tuple[Catalogue, Catalogue, object]) -> None:
    before, after, _ = made
    questions = [
        f'what else must change if I fit "{part.number}" to "{car.label}"?'
        for car in before.cars.values()
        for part in before.parts.values()
    ]
    reached, everything = (seen(before, after, *questions, whole=whole) for whole in (False, True))
    assert reached.questions == everything.questions
    assert reached.builds == everything.builds
    assert reached.other_reasons == everything.other_reasons


# ---------------------------------------------------------------------- what to measure next


def test_what_most_answers_hang_on_is_measured_first(build_tiny: Build) -> None:
    doubtful = build_tiny(
        TINY_DATA
        + "src:drawings {"
        + family("bare-wheels", "wheel", "wheel-bare")
        + family("bare-shafts", "shaft", "shaft-bare")
        + part("TW-0", "bare-wheels", "wheel nobody measured")
        + part("TS-0", "bare-shafts", "shaft nobody measured")
        + "end:wheel-bare a ko:BoltCircle ; ko:role role:wheel-face ; ko:side ko:Internal ;"
        " ko:bolts 5 ; ko:circleDiameter 100.0 .\n"
        "end:shaft-bare a ko:Spline ; ko:role role:shaft-spline ; ko:side ko:External ;"
        " ko:module 1.0 ; ko:pressureAngle 30.0 .\n}"
    )
    wheels = "what else must change if I fit TW-0 to Tiny T1 light?"
    shafts = "what else must change if I fit TS-0 to Tiny T1 light?"
    for questions, first in (((wheels,), "TW-0"), ((shafts,), "TS-0")):
        report = Desk(doubtful, questions=questions).ask("what is unproven about Tiny T1 light?")
        table = report.sections[0].table  # type: ignore[union-attr]
        assert table is not None
        assert table.rows[0].cells[0] == first
        assert table.rows[0].cells[4] == 1, "one saved question turns on it"
        assert "Every joint of Tiny T1 light as it stands is settled." in report.summary


# ---------------------------------------------------------------------- commands

Run = Callable[..., Result]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shop")
    (folder / "questions.txt").write_text(f"# every morning\n{HD_HUB}\n\n{HD_HUB}\n", "utf-8")
    return folder


def test_saved_questions_are_lines_without_comments_and_doubles(shop: Path) -> None:
    assert read_questions(shop / "questions.txt") == (HD_HUB,)
    assert read_questions(shop / "none.txt") == ()


def test_a_draft_is_previewed_with_the_questions_it_turns(
    run: Run, shop: Path, tmp_path: Path
) -> None:
    draft = tmp_path / "dispute.json"
    made = run("edit", "dispute", "TH-30/hub-spline", "teeth", "27", "--source", "drawings",
               "--why", "recounted", "--out", str(draft))  # fmt: skip
    assert made.exit_code == 2
    assert "states this value itself; retract that first" in made.output
    made = run(
        "edit", "retract", "TH-30/hub-spline", "teeth", "--source", "drawings",
        "--why", "a misprint", "--who", "Ann", "--out", str(draft),
    )  # fmt: skip
    assert made.exit_code == 0
    assert "0 statements more, 1 fewer" in made.output
    shown = run("edit", "preview", str(draft), "--shop", str(shop), "--json")
    assert shown.exit_code == 0, shown.output
    found = Preview.model_validate_json(shown.stdout)
    assert [question.question for question in found.questions] == [HD_HUB]
    (fact,) = found.facts
    assert "number of teeth: 30 (tiny drawings, documented) → nothing" in fact.text
    assert not found.made_on_another


def test_an_edit_that_breaks_a_car_ends_with_one(run: Run, shop: Path, tmp_path: Path) -> None:
    draft = tmp_path / "t2.json"
    made = run(
        "edit", "copy-generation", "Tiny T1", "Tiny T2", "--source", "drawings", "--why", "bulletin",
        "--from-year", "2025", "--fit", "hub=TH-30", "--out", str(draft),
    )  # fmt: skip
    assert made.exit_code == 0, made.output
    found = run("edit", "preview", str(draft), "--shop", str(shop))
    assert found.exit_code == 1
    assert "Tiny T2 light breaks" in found.output
    assert "What the check says newly" in found.output


def test_a_file_of_facts_can_be_previewed_too(run: Run, shop: Path, tmp_path: Path) -> None:
    new = tmp_path / "wheel.trig"
    new.write_text(
        f"{PREFIXES}src:drawings {{ {part('TW-121', 'wheel-120', 'cheaper big wheel')} }}", "utf-8"
    )
    found = run("edit", "preview", str(new), "--shop", str(shop))
    assert found.exit_code == 0, found.output
    assert "wheel: must (now also TW-121)" in found.output
    assert "because cheaper big wheel (TW-121) is new" in found.output


def test_an_edit_that_would_be_refused_ends_with_three(
    run: Run, shop: Path, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.trig"
    bad.write_text(f"{PREFIXES}src:drawings {{ part:TH-9 a fam:light-hub . }}", "utf-8")
    found = run("edit", "preview", str(bad), "--shop", str(shop))
    assert found.exit_code == 3
    assert "label people can say" in found.output


def test_a_name_that_means_nothing_is_told_with_the_nearest(run: Run) -> None:
    found = run("edit", "promote", "hub-300", "--value", "teeth", "--source", "drawings",
                "--why", "x")  # fmt: skip
    assert found.exit_code == 2
    assert "there is no end “hub-300”; did you mean hub-30" in found.output


def test_the_check_tells_everything_at_once_and_ends_with_three(
    run: Run, tiny_folder: Path, tmp_path: Path
) -> None:
    sound = run("check")
    assert sound.exit_code == 0
    assert "Tiny T1 light: 2 joints, is sound" in sound.output
    for file in tiny_folder.iterdir():
        text = file.read_text("utf-8").replace("part part:TS-27", "part part:TS-30")
        text = text.replace(' ; skos:prefLabel "big wheel"', "")
        (tmp_path / file.name).write_text(text, "utf-8")
    found = run("check", "--data", str(tmp_path), "--json")
    assert found.exit_code == 3
    report = CheckReport.model_validate_json(found.stdout)
    assert report.stops
    told = "\n".join(line for line, _ in check_lines(report))
    assert "label people can say" in told
    assert "[a stock build is sound]" in told
    assert "because number of teeth 30 against 27: must be the same" in told
    assert "→ correct the value that is wrong" in told


def test_a_file_that_cannot_be_read_is_a_finding_with_its_line(run: Run, tmp_path: Path) -> None:
    (tmp_path / "broken.trig").write_text(
        "@prefix a: <https://a.example/> .\nthis is no fact", "utf-8"
    )
    found = run("check", "--data", str(tmp_path))
    assert found.exit_code == 3
    assert "broken.trig, line 2" in found.output


def test_a_preview_without_differences_says_so(tiny: Catalogue) -> None:
    lines = [line for line, _ in preview_lines(seen(tiny, tiny, HD_HUB))]
    assert lines[0] == (
        "0 changed facts; 0 builds change; 0 saved questions are answered otherwise."
    )
