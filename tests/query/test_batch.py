"""A file of questions."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from .conftest import KNOCK_ONS, Run

FILE = f"""# the morning's questions
{KNOCK_ONS}

and if I keep the wheel?
does TH-30 mate with TS-30?
what fits into the boot?
  does TH-30 mate with TS-27?
"""


def lines(text: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in text.splitlines()]


@pytest.fixture
def questions(tmp_path: Path) -> Path:
    file = tmp_path / "questions.txt"
    file.write_text(FILE, "utf-8")
    return file


def test_every_question_is_answered_in_order_under_its_line_number(
    run: Run, questions: Path
) -> None:
    found = lines(run("batch", str(questions)).stdout)
    assert [each["line"] for each in found] == [2, 4, 5, 6, 7]
    assert ["answer" in each for each in found] == [True, True, True, False, True]
    assert found[0]["answer"]["workable"] is True
    assert found[2]["answer"]["holds"] is True
    assert found[4]["question"] == "does TH-30 mate with TS-27?"


def test_a_line_may_go_on_from_the_one_before(run: Run, questions: Path) -> None:
    answer = lines(run("batch", str(questions)).stdout)[1]["answer"]
    assert answer["question"] == KNOCK_ONS.replace("?", " keeping the wheel?")
    assert answer["workable"] is False


def test_an_error_says_which_line_and_what_is_wrong_with_it(run: Run, questions: Path) -> None:
    wrong = lines(run("batch", str(questions)).stdout)[3]
    assert (wrong["line"], wrong["error"]["error"]) == (6, "unexpected-word")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("does TH-30 mate with TS-30?", 0),
        ("# nothing asked\n", 0),
        ("does TH-30 mate with TS-27?\ndoes TH-30 mate with TS-30?", 1),
        ("does TH-30 mate with TS-27?\nwhat?", 2),
    ],
)
def test_the_worst_line_decides_the_exit_code(run: Run, text: str, code: int) -> None:
    assert run("batch", "-", stdin=text).exit_code == code


def test_fail_fast_stops_at_the_first_line_that_is_not_understood(
    run: Run, questions: Path
) -> None:
    stopped = run("batch", str(questions), "--fail-fast")
    assert [each["line"] for each in lines(stopped.stdout)] == [2, 4, 5, 6]
    assert stopped.exit_code == 2


def test_a_file_that_is_not_there_is_named(run: Run) -> None:
    missing = run("batch", "no-such-file.txt")
    assert missing.exit_code == 2
    assert missing.stderr == "no-such-file.txt: No such file or directory.\n"


def test_bytes_that_are_no_text_are_one_wrong_line(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "odd.txt"
    file.write_bytes(b"\xff\xfe\x00what\ndoes TH-30 mate with TS-30?\n")
    found = lines(run("batch", str(file)).stdout)
    assert ["error" in each for each in found] == [True, False]


def test_it_answers_each_line_as_it_comes_through_a_pipe(surroundings: dict[str, str]) -> None:
    command = [sys.executable, "-c", "from knockon.query.command import main; main()", "batch", "-"]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=surroundings
    ) as batch:
        assert batch.stdin is not None
        assert batch.stdout is not None
        for question in ("does TH-30 mate with TS-30?", "does TH-30 mate with TS-27?"):
            batch.stdin.write(f"{question}\n")
            batch.stdin.flush()
            # The pipe is still open: the answer must not wait for its end.
            assert json.loads(batch.stdout.readline())["question"] == question
        batch.stdin.close()
        assert batch.wait() == 1
