"""The prompt, typed into as a person does."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from knockon.query.prompt import COMMANDS, joined, unfinished

from .conftest import KNOCK_ONS
from .terminal import Terminal, needs_tmux

# `knockon`, but that a question about TS-27 is never answered: something to cancel. The worker
# reads this file too, so the same holds there.
PROGRAM = """
import time
from knockon.query.desk import Desk

answer = Desk.ask

def ask(self, text, **more):
    while "TS-27" in text:
        time.sleep(0.01)
    return answer(self, text, **more)

Desk.ask = ask

if __name__ == "__main__":
    from knockon.query.command import main

    main(prog_name="knockon")
"""
ENDLESS = "where does TS-27 fit?"
READY = "knockon> "
Open = Callable[..., Terminal]


@pytest.fixture
def opened(tmp_path: Path, surroundings: dict[str, str]) -> Iterator[Open]:
    """Open the prompt in a terminal, with a history of its own."""
    made: list[Terminal] = []
    program = tmp_path / "program.py"
    program.write_text(PROGRAM, "utf-8")
    settings = {**surroundings, "XDG_STATE_HOME": str(tmp_path / "state"), "LC_ALL": "C.UTF-8"}

    def opened(*options: str) -> Terminal:
        folder = tmp_path / f"terminal-{len(made)}"
        folder.mkdir()
        terminal = Terminal(folder, [sys.executable, str(program), *options], settings)
        made.append(terminal)
        terminal.wait("knockon>")
        return terminal

    yield opened
    for terminal in made:
        terminal.close()


@needs_tmux
def test_a_question_is_answered_with_a_picture_in_text(opened: Open) -> None:
    terminal = opened()
    terminal.say(KNOCK_ONS)
    screen = terminal.wait("Cautions")
    assert "  ● hub: TH-30 HD hub\n  ├─ half-shaft (must)\n  └─ wheel (must)\n" in screen


@needs_tmux
def test_the_last_answer_can_be_gone_on_from(opened: Open) -> None:
    terminal = opened()
    terminal.say(KNOCK_ONS)
    terminal.wait("Cautions")
    terminal.say("and if I keep the wheel?")
    screen = terminal.wait("No workable plan")
    assert KNOCK_ONS.replace("?", " keeping the wheel?") in screen


@needs_tmux
def test_ctrl_c_cancels_the_question_and_keeps_the_conversation(opened: Open) -> None:
    terminal = opened()
    terminal.say("let mine be Tiny T1 light with TW-120")
    terminal.wait("mine is Tiny T1 light")
    terminal.say(ENDLESS)
    terminal.wait("Ctrl-C cancels")
    terminal.press("C-c")
    terminal.wait("Cancelled.")
    terminal.say("what must change if I fit TH-30 to mine?")
    terminal.wait("what else must change if I fit TH-30 to mine?")


@needs_tmux
def test_ctrl_c_at_the_prompt_drops_the_line_only(opened: Open) -> None:
    terminal = opened()
    terminal.type("what nonsense")
    terminal.press("C-c")
    terminal.wait(READY.strip(), times=2)
    terminal.say("help")
    terminal.wait("Ctrl-C cancels a question.")


@needs_tmux
@pytest.mark.parametrize("options", [(), ("--plain",)])
def test_ctrl_d_leaves(opened: Open, options: tuple[str, ...]) -> None:
    terminal = opened(*options)
    terminal.press("C-d")
    terminal.wait("ended with 0")


@needs_tmux
def test_leave_leaves(opened: Open) -> None:
    terminal = opened()
    terminal.say("leave")
    terminal.wait("ended with 0")


@needs_tmux
def test_tab_completes_words_of_the_language_and_names_of_the_catalogue(opened: Open) -> None:
    terminal = opened()
    terminal.say("show TH-30")
    terminal.wait("HD hub")  # by now the catalogue has been read
    terminal.type("does TS-3")
    terminal.press("Tab")
    terminal.wait("does HD half-shaft")
    terminal.type(" fi")
    terminal.press("Tab")
    terminal.wait("does HD half-shaft fit")


@needs_tmux
def test_a_sentence_goes_on_after_a_comma(opened: Open) -> None:
    terminal = opened()
    terminal.say("what must change if I fit TH-30 to Tiny T1 light keeping wheel,")
    terminal.wait("...>")
    terminal.say("half-shaft")
    terminal.wait("No workable plan")


@needs_tmux
def test_commands_show_a_plan_its_job_sheet_and_everything(opened: Open) -> None:
    terminal = opened()
    terminal.say("plan 1")
    terminal.wait("Nothing has been answered yet.")
    terminal.say(KNOCK_ONS)
    terminal.wait("Cautions")
    terminal.say("plan 1")
    terminal.wait("Plan 1: ", times=2)
    terminal.say("sheet")
    terminal.wait("# Job sheet: HD hub for Tiny T1 light")
    terminal.say("full")
    terminal.wait("rule: ")
    terminal.say("plan 7")
    terminal.wait("The last answer has 1 plan.")


@needs_tmux
def test_units_change_for_what_follows(opened: Open) -> None:
    terminal = opened()
    terminal.say(KNOCK_ONS)
    terminal.wait("circle diameter 120 mm")
    terminal.say("units in")
    terminal.say("again")
    terminal.wait("circle diameter 4.7244 in")


@needs_tmux
def test_what_was_asked_is_there_the_next_time(opened: Open) -> None:
    first = opened()
    first.say("show TH-30")
    first.wait("HD hub")
    first.press("C-d")
    first.wait("ended with 0")
    second = opened()
    second.press("Up")
    second.wait("knockon> show TH-30")


@needs_tmux
def test_nothing_is_kept_if_one_says_so(opened: Open, tmp_path: Path) -> None:
    terminal = opened("--no-history")
    terminal.say("show TH-30")
    terminal.wait("HD hub")
    assert not (tmp_path / "state").exists()


@needs_tmux
def test_plain_sends_no_escape_codes(opened: Open) -> None:
    terminal = opened("--plain")
    terminal.say(KNOCK_ONS)
    # On a slow machine the first answer takes long enough to say so too.
    told = terminal.wait("Cautions").count("Ctrl-C cancels")
    terminal.say(ENDLESS)
    terminal.wait("Ctrl-C cancels", told + 1)
    terminal.press("C-c")
    terminal.wait("Cancelled.")
    terminal.say("what is this?")
    terminal.wait("Expected: ")
    assert b"Cautions" in terminal.raw()
    assert b"\x1b" not in terminal.raw()


@needs_tmux
def test_the_rich_prompt_colours_the_sentence(opened: Open) -> None:
    terminal = opened()
    terminal.say("show TH-30")
    terminal.wait("HD hub")
    assert b"\x1b[" in terminal.raw()


@needs_tmux
def test_a_catalogue_that_cannot_be_served_ends_it_with_3(opened: Open, tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    terminal = opened("--data", str(empty))
    terminal.say("show TH-30")
    screen = terminal.wait("ended with 3")
    assert "no .ttl or .trig file" in screen.replace("\n", "")
    assert "Traceback" not in screen


def test_without_a_terminal_it_reads_lines_and_only_answers(surroundings: dict[str, str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from knockon.query.command import main; main()"],
        input="does TH-30 mate with TS-30?\n# a remark\nwhat?\nleave\nshow TH-30\n",
        capture_output=True,
        text=True,
        check=True,
        env=surroundings,
    )
    assert done.stdout.startswith("does TH-30 mate with TS-30?\n\nYes: ")
    assert "Expected: " in done.stdout
    assert "show TH-30" not in done.stdout
    assert (done.stderr, "\x1b" in done.stdout) == ("", False)


def test_no_sentence_begins_with_a_command() -> None:
    from knockon.query.errors import QueryError
    from knockon.query.parse import parse

    for word in COMMANDS:
        for rest in ("", " 2", " in"):
            with pytest.raises(QueryError):
                parse(word + rest)


@pytest.mark.parametrize(
    ("text", "goes_on"),
    [
        ("show TH-30", False),
        ("what fits hub on Tiny,", True),
        ("does A \\", True),
        ('compare "big hub', True),
        ('compare "big hub"', False),
        ("compare “big hub", True),
        ('with at most 15" wheels', False),
        ("", False),
    ],
)
def test_a_sentence_is_finished_unless_it_says_otherwise(text: str, goes_on: bool) -> None:
    assert unfinished(text) is goes_on


def test_lines_of_one_sentence_are_joined() -> None:
    assert joined("compare A with B,\n  C \\\n and D") == "compare A with B, C and D"
