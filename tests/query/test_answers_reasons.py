"""Why must, why not, does it mate: chains down to the value, rule, source and standing."""

from __future__ import annotations

import pytest
from knockon.query.answers.ground import NoAnswer
from knockon.query.conversation import Conversation
from knockon.query.desk import Desk
from knockon.query.errors import NothingToFollow
from knockon.query.render_report import render_report
from knockon.query.report import Report

from .desks import asking, told

CHANGE = "if I fit HD hub to Tiny T1 light"


def test_why_must_goes_down_to_values_tolerance_rule_source_and_standing(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why must the wheel change {CHANGE}?")
    assert report.holds is True
    step = report.sections[0].steps[-1]
    meeting = step.meetings[0]
    clash = next(c for c in meeting.comparisons if c.outcome == "clashes")
    assert (clash.quantity, clash.first, clash.second) == ("circle diameter", 120, 100)
    assert clash.tolerance == 0.2
    assert meeting.rule
    assert {c.cited[0].source for c in meeting.claims} == {"tiny drawings"}
    assert {c.cited[0].standing for c in meeting.claims} == {"documented"}
    text = " ".join(render_report(report).split())
    assert "tolerance of 0.2 mm" in text
    assert "tiny drawings, documented" in text


def test_what_keeps_its_part_need_not_change(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why must the wheel adapter change {CHANGE}?")
    assert report.holds is False
    assert "keeps" in report.summary


def test_why_must_of_what_is_fitted_says_so(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why must the hub change {CHANGE}?")
    assert report.holds is None
    assert "is what you fit" in report.summary


def test_why_must_without_a_workable_plan_names_the_conflict(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why must the half-shaft change {CHANGE} keeping the wheel?")
    assert report.holds is False
    assert "• keep the wheel (small wheel)" in report.sections[0].lines


def test_why_not_names_the_reasons_that_rule_the_part_out_there(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why not TS-27 {CHANGE}?")
    assert report.holds is False
    kinds = [step.kind for step in report.sections[0].steps]
    assert "joint" in kinds
    assert "teeth 27 against 30" in render_report(report) or "30 against 27" in told(report)


def test_nothing_stands_against_an_option(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why not TW-120 {CHANGE}?")
    assert report.holds is True
    assert "one of the options" in report.summary


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ("without TW-120", "you asked for without TW-120"),
        ("keeping the wheel", "you asked to keep the wheel"),
    ],
)
def test_why_not_repeats_what_the_customer_said(tiny_desk: Desk, terms: str, words: str) -> None:
    report = asking(tiny_desk)(f"why not TW-120 {CHANGE} {terms}?")
    assert report.holds is False
    assert words in report.summary


def test_why_not_another_part_where_one_is_fitted(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)(f"why not TH-27 {CHANGE}?")
    assert "you fit HD hub (TH-30) there" in report.summary


def test_a_superseded_part_says_by_what(doubtful_desk: Desk) -> None:
    report = asking(doubtful_desk)("why not TW-90 if I fit TS-30 to Tiny T1 light?")
    assert "superseded by small wheel" in report.summary


def test_ends_that_mate_say_yes_with_every_comparison(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("does TS-30 mate with TH-30?")
    assert report.holds is True
    comparisons = report.sections[0].meetings[0].comparisons
    assert {c.quantity for c in comparisons} >= {"number of teeth", "module", "pressure angle"}
    assert all(c.outcome == "mates" for c in comparisons)


def test_ends_that_clash_say_no_whichever_is_named_first(tiny_desk: Desk) -> None:
    for question in ("does TS-30 mate with TH-27?", "does TH-27 mate with TS-30?"):
        assert asking(tiny_desk)(question).holds is False


def test_ends_nobody_measured_are_not_proven(doubtful_desk: Desk) -> None:
    report = asking(doubtful_desk)("does TW-121 mate with TH-30?")
    assert report.holds is None
    assert report.summary.startswith("Not proven")


def test_disputed_values_are_not_proven_either(doubtful_desk: Desk) -> None:
    assert asking(doubtful_desk)("does TW-122 mate with TH-30?").holds is None


def test_parts_without_a_joint_in_common_do_not_mate(tiny_desk: Desk) -> None:
    report = asking(tiny_desk)("does TS-30 mate with TW-100?")
    assert report.holds is False
    assert "no joint in common" in report.summary


def test_the_last_question_is_gone_on_from_and_printed_in_full(tiny_desk: Desk) -> None:
    talk = Conversation()
    tiny_desk.ask(f"what else must change {CHANGE}?", talk=talk)
    more = tiny_desk.ask("and if I keep the wheel?", talk=talk)
    assert more.question == f"what else must change {CHANGE} keeping the wheel?"
    why = tiny_desk.ask("why must the half-shaft change?", talk=talk)
    assert why.question == f"why must the half-shaft change {CHANGE} keeping the wheel?"


def test_a_refused_sentence_leaves_the_conversation_as_it_was(tiny_desk: Desk) -> None:
    talk = Conversation()
    tiny_desk.ask("where does HD hub fit?", talk=talk)
    before = talk.last
    with pytest.raises(NothingToFollow):
        tiny_desk.ask("why must the wheel change?", talk=talk)
    assert talk.last == before


def test_without_a_question_before_there_is_nothing_to_follow(tiny_desk: Desk) -> None:
    with pytest.raises(NothingToFollow):
        tiny_desk.ask("and if I keep the wheel?")


def test_a_named_build_is_used_by_its_name_in_its_conversation_only(tiny_desk: Desk) -> None:
    talk = Conversation()
    named = tiny_desk.ask("let counter car be Tiny T1 light with HD hub", talk=talk)
    assert isinstance(named, Report)
    assert "clashes as it stands" in named.summary
    fits = tiny_desk.ask("does TW-120 fit counter car?", talk=talk)
    assert isinstance(fits, Report)
    assert fits.holds is True
    assert Conversation().builds == {}


def test_a_build_cannot_take_the_name_of_a_car(tiny_desk: Desk) -> None:
    with pytest.raises(NoAnswer):
        tiny_desk.ask("let tiny t1 light be Tiny T1 light with HD hub")
