"""Whenever an editor is killed, what was accepted is there, and nothing is there by half."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from knockon.reasoner.upkeep.quads import moved, version_of
from knockon.reasoner.upkeep.store import create, stated_in, writing

from . import editor_to_kill
from .editor_to_kill import stated_after

KILLS = 15

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked editor")


class Editors:
    """Editors that are started and killed one after another."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._parent = subprocess.Popen(
            [sys.executable, editor_to_kill.__file__],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def start(self) -> int:
        """A new editor; its process id."""
        assert self._parent.stdin is not None
        self._parent.stdin.write(f"{self._folder}\n")
        self._parent.stdin.flush()
        return int(self.said())

    def said(self) -> str:
        """The next line that an editor says."""
        assert self._parent.stdout is not None
        return self._parent.stdout.readline().strip()

    def kill(self, editor: int, last: int) -> int:
        """End an editor at once; the last edit that it said was accepted."""
        os.kill(editor, signal.SIGKILL)
        while (text := self.said()) != "ended":
            last = int(text)
        return last

    def close(self) -> None:
        """No more editors; one that is still at work ends after its edit."""
        self._parent.kill()
        self._parent.communicate()


def test_a_killed_editor_loses_no_accepted_edit_and_leaves_none_by_half(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    first = create(folder, stated_after(0), "Ann", "2024-01-08T09:00:00Z", "a store to kill")
    moments = random.Random(20240501)
    editors = Editors(folder)
    done = 0
    try:
        for _ in range(KILLS):
            editor = editors.start()
            for _ in range(moments.randrange(4)):
                done = int(editors.said())
            time.sleep(moments.random() * 0.03)
            said = editors.kill(editor, done)
            with writing(folder) as store:
                # An edit may be accepted without its editor having lived to say so.
                assert store.edits in (said, said + 1)
                done = store.edits
                assert frozenset(store.quads()) == stated_after(done)
                assert store.version == version_of(stated_after(done))
    finally:
        editors.close()
    version = first
    with writing(folder) as store:
        entries = store.history()
        assert [entry.number for entry in entries] == list(range(1, done + 1))
        for entry in entries:
            change = store.change(entry)
            assert entry.before == version
            assert frozenset(change.added) == stated_after(entry.number) - stated_after(
                entry.number - 1
            )
            version = moved(version, change.added, change.removed)
            assert entry.after == version
        assert version == store.version
    assert done > KILLS


def test_while_another_process_edits_readers_never_see_half_an_edit(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    create(folder, stated_after(0), "Ann", "2024-01-08T09:00:00Z", "a store for two")
    editors = Editors(folder)
    seen = []
    try:
        editor = editors.start()
        for _ in range(12):
            editors.said()
            seen.append(stated_in(folder))
        editors.kill(editor, 1)
    finally:
        editors.close()
    for version, quads in seen:
        (number,) = {int(str(q[2])) for q in quads if str(q[1]).endswith("teeth")}
        assert quads == stated_after(number)
        assert version == version_of(quads)
    assert len({version for version, _ in seen}) > 1
