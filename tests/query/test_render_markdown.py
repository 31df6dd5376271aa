"""The job sheet."""

from __future__ import annotations

from itertools import pairwise

import pytest
from knockon.query.answer import Answer
from knockon.query.render_markdown import NoSuchPlan, job_sheet

from .conftest import KNOCK_ONS, Run
from .golden import same_as_golden


def test_a_job_sheet_has_everything_a_workshop_acts_on(full_answer: Answer) -> None:
    same_as_golden("job-sheet.md", job_sheet(full_answer))


def test_a_plan_that_rests_on_nothing_unproven_has_no_checks(full_answer: Answer) -> None:
    assert "Check before ordering" in job_sheet(full_answer, 1)
    assert "Check before ordering" not in job_sheet(full_answer, 2)


def test_a_job_sheet_is_only_made_of_a_plan_that_there_is(full_answer: Answer) -> None:
    with pytest.raises(NoSuchPlan, match="There is no plan 3: this answer has plans 1 to 2"):
        job_sheet(full_answer, 3)
    with pytest.raises(NoSuchPlan, match="no plan is workable"):
        job_sheet(full_answer.model_copy(update={"plans": (), "workable": False}))


def test_every_row_of_a_table_is_as_wide_as_its_head(full_answer: Answer) -> None:
    lines = job_sheet(full_answer).splitlines()
    for above, below in pairwise(lines):
        if above.startswith("|") and below.startswith("|"):
            assert len(above) == len(below)


def test_the_command_prints_the_job_sheet_of_the_plan_asked_for(run: Run) -> None:
    sheet = run("ask", KNOCK_ONS, "--format", "markdown")
    assert sheet.exit_code == 0
    assert sheet.stdout.startswith("# Job sheet: HD hub for Tiny T1 light\n")
    assert "| TS-30  | HD half-shaft |" in sheet.stdout
    missing = run("ask", KNOCK_ONS, "--format", "markdown", "--plan", "9")
    assert (missing.exit_code, missing.stdout) == (2, "")
    assert "There is no plan 9" in missing.stderr


def test_a_question_that_changes_nothing_has_no_job_sheet(run: Run) -> None:
    refused = run("ask", "does TH-30 mate with TS-30?", "--format", "markdown")
    assert refused.exit_code == 2
    assert refused.stderr == (
        "Only a question about fitting something has a job sheet; ask for text.\n"
    )
