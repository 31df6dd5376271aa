"""Wheel spacers and adapters: what they do to offset, track and studs.

All lengths in mm. Offset counts inwards: a positive offset has the mounting face outboard of the
wheel's middle, so a spacer makes the offset that works at the hub smaller.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from .threads import Thread


@dataclass(frozen=True, slots=True)
class SpacerEffect:
    """What a spacer or adapter changes, mm: the offset that results, and track of the axle."""

    offset: Decimal
    track_change: Decimal


def spacer_effect(offset: Decimal, thickness: Decimal) -> SpacerEffect:
    """Offset and track with a spacer of that thickness on both sides.

    >>> spacer_effect(Decimal(35), Decimal(20))
    SpacerEffect(offset=Decimal('15'), track_change=Decimal('40'))

    Raises:
        ValueError: a thickness below nothing.
    """
    if thickness < 0:
        raise ValueError(f"a spacer cannot be {thickness} mm thick")
    return SpacerEffect(offset - thickness, 2 * thickness)


def stud_length_needed(pad: Decimal, thickness: Decimal, engagement: Decimal) -> Decimal:
    """Length a stud must stand out of the hub: spacer, the wheel's pad, and thread in the nut.

    >>> stud_length_needed(Decimal(12), Decimal(5), Decimal(12))
    Decimal('29')
    """
    return pad + thickness + engagement


def usual_engagement(of: Thread) -> Decimal:
    """Thread in the nut that is asked for: at least the stud's diameter (common practice).

    >>> from .threads import thread
    >>> usual_engagement(thread("M12x1.5"))
    Decimal('12')
    """
    return of.diameter


def turns_of_thread(length: Decimal, of: Thread) -> Decimal:
    """How many turns of the nut a length of thread gives.

    >>> from .threads import thread
    >>> turns_of_thread(Decimal(12), thread("M12x1.5"))
    Decimal('8')
    """
    return length / of.pitch


def studs_clear_adapter(stand_out: Decimal, thickness: Decimal, pocket: Decimal) -> Decimal:
    """Room (mm) between the hub's own studs and the wheel's back over a bolt-on adapter.

    `stand_out`: how far the studs stand out of the hub's face. `pocket`: depth of the pockets in
    the back of the wheel. Negative: the studs must be shortened or the adapter be thicker.

    >>> studs_clear_adapter(Decimal(32), Decimal(25), Decimal(0))
    Decimal('-7')
    """
    return thickness + pocket - stand_out
