"""Cautions that follow from what sits on the car together: workable, but to be said."""

from __future__ import annotations

from collections.abc import Mapping

from .catalogue import Advice, Catalogue


def advice_for(
    catalogue: Catalogue, before: Mapping[str, str | None], after: Mapping[str, str | None]
) -> tuple[Advice, ...]:
    """Advice that holds on the car with `after` and did not with `before`."""
    return tuple(
        advice
        for advice in catalogue.advice.values()
        if _holds(catalogue, advice, after) and not _holds(catalogue, advice, before)
    )


def _holds(catalogue: Catalogue, advice: Advice, fits: Mapping[str, str | None]) -> bool:
    present = {f for part in fits.values() if part for f in catalogue.parts[part].families}
    return advice.when <= present and not advice.unless & present
