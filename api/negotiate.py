"""Which of the media types on offer a client likes best (Accept, RFC 9110)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from fastapi import Request

from .problems import ApiError

JSON: Final = "application/json"
JSON_LD: Final = "application/ld+json"
CSV: Final = "text/csv"
MARKDOWN: Final = "text/markdown"
PLAIN: Final = "text/plain"


def chosen(request: Request, offered: Sequence[str]) -> str:
    """The offered type that the client likes best, the first of equals.

    Raises:
        ApiError: 406, none of them will do.
    """
    accept = ", ".join(request.headers.getlist("accept")) or "*/*"
    found = best_of(accept, offered)
    if found is None:
        detail = f"This can be given as {' or '.join(offered)}."
        raise ApiError(406, "not-acceptable", "Not in that form", detail, offered=list(offered))
    return found


def best_of(accept: str, offered: Sequence[str]) -> str | None:
    """The offered type that an Accept header likes best; None if it likes none.

    >>> best_of("application/ld+json, */*;q=0.1", ["application/json", "application/ld+json"])
    'application/ld+json'
    >>> best_of("text/html", ["application/json"]) is None
    True
    """
    ranges = list(_ranges(accept))
    liked = [(_quality(each, ranges), each) for each in offered]
    most = max(quality for quality, _ in liked)
    return next((each for quality, each in liked if quality == most), None) if most > 0 else None


def _ranges(accept: str) -> Iterator[tuple[str, float]]:
    for piece in accept.split(",")[:50]:
        name, *parameters = (each.strip().lower() for each in piece.split(";"))
        quality = 1.0
        for parameter in parameters:
            if parameter.startswith("q="):
                try:
                    quality = min(1.0, max(0.0, float(parameter[2:])))
                except ValueError:
                    quality = 0.0
        if name:
            yield name, quality


def _quality(offered: str, ranges: Sequence[tuple[str, float]]) -> float:
    """By the most specific range that covers it."""
    for cover in (offered, f"{offered.partition('/')[0]}/*", "*/*"):
        for name, quality in ranges:
            if name == cover:
                return quality
    return 0.0
