"""A terminal that a test types into and reads from, by tmux."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

PATIENCE = 120.0
"""Seconds until a test gives up waiting for a text: far longer than any needs."""

needs_tmux = pytest.mark.skipif(
    shutil.which("tmux") is None, reason="tmux (Debian package tmux) is not installed"
)


class Terminal:
    """One program in a terminal of 100 columns and 60 lines."""

    def __init__(self, folder: Path, command: Sequence[str], settings: Mapping[str, str]) -> None:
        self._socket = str(folder / "tmux")
        self._raw = folder / "raw"
        given = [f"{name}={value}" for name, value in sorted(settings.items())]
        program = shlex.join(["env", *given, *command])
        # What the program leaves behind is shown until the test ends.
        program = f"{program}; echo ended with $?; cat"
        self._tmux("-f", "/dev/null", "new-session", "-d", "-x", "100", "-y", "60", program)
        self._tmux("pipe-pane", f"cat > {shlex.quote(str(self._raw))}")

    def type(self, text: str) -> None:
        """Type a text, as it is."""
        self._tmux("send-keys", "-l", text)

    def press(self, *keys: str) -> None:
        """Press keys by tmux's names: Enter, Tab, C-c …"""
        self._tmux("send-keys", *keys)

    def say(self, text: str) -> None:
        """Type a line."""
        self.type(text)
        self.press("Enter")

    def screen(self) -> str:
        """Everything shown so far, also what has scrolled away; ends of lines are trimmed."""
        return self._tmux("capture-pane", "-p", "-S", "-")

    def wait(self, text: str, times: int = 1) -> str:
        """The screen, once a text stands on it (so many times)."""
        end = time.monotonic() + PATIENCE
        while True:
            screen = self.screen()
            if screen.count(text) >= times:
                return screen
            if time.monotonic() > end:
                pytest.fail(f"never saw {text!r} {times} times on this screen:\n{screen}")
            time.sleep(0.05)

    def raw(self) -> bytes:
        """Every byte that the program has sent to the terminal since it was opened."""
        return self._raw.read_bytes()

    def close(self) -> None:
        """End the terminal and what runs in it."""
        subprocess.run(["tmux", "-S", self._socket, "kill-server"], check=False)

    def _tmux(self, *arguments: str) -> str:
        done = subprocess.run(
            ["tmux", "-S", self._socket, *arguments], check=True, capture_output=True, text=True
        )
        return done.stdout
