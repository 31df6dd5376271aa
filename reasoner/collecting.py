"""Spare the collector of cycles while millions of values are made and none is dropped.

Every so many new values the collector looks through all that are there already; the statements of a
catalogue hold no cycles, so that it finds nothing, and the more there are the longer it takes.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collecting() -> Iterator[None]:
    """No search for cycles inside; as it was before, afterwards. Values are freed as ever."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def tidy() -> None:
    """Look for cycles now, and never again among what is there: a good time is between answers.

    What is remembered for the next question holds none, and looking through it would hold one up.
    """
    gc.collect()
    gc.freeze()
