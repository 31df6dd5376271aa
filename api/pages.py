"""The pages for people: plain HTML, style and scripts of the package, nothing from elsewhere."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files
from typing import Final

from fastapi import APIRouter, Request, Response

from .etags import knows, not_modified
from .problems import ApiError

PAGES: Final = {
    "/": "ask.html",
    "/sheet": "sheet.html",
    "/identify": "identify.html",
    "/maintain": "maintain.html",
}
PUBLIC: Final = (*PAGES, "/favicon.ico", "/web/*")
"""Paths that hold nothing of the catalogue: what they ask for may need a key."""

_TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
_HEADERS: Final = {
    # Looked at again each time, so that a page never meets the scripts of another version.
    "Cache-Control": "no-cache",
    # Stricter than for the rest: nothing inline, and no connection but to the service itself.
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
}

router = APIRouter(include_in_schema=False)


@cache
def _served() -> dict[str, tuple[bytes, str, str]]:
    """Every file of the pages by its path: content, media type and tag. Nothing else is served."""
    found: dict[str, tuple[bytes, str, str]] = {}
    folders = [("", files(__package__).joinpath("web"))]
    while folders:
        prefix, folder = folders.pop()
        for each in folder.iterdir():
            path = prefix + each.name
            media = _TYPES.get("." + each.name.rpartition(".")[2])
            if each.is_dir():
                folders.append((f"{path}/", each))
            elif media is not None:
                content = each.read_bytes()
                found[path] = (content, media, f'"{hashlib.sha256(content).hexdigest()[:32]}"')
    return found


def _sent(request: Request, path: str) -> Response:
    if path not in _served():
        raise ApiError(404, "not-found", "No such page", f"There is no page at {request.url.path}.")
    content, media, tag = _served()[path]
    if knows(request, tag):
        return not_modified(tag, dict(_HEADERS))
    return Response(content, media_type=media, headers={**_HEADERS, "ETag": tag})


def _page(request: Request) -> Response:
    """A page for people."""
    return _sent(request, PAGES[request.url.path])


for _path in PAGES:
    router.add_api_route(_path, _page, methods=["GET"])


@router.get("/favicon.ico")
def favicon(request: Request) -> Response:
    """The mark, for browsers that ask for it without being told."""
    return _sent(request, "mark.svg")


@router.get("/web/{path:path}")
def web(request: Request, path: str) -> Response:
    """Style, scripts and the mark."""
    return _sent(request, path)
