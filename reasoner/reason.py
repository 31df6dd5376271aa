"""Reasons that a plan may not be workable: what each is of, and as bits of a number.

A trial blames stations and mistrusted joints, each of which is a bit (see `trial`), and for the
reasons themselves each of them is one more bit.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class ReasonKind(StrEnum):
    """What a reason is of."""

    FIT = "fit"
    KEEP = "keep"
    JOINT = "joint"
    UNPROVEN = "unproven joint"
    REQUIREMENT = "requirement"
    EXCLUSION = "exclusion"
    MATCHED_SET = "matched set"
    LIMIT = "limit"


JOINTS = (ReasonKind.JOINT, ReasonKind.UNPROVEN)
"""What is said of joints."""
RULES = (ReasonKind.REQUIREMENT, ReasonKind.EXCLUSION, ReasonKind.MATCHED_SET)
"""What parts say of others."""
STATED = (ReasonKind.FIT, ReasonKind.KEEP, ReasonKind.LIMIT)
"""What the customer says."""


@dataclass(frozen=True, slots=True, order=True)
class Reason:
    """One reason a plan may be unworkable: what kind, about what, and what else it names.

    FIT, KEEP: subject station, other part. JOINT, UNPROVEN: subject joint. REQUIREMENT: subject
    part or family that asks, other family asked for. EXCLUSION: subject part, other family.
    MATCHED_SET: subject set. LIMIT: subject what the customer said, in words.
    """

    kind: ReasonKind
    subject: str
    other: str = ""


Blamed = list[tuple[ReasonKind, str]]
"""Reasons as `Because` names them."""


class Because:
    """The reasons that came up, each a bit from the `first` on.

    A joint is named by its IRI, a requirement and an exclusion by the family asked for or excluded,
    whoever asks, a matched set by its own.
    """

    def __init__(self, first: int) -> None:
        self._first = first
        self._bits: dict[tuple[ReasonKind, str], int] = {}

    def of(self, kind: ReasonKind, name: str) -> int:
        """The bit of a reason."""
        found = self._bits.get((kind, name))
        if found is None:
            found = self._bits[kind, name] = 1 << self._first + len(self._bits)
        return found

    def named(self, blamed: int) -> Blamed:
        """The reasons among who is to blame, in the order in which they came up."""
        return [reason for reason, bit in self._bits.items() if blamed & bit]
