"""README's walk-through adds a generation from the shipped spreadsheet, and takes it back."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner
from knockon.query.command import main

from .readme import README

BLOCK = re.compile(r"```sh\n# walk-through\n(?P<lines>.*?)```", re.S)


def test_the_walk_through_of_the_readme_runs_as_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = BLOCK.search(README.read_text("utf-8"))
    assert found
    (tmp_path / "data").symlink_to(README.parent / "data", target_is_directory=True)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("KNOCKON_SHOP", str(tmp_path / "shop"))
    said = {}
    for line in found["lines"].splitlines():
        command, *arguments = shlex.split(line)
        assert command == "knockon"
        result = CliRunner().invoke(main, arguments)
        assert result.exit_code in (0, 1), f"{line}\n{result.output}"
        said[line] = result.output
    preview = next(text for line, text in said.items() if "edit preview" in line)
    assert "Wether W5 is new" in preview
    differences = next(text for line, text in said.items() if "what differs" in line)
    assert "OW-43742" in differences
    shaft = next(text for line, text in said.items() if "W4 rear half-shaft" in line)
    assert "rear half-shaft" in shaft
    history = next(text for line, text in said.items() if "store history" in line)
    assert "nora" in history
    undone = next(text for line, text in said.items() if "store undo" in line)
    assert "−245" in undone
