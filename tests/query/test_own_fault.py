"""A fault of knockon itself is owned up to in words."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from knockon.query.command import OWN_FAULT, main
from knockon.query.desk import Desk


def test_no_traceback_reaches_a_user(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("something unforeseen")

    monkeypatch.setattr(Desk, "ask", broken)
    result = CliRunner().invoke(main, ["ask", "does HD rear hub fit Wether W1?"])
    assert result.exit_code == OWN_FAULT
    assert "fault of knockon" in result.output
    assert "something unforeseen" in result.output
    assert "Traceback" not in result.output
