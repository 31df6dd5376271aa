"""Tags of what is served, and what a request says about the state it knows (RFC 9110)."""

from __future__ import annotations

import hashlib

from fastapi import Request, Response

from .problems import ApiError


def tag_of(*pieces: str) -> str:
    """A strong entity tag that changes when one of the pieces does.

    >>> tag_of("a", "bc") == tag_of("ab", "c")
    False
    """
    digest = hashlib.sha256()
    for piece in pieces:
        encoded = piece.encode()
        digest.update(f"{len(encoded)}:".encode() + encoded)
    return f'"{digest.hexdigest()[:32]}"'


def knows(request: Request, tag: str) -> bool:
    """Whether the client has this state already (If-None-Match)."""
    return _among(tag, request.headers.get("if-none-match", ""), weakly=True)


def not_modified(tag: str, headers: dict[str, str]) -> Response:
    """304: what you have is still so."""
    return Response(status_code=304, headers={**headers, "ETag": tag})


def may_replace(request: Request, tag: str | None) -> None:
    """Let a write go on only if the client knows the state it changes; `tag` None: nothing there.

    Raises:
        ApiError: 428 it does not say which state it means; 412 it means another.
    """
    match, none_match = request.headers.get("if-match"), request.headers.get("if-none-match")
    if none_match is not None and tag is not None and _among(tag, none_match, weakly=True):
        raise _changed("It is there already.")
    if match is not None:
        if tag is None:
            raise _changed("It is not there (any more).")
        if not _among(tag, match):
            raise _changed("It was changed since you read it: read it again, then decide.")
    elif tag is not None:
        detail = "Send If-Match with the ETag of the state that you read and want to change."
        raise ApiError(428, "say-which", "Say which state is to be changed", detail)


def _changed(detail: str) -> ApiError:
    return ApiError(412, "changed", "Changed meanwhile", detail)


def _among(tag: str, listed: str, *, weakly: bool = False) -> bool:
    tags = [each.strip() for each in listed.split(",")]
    if weakly:
        tags = [each.removeprefix("W/") for each in tags]
    return tag in tags or "*" in tags
