"""Whatever the desk answers is of the published schema, and renders within the page."""

from __future__ import annotations

import json

import jsonschema
import pytest
from knockon.query.desk import Desk
from knockon.query.render_report import render_reply
from knockon.query.report import schema

TINY = (
    "what else must change if I fit HD hub to Tiny T1 light?",
    "what must I check if I fit TW-121 to Tiny T1 light?",
    "why must the wheel change if I fit HD hub to Tiny T1 light?",
    "why not TS-27 if I fit HD hub to Tiny T1 light?",
    "does HD hub fit Tiny T1 light?",
    "does HD hub fit Tiny T1 light keeping the wheel?",
    "does TS-30 mate with TH-30?",
    "what fits wheel on Tiny T1 light?",
    "where does HD hub fit?",
    "which wheel needs the least change across Tiny T1 light?",
    "show TW-122",
    "show Tiny T1 light",
    "what is unproven about wheel?",
    "compare TH-27 with TH-30",
    "how do I tell TH-27 from TH-30?",
    "what differs between Tiny T1 light and Tiny T1?",
    "identify hub with 27 teeth",
    "what bolt circle gives a chord of 67.2 mm with 5 bolts?",
    "let mine be Tiny T1 light with HD hub",
    "what is the track width on Tiny T1 light?",
)
SUMS = (
    "what is the brake torque split on Sum S1 light if I fit RC-2?",
    "how fast does the engine turn in fifth at 110 km/h on Sum S1 light?",
    "what road speed is 3000 rpm in fourth on Sum S1 light?",
    "what will the speedometer read at 100 km/h on Sum S1 light if I fit RF-39?",
)


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    jsonschema.Draft202012Validator.check_schema(schema())
    return jsonschema.Draft202012Validator(schema())


@pytest.mark.parametrize("question", TINY)
def test_every_form_of_answer_is_of_the_schema(
    doubtful_desk: Desk, validator: jsonschema.Draft202012Validator, question: str
) -> None:
    reply = doubtful_desk.ask(question)
    validator.validate(json.loads(reply.model_dump_json()))


@pytest.mark.parametrize("question", SUMS)
def test_every_sum_is_of_the_schema(
    sums_desk: Desk, validator: jsonschema.Draft202012Validator, question: str
) -> None:
    validator.validate(json.loads(sums_desk.ask(question).model_dump_json()))


@pytest.mark.parametrize("width", [40, 72, 110])
@pytest.mark.parametrize("question", TINY)
def test_every_answer_keeps_to_the_width_of_the_page(
    doubtful_desk: Desk, question: str, width: int
) -> None:
    text = render_reply(doubtful_desk.ask(question), width=width)
    wide = [line for line in text.splitlines() if len(line) > width]
    # A single word longer than the page stands alone.
    assert all(len(line.split()) == 1 for line in wide), wide


@pytest.mark.parametrize("question", TINY)
def test_the_question_of_an_answer_gives_the_same_answer(
    doubtful_desk: Desk, question: str
) -> None:
    reply = doubtful_desk.ask(question)
    assert doubtful_desk.ask(reply.question) == reply
