"""An editor that accepts edits until somebody kills it; run by test_store_killed.py.

For each line on standard input (the folder of a store) a child is forked that edits the store. It
says its process id, then the number of each edit once that is accepted; its parent says "ended".
Forking spares each editor the time to start Python.
"""

from __future__ import annotations

import os
import sys
import time
from functools import cache
from pathlib import Path

from knockon.reasoner.upkeep.quads import Quad
from knockon.reasoner.upkeep.store import writing

if __package__:
    from .edits import bench, edit
else:
    from edits import bench, edit  # run as a script, not as part of the tests' package


@cache
def stated_after(edits: int) -> frozenset[Quad]:
    """All facts after so many edits: one record and twenty ends with the number of the edit."""
    ends = "".join(
        f"end:e{n} ko:teeth {edits} ; ko:note 'after edit {edits}' . " for n in range(20)
    )
    return bench(f"{ends} end:hat ko:step [ ko:from 0 ; ko:to {edits} ; ko:radius 110.50 ] .")


def edit_without_end(folder: Path) -> None:
    """Accept one edit after another, and say the number of each when it is accepted.

    It ends by itself only when nobody is left to kill it.
    """
    parent = os.getppid()
    while os.getppid() == parent:
        with writing(folder) as store:
            done = store.edits
            old, new = stated_after(done), stated_after(done + 1)
            store.accept(edit(store.version, new - old, old - new, why=f"edit {done + 1}"))
        _say(str(done + 1))
        time.sleep(0.005)  # lets others have the store


def _say(text: str) -> None:
    os.write(1, f"{text}\n".encode())


if __name__ == "__main__":
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            _say(str(os.getpid()))
            edit_without_end(Path(line.strip()))
            os._exit(0)
        os.waitpid(child, 0)
        _say("ended")
