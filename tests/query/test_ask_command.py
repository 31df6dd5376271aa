"""`knockon ask` prints every kind of answer, and its exit code says yes, no or not understood."""

from __future__ import annotations

import json

import pytest

from .conftest import Run


@pytest.mark.parametrize(
    ("question", "code"),
    [
        ("what else must change if I fit HD hub to Tiny T1 light?", 0),
        ("what else must change if I fit HD hub to Tiny T1 light keeping the wheel?", 1),
        ("does HD hub fit Tiny T1 light?", 0),
        ("does HD hub fit Tiny T1 light keeping the wheel?", 1),
        ("does TS-30 mate with TH-27?", 1),
        ("what is the track width on Tiny T1 light?", 0),
        ("show hub", 0),
        ("does HD hub fit Nowhere?", 2),
        ("does hub the fit", 2),
    ],
)
def test_the_exit_code_says_yes_no_or_not_understood(run: Run, question: str, code: int) -> None:
    result = run("ask", question)
    assert result.exit_code == code, result.output
    assert "Traceback" not in result.output


def test_a_report_is_printed_or_given_as_json(run: Run) -> None:
    text = run("ask", "does TS-30 mate with TH-30?")
    assert "Yes: HD half-shaft (TS-30) and HD hub (TH-30) mate" in text.output
    data = json.loads(run("ask", "--json", "does TS-30 mate with TH-30?").output)
    assert (data["kind"], data["holds"]) == ("does-mate", True)


def test_a_follow_up_goes_on_from_the_question_before(run: Run) -> None:
    before = "what else must change if I fit HD hub to Tiny T1 light?"
    result = run("ask", "--after", before, "and if I keep the wheel?")
    assert result.exit_code == 1
    assert result.output.startswith(
        "what else must change if I fit HD hub to Tiny T1 light keeping"
    )


def test_a_bad_question_before_is_refused_like_any_other(run: Run) -> None:
    result = run("ask", "--after", "what what", "and if I keep the wheel?")
    assert result.exit_code == 2
    assert "Traceback" not in result.output
