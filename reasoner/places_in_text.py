"""The line of a text at which a thing is stated, however big the text is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

_PREFIX = re.compile(r"prefix\s+([\w-]*):\s*<([^>]+)>", re.IGNORECASE)
_PART_OF_A_NAME = re.compile(r"[\w-]")
_GOES_ON = re.compile(r"[\w-]|\.\w")


def line_of(iri: str, text: str) -> int | None:
    """The line where a statement about `iri` starts, else the first that mentions it.

    >>> line_of("https://a.example/x", "@prefix a: <https://a.example/> .\\n# a:x\\na:x a a:Y .")
    3
    """
    starts = mentions = len(text)
    for way in _ways_to_write(iri, text):
        for at in _uses(way, text):
            before = text[text.rfind("\n", 0, at) + 1 : at].strip()
            if before.startswith("#"):
                continue
            mentions = min(mentions, at)
            if not before or before.endswith((".", "{")):
                starts = min(starts, at)
                break
            if at > starts:
                break
    found = starts if starts < len(text) else mentions
    return None if found == len(text) else text.count("\n", 0, found) + 1


def _ways_to_write(iri: str, text: str) -> Iterator[str]:
    yield f"<{iri}>"
    for prefix, space in _prefixes(text):
        if iri.startswith(space):
            yield f"{prefix}:{iri[len(space) :]}"


@lru_cache(maxsize=16)
def _prefixes(text: str) -> tuple[tuple[str, str], ...]:
    return tuple(dict.fromkeys(_PREFIX.findall(text)))


def _uses(way: str, text: str) -> Iterator[int]:
    """Where a name stands in full: neither the end of a longer name nor the start of one."""
    at = text.find(way)
    while at >= 0:
        inside = way[0] != "<" and at > 0 and _PART_OF_A_NAME.match(text, at - 1)
        if not inside and not _GOES_ON.match(text, at + len(way)):
            yield at
        at = text.find(way, at + 1)
