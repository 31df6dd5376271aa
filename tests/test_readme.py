"""README says what is so."""

from __future__ import annotations

from .readme import PRINTED, README, printed


def test_the_answer_in_the_readme_is_what_the_command_prints() -> None:
    found = list(PRINTED.finditer(README.read_text("utf-8")))
    assert found
    for match in found:
        assert printed(match["question"]) == match["text"]
