"""What every response says to a browser, and HEAD for whatever can be got."""

from __future__ import annotations

from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_ALWAYS: Final = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Content-Security-Policy": (
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; "
        "img-src 'self' data:; object-src 'none'"
    ),
}


class SecurityHeaders:
    """Middleware: tells browsers to take nothing from elsewhere and to guess nothing."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on; what is said already is left as it is."""

        async def headed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _ALWAYS.items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, receive, headed if scope["type"] == "http" else send)


class HeadAsGet:
    """Middleware: HEAD is answered as GET is, without the body."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass HEAD on as GET."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        ended = False

        async def bare(message: Message) -> None:
            nonlocal ended
            if message["type"] == "http.response.body":
                if ended:
                    return
                # A stream of events may last long; nothing of it is waited for.
                ended, message = True, {"type": "http.response.body", "body": b""}
            await send(message)

        scope["method"] = "GET"
        await self.app(scope, receive, bare)
