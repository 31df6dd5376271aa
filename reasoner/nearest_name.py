"""The nearest real name to one that is none, among as many as a catalogue has."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import Indel
from rdflib.term import BNode, Node

from .terms import local_name

_NEAR_ENOUGH: Final = 0.6
_ROUNDING: Final = 1e-9


def nearest(node: Node, known: Iterable[Node]) -> str:
    """The nearest real name, as the end of a sentence."""
    names = {local_name(k) for k in known if not isinstance(k, BNode)}
    return did_you_mean(local_name(node), sorted(names))


def did_you_mean(word: str, names: Sequence[str]) -> str:
    """The nearest of `names`, as the end of a sentence.

    >>> did_you_mean("theeth", ["module", "teeth"])
    '; did you mean teeth?'
    >>> did_you_mean("price", ["module", "teeth"])
    ''
    """
    matcher = SequenceMatcher()
    matcher.set_seq2(word)
    best: tuple[float, str] = (0.0, "")
    # What the letters in common would give at best, quickly; then in order of that, exactly.
    for name, at_best, _ in process.extract(
        word,
        names,
        scorer=Indel.normalized_similarity,
        score_cutoff=_NEAR_ENOUGH - _ROUNDING,
        limit=None,
    ):
        if at_best < best[0] - _ROUNDING:
            break
        matcher.set_seq1(name)
        found = (matcher.ratio(), name)
        if found[0] >= _NEAR_ENOUGH and found > best:
            best = found
    return f"; did you mean {best[1]}?" if best[1] else ""
