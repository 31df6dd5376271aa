"""Refuse bodies that are too large before anything reads them."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .problems import problem


class _TooLarge(Exception):
    pass


class BodyLimit:
    """Middleware: 413 for a body longer than `longest` bytes, declared or streamed."""

    def __init__(self, app: ASGIApp, longest: int) -> None:
        self.app, self.longest = app, longest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with its body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        declared = dict(scope["headers"]).get(b"content-length", b"0")
        if declared.isdigit() and int(declared) > self.longest:
            await self._refuse(scope, receive, send)
            return
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > self.longest:
                raise _TooLarge
            return message

        async def watched(message: Message) -> None:
            # The framework turns the exception above into an answer of its own; ours is better.
            if seen <= self.longest:
                await send(message)

        try:
            await self.app(scope, counted, watched)
        except _TooLarge:
            pass
        if seen > self.longest:
            await self._refuse(scope, receive, send)

    async def _refuse(self, scope: Scope, receive: Receive, send: Send) -> None:
        detail = f"a body may be at most {self.longest} bytes long"
        await problem(413, "too-large", "The body is too large", detail)(scope, receive, send)
