"""Pages of a list, by cursors that stay right while the list changes.

A cursor holds the sort key of the last thing on its page, so nothing is skipped or shown twice when
other things come or go.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable, Iterable
from typing import Annotated, Generic, TypeVar
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from .problems import ApiError

T = TypeVar("T")
S = TypeVar("S")
SortKey = tuple[str, str]
MOST: int = 200

Limit = Annotated[int, Query(ge=1, le=MOST, description="how many at most")]
Cursor = Annotated[
    str | None,
    Query(max_length=2000, description="`next` of the page before; left out: the first page"),
]


class Page(BaseModel, Generic[T]):
    """One page of a list."""

    model_config = ConfigDict(frozen=True)

    items: tuple[T, ...]
    next: str | None = Field(description="the cursor of the next page; null on the last")
    total: int = Field(description="how many there are on all pages")


def page_of(
    request: Request,
    response: Response,
    things: Iterable[S],
    key: Callable[[S], SortKey],
    shown: Callable[[S], T],
    limit: int,
    cursor: str | None,
) -> Page[T]:
    """The page after `cursor` of things in order of `key`, with a Link to the next.

    Raises:
        ApiError: 422, the cursor is none of ours.
    """
    ordered = sorted(things, key=key)
    after = _opened(cursor) if cursor else None
    left = ordered if after is None else [each for each in ordered if key(each) > after]
    here = left[:limit]
    following = _closed(key(here[-1])) if len(left) > limit else None
    if following:
        asked = {**dict(request.query_params), "cursor": following}
        response.headers["Link"] = f'<{request.url.path}?{urlencode(asked)}>; rel="next"'
    return Page(items=tuple(map(shown, here)), next=following, total=len(ordered))


def _closed(key: SortKey) -> str:
    return base64.urlsafe_b64encode(json.dumps(key).encode()).decode().rstrip("=")


def _opened(cursor: str) -> SortKey:
    try:
        text = base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True)
        found = json.loads(text)
    except (binascii.Error, ValueError, RecursionError):
        found = None
    if isinstance(found, list) and len(found) == 2 and all(isinstance(e, str) for e in found):
        return found[0], found[1]
    detail = "The cursor is none that was given out: start again without one."
    raise ApiError(422, "bad-cursor", "No such page", detail)
