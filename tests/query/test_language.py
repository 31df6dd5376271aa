"""The manual of the language says what the grammar does."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest
from knockon.query.forms import FORMS
from knockon.query.grammar import reserved
from knockon.query.reference import MANUAL_FILE, manual

MODULES = """
colour errors follow_up format grammar names parse quantities repair spelling tree_json
"""


@pytest.mark.parametrize("module", MODULES.split())
def test_the_examples_in_the_docstrings_are_true(module: str) -> None:
    assert doctest.testmod(import_module(f"knockon.query.{module}")).failed == 0


def test_the_manual_is_up_to_date() -> None:
    assert MANUAL_FILE.read_text(encoding="utf-8") == manual(), (
        "run python -m knockon.query.reference"
    )


def test_the_manual_shows_every_form_and_reserved_word() -> None:
    text = manual()
    for form in FORMS:
        for example in form.examples:
            assert example in text
    for word in reserved():
        assert f"`{word}`" in text


def test_the_manual_names_no_rule_that_it_does_not_show() -> None:
    grammar = manual().split("```text\n")[-1].split("```")[0]
    assert "_" not in {word[0] for word in grammar.split()}
