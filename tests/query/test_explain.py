"""How a sentence is answered, and that it is answered so."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from types import FrameType
from typing import Any

import pytest
from knockon.query.conversation import Conversation
from knockon.query.desk import Desk
from knockon.query.parse import parse
from knockon.query.planner import plan_of
from knockon.query.syntax import Sentence
from knockon.reasoner.catalogue import Catalogue

from .conftest import KNOCK_ONS, Run
from .golden import same_as_golden

FORMS = [
    KNOCK_ONS,
    "what must I check if I fit HD hub to Tiny T1 light?",
    "what is unproven if I fit HD hub to Tiny T1 light?",
    "why must half-shaft change if I fit HD hub to Tiny T1 light?",
    "why not TS-27 if I fit HD hub to Tiny T1 light?",
    "does TH-30 fit Tiny T1 light?",
    "does TH-30 mate with TS-30?",
    "what fits hub on Tiny T1 light?",
    "where does TH-30 fit?",
    "which hub needs the least change across Tiny T1 light?",
    "show TH-30",
    "what is unproven about TH-30?",
    "compare TH-30 with TH-27",
    "how do I tell TH-30 from TH-27?",
    "what differs between Tiny T1 light and Tiny T1 light?",
    "identify hub with 27 number of teeth",
    "what is the track width on Tiny T1 light?",
    "how fast does the engine turn in third at 50 km/h on Tiny T1 light?",
    "what road speed is 2000 rev/min in third on Tiny T1 light?",
    "what will the speedometer read at 50 km/h on Tiny T1 light?",
    "what bolt circle gives a chord of 70.5 mm with 5 bolts?",
    "let mine be Tiny T1 light with TH-30",
]


@contextmanager
def recorded() -> Iterator[list[str]]:
    """The functions of knockon that are called, in order, by their paths below `knockon`."""
    called: list[str] = []

    def note(frame: FrameType, event: str, _: Any) -> None:
        module = frame.f_globals.get("__name__", "")
        if event == "call" and module.startswith("knockon."):
            # Making a value counts as calling its class.
            name = frame.f_code.co_qualname.removesuffix(".__init__")
            called.append(f"{module.removeprefix('knockon.')}.{name}")

    sys.setprofile(note)
    try:
        yield called
    finally:
        sys.setprofile(None)


def follows(called: list[str], planned: list[str]) -> str:
    """The first planned function that is not called after those before it; "" if all are."""
    rest = iter(called)
    return next((each for each in planned if each not in rest), "")


@pytest.fixture(scope="module")
def desk(tiny: Catalogue) -> Desk:
    return Desk(tiny)


def test_every_form_of_sentence_has_a_plan() -> None:
    planned = {type(parse(question)) for question in FORMS}
    every = {kind for kind in Sentence.__args__ if kind.__name__ != "FollowUp"}
    assert planned == every
    assert all(plan_of(parse(question)).steps for question in FORMS)


@pytest.mark.parametrize("question", FORMS)
def test_every_function_of_a_plan_exists(question: str) -> None:
    for step in plan_of(parse(question)).steps:
        module, _, name = step.function.rpartition(".")
        try:
            home: Any = import_module(f"knockon.{module}")
        except ModuleNotFoundError:
            outer, _, kind = module.rpartition(".")
            home = getattr(import_module(f"knockon.{outer}"), kind)
        assert callable(getattr(home, name))


@pytest.mark.parametrize("question", FORMS)
def test_a_step_only_builds_on_steps_before_it(question: str) -> None:
    for number, step in enumerate(plan_of(parse(question)).steps, 1):
        assert all(a.step < number for a in step.arguments)


@pytest.mark.parametrize("question", FORMS)
def test_the_desk_calls_what_the_plan_says_in_that_order(desk: Desk, question: str) -> None:
    planned = [s.function for s in plan_of(parse(question)).steps if not s.only_if]
    with recorded() as called:
        desk.ask(question, talk=Conversation())
    assert follows(called, planned) == ""


def test_names_are_explained_as_this_catalogue_means_them(run: Run) -> None:
    shown = run("explain", "what must change if i fit th 30 into tiny t1 keeping the wheel")
    assert shown.exit_code == 0
    same_as_golden("explained.txt", shown.stdout)


def test_a_follow_up_is_explained_in_full(run: Run) -> None:
    shown = run("explain", "and if I keep the wheel?", "--after", KNOCK_ONS)
    assert shown.stdout.startswith(KNOCK_ONS.replace("?", " keeping the wheel?"))


def test_an_unknown_name_is_an_error_and_not_a_plan(run: Run) -> None:
    wrong = run("explain", KNOCK_ONS.replace("HD hub", "HD hubb"))
    assert (wrong.exit_code, wrong.stdout) == (2, "")
    assert "HD hub" in wrong.stderr


def test_a_plan_is_data_too(run: Run) -> None:
    steps = json.loads(run("explain", "where does TH-30 fit?", "--json").stdout)["steps"]
    assert [each["function"] for each in steps] == [
        "query.wishes.Resolver.part",
        "reasoner.where_fits.where_fits",
    ]
